/*
 * Simulated devices on the loopback interface: sockets for what sim.h describes. One thread serves all devices, so a plant
 * behind several of them needs no lock. Nothing is ever bound to another interface.
 */
#ifndef FIELD_SIM_SERVER_H
#define FIELD_SIM_SERVER_H

#include "base/status.h"
#include "sim.h"

#define SIM_ENDPOINTS 32
#define SIM_LINE      (-1)
#define SIM_PEERS     640 /* connections and UDP peers at one time, of all devices */

struct sim_endpoint {
	struct sim_device *device;
	sim_answer *answer;
	bool udp;
	int port; /* 0 picks a free one, SIM_LINE none: a serial line instead, at a pseudo terminal */
	/* UDP: answers come from another port and go on there, as gateways do; that port is told by sim_server_port with moved. */
	bool moves;
};

struct sim_server;

/*
 * Serves until sim_server_stop. endpoints are copied, the devices borrowed. INVALID: more than SIM_ENDPOINTS; BUSY: a port
 * is in use (its number is in the sentence).
 */
enum status sim_server_start(struct sim_server **out, const struct sim_endpoint *endpoints, size_t count,
			     struct err *err);
/* Of a line: "/dev/pts/4", which any serial master opens; "" when this machine gives none. */
const char *sim_server_line(const struct sim_server *s, size_t endpoint);
int sim_server_port(const struct sim_server *s, size_t endpoint, bool moved);
void sim_server_stop(struct sim_server *s); /* NULL is allowed */

#endif
