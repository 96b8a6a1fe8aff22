/*
 * A bad line between a client and a device, on the loopback interface: loses, delays, reorders, doubles, spoils, cuts and breaks
 * off what passes, as its seed says. One client at a time; one thread.
 */
#ifndef TESTS_FAULT_PROXY_H
#define TESTS_FAULT_PROXY_H

#include <stdbool.h>
#include <stdint.h>

enum fault {
	FAULT_NONE,
	FAULT_DROP,	 /* UDP: the message is lost; TCP: it is lost and the connection breaks */
	FAULT_DELAY,	 /* comes later, perhaps after the client has given up */
	FAULT_REORDER,	 /* UDP: waits for the next message and comes behind it; TCP: as DELAY */
	FAULT_DUPLICATE, /* comes twice, the second time later */
	FAULT_CORRUPT,	 /* one byte is another one */
	FAULT_CUT,	 /* the end is missing; TCP: and the connection breaks */
	FAULT_DRIBBLE,	 /* TCP: byte by byte; UDP: as CUT */
	FAULT_STRANGER, /* UDP: another device gets the message and answers; TCP: the next connection goes to another device */
	FAULTS
};

struct fault_plan {
	bool udp;
	int to_port, stranger_port;
	uint64_t seed;
	unsigned per_mille[FAULTS]; /* of messages; what is left of 1000 passes unharmed */
	int delay_ms;		    /* longest */
	unsigned corrupt_first;	    /* CORRUPT: one of the first so many bytes of a message; 0: any of them */
	uint8_t corrupt_bits;	    /* CORRUPT: these are turned over, and others perhaps; 0: any */
};

struct fault_proxy;

struct fault_proxy *fault_proxy_start(const struct fault_plan *plan); /* NULL when it cannot */
int fault_proxy_port(const struct fault_proxy *p);
void fault_proxy_stop(struct fault_proxy *p,
		      unsigned done[FAULTS]); /* done: how often each fault was made, NONE included */

#endif
