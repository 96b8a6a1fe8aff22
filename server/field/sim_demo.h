/* The instruments of Brackenholm Water Works that can be talked to, simulated: the loop of FCV-2107 and some transmitters. */
#ifndef FIELD_SIM_DEMO_H
#define FIELD_SIM_DEMO_H

#include "base/status.h"
#include "sim_plant.h"

struct sim_demo;

struct sim_demo_row {
	const char *tag, *what; /* "FCV-2107", "positioner: travel, loop current" */
	const char *protocol;	/* as `loopledger field read` takes it */
	int port;		/* on 127.0.0.1; 0: line */
	const char *line;	/* "/dev/pts/4"; "" when it is reached by port */
	const char *example;	/* what to read, with options: "pv" */
};

/*
 * Starts all of them. port_base 0: free ports; else port_base and those after it, at most 20. seed: runs repeat; speed: 2 lets
 * the plant run twice as fast, 0.01..1000. BUSY: a port is in use. Stop with sim_demo_stop (NULL is allowed).
 */
enum status sim_demo_start(struct sim_demo **out, int port_base, uint64_t seed, double speed, struct err *err);
size_t sim_demo_rows(const struct sim_demo *d, const struct sim_demo_row **rows);
void sim_demo_stop(struct sim_demo *d);

#endif
