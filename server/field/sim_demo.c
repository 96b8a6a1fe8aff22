#include "sim_demo.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "sim_server.h"

/* ---- behaviour: chosen so that a test of the instruments finds what the demo plant's records tell of ---- */

enum { PT_4101, PT_2109, TT_4111, LT_1103, TRANSMITTERS };

static const struct sim_transmitter transmitters[TRANSMITTERS] = {
	[PT_4101] = {"PT-4101", "bar", 0, 16, 6.2, 0.4, 90, 0.4, 0.0006, -0.0011, 0.0001},
	[PT_2109] = {"PT-2109", "kPa", 0, 100, 38, 3, 45, 0.4, -0.0004, 0.0008, 0.0001},
	[TT_4111] = {"TT-4111", "°C", 0, 80, 31, 1.5, 600, 8, 0.0012, 0, 0.00005},
	[LT_1103] = {"LT-1103", "kPa", 0, 60, 33, 1, 240, 1, 0, 0.0005, 0.0002},
};

/* MA-02 reads 0.031 mA high at 20 mA, as the demo plant's register says. The valve sticks: S 1.2 %, J 0.4 %. */
static const struct sim_plant_model model = {
	.source = {.gain = 1.00002, .offset = 0.0006, .settle_s = 0.15, .noise = 0.0002},
	.meter = {.gain = 1.00155, .settle_s = 0.1, .noise = 0.0003},
	.valve = {.s = 1.2,
		  .j = 0.4,
		  .dead_time_s = 0.3,
		  .lag_s = 0.8,
		  .zero = 0.5,
		  .span_error = -0.004,
		  .noise = 0.02},
	.transmitters = transmitters,
	.transmitter_count = TRANSMITTERS,
	.dwell_s = 60,
};

/* ---- devices ---- */

static const struct way {
	const char *name; /* as `loopledger field read` takes it */
	sim_answer *answer;
	bool udp;
} hart_ip[] = {{"hart-udp", sim_hart_ip_answer, true}, {"hart-tcp", sim_hart_ip_answer, false}},
  scpi[] = {{"scpi", sim_scpi_answer, false}};

#define WAYS_MAX 2
/* Made up, as the makers are. */
#define HART_TYPE 0xf9e0

/* What each device is, who plays it, and how it is reached. */
static const struct description {
	const char *tag, *descriptor, *maker, *model, *serial;
	unsigned hart_id;
	const char *unit;
	double lrv, urv, sensor_low, sensor_high, span_min, damping_s;
	enum sim_part_kind kind;
	size_t number;
	const char *what, *example;
	const struct way *ways;
	size_t way_count;
	bool moves; /* datagrams are answered from another port */
} descriptions[] = {
	{"FCV-2107", "BACKWASH VALVE",
	 "Vennoric", "VX-200",
	 "V2107",    0x021070,
	 "%",	     0,
	 100,	     0,
	 100,	     10,
	 0,	     SIM_POSITIONER,
	 0,	     "positioner: travel, loop current",
	 "pv",	     hart_ip,
	 2,	     true},
	{"PT-4101",
	 "DELIVERY MAIN",
	 "Quillstrand",
	 "QP-30",
	 "Q4101",
	 0x041010,
	 "bar",
	 0,
	 16,
	 -1,
	 40,
	 0.4,
	 0.4,
	 SIM_TRANSMITTER,
	 PT_4101,
	 "pressure transmitter",
	 "pv",
	 hart_ip,
	 2,
	 false},
	{"PT-2109",
	 "AIR SCOUR",
	 "Quillstrand",
	 "QP-3",
	 "Q2109",
	 0x021090,
	 "kPa",
	 0,
	 100,
	 -100,
	 250,
	 2.5,
	 0.4,
	 SIM_TRANSMITTER,
	 PT_2109,
	 "pressure transmitter",
	 "pv",
	 hart_ip,
	 2,
	 false},
	{"TT-4111",
	 "COOLING WATER",
	 "Quillstrand",
	 "QT-1",
	 "Q4111",
	 0x041110,
	 "°C",
	 0,
	 80,
	 -200,
	 850,
	 10,
	 2,
	 SIM_TRANSMITTER,
	 TT_4111,
	 "temperature transmitter",
	 "pv",
	 hart_ip,
	 2,
	 false},
	{"LT-1103",	  "INTAKE WELL", "Quillstrand",	      "QL-2", "Q1103", 0x011030, "kPa", 0, 60, -10, 100, 1, 1,
	 SIM_TRANSMITTER, LT_1103,	 "level transmitter", "pv",   hart_ip, 2,	 false},
	{.tag = "MA-01",
	 .maker = "Fenwold",
	 .model = "CS-24",
	 .serial = "1187",
	 .kind = SIM_SOURCE,
	 .what = "current source on FCV-2107, drives it",
	 .example = "MEAS:CURR:DC?",
	 .ways = scpi,
	 .way_count = 1},
	{.tag = "MA-02",
	 .maker = "Fenwold",
	 .model = "CS-24",
	 .serial = "1188",
	 .kind = SIM_METER,
	 .what = "current meter on FCV-2107",
	 .example = "MEAS:CURR:DC?",
	 .ways = scpi,
	 .way_count = 1},
};

#define DEVICES (sizeof descriptions / sizeof *descriptions)

struct sim_demo {
	struct sim_plant *plant;
	struct sim_server *server;
	struct sim_device devices[DEVICES];
	struct sim_part parts[DEVICES];
	struct sim_demo_row rows[WAYS_MAX * DEVICES];
	size_t count;
};

static double monotonic_s(void *arg)
{
	struct timespec t;

	(void)arg;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static struct sim_device device_of(const struct description *from, struct sim_part *part)
{
	return (struct sim_device){.tag = from->tag,
				   .long_tag = from->tag,
				   .descriptor = from->descriptor,
				   .maker = from->maker,
				   .model = from->model,
				   .serial = from->serial,
				   .revision = "1",
				   .hart_type = HART_TYPE,
				   .hart_id = from->hart_id,
				   .unit = from->unit,
				   .lrv = from->lrv,
				   .urv = from->urv,
				   .sensor_low = from->sensor_low,
				   .sensor_high = from->sensor_high,
				   .span_min = from->span_min,
				   .damping_s = from->damping_s,
				   .plant = part,
				   .read = sim_part_read,
				   .set = sim_part_set};
}

/* A device has one port, the same by datagrams and by stream. */
static void lay_out(struct sim_demo *d, int port_base, struct sim_endpoint *endpoints)
{
	for (size_t i = 0; i < DEVICES; i++) {
		const struct description *from = &descriptions[i];
		int port = port_base ? port_base + (int)i : 0;

		d->parts[i] = (struct sim_part){d->plant, from->kind, from->number};
		d->devices[i] = device_of(from, &d->parts[i]);
		for (size_t w = 0; w < from->way_count; w++) {
			const struct way *way = &from->ways[w];

			d->rows[d->count] = (struct sim_demo_row){from->tag, from->what, way->name, port,
								  from->example};
			endpoints[d->count++] = (struct sim_endpoint){&d->devices[i], way->answer, way->udp, port,
								      way->udp && from->moves};
		}
	}
}

enum status sim_demo_start(struct sim_demo **out, int port_base, uint64_t seed, double speed, struct err *err)
{
	struct sim_endpoint endpoints[WAYS_MAX * DEVICES];
	struct sim_demo *d = calloc(1, sizeof *d);
	enum status rc;

	*out = NULL;
	if (d)
		d->plant = sim_plant_new(&model, seed, speed, monotonic_s, NULL);
	if (!d || !d->plant) {
		free(d);
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	lay_out(d, port_base, endpoints);
	rc = sim_server_start(&d->server, endpoints, d->count, err);
	if (rc) {
		sim_demo_stop(d);
		return rc;
	}
	for (size_t i = 0; i < d->count; i++)
		d->rows[i].port = sim_server_port(d->server, i, false);
	*out = d;
	return OK;
}

size_t sim_demo_rows(const struct sim_demo *d, const struct sim_demo_row **rows)
{
	*rows = d->rows;
	return d->count;
}

void sim_demo_stop(struct sim_demo *d)
{
	if (!d)
		return;
	sim_server_stop(d->server);
	sim_plant_free(d->plant);
	free(d);
}
