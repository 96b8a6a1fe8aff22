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
	bool udp, line;
} hart[] = {{"hart-udp", sim_hart_ip_answer, true, false},
	    {"hart-tcp", sim_hart_ip_answer, false, false},
	    {"hart-serial", sim_hart_answer, false, true}},
  scpi[] = {{"scpi", sim_scpi_answer, false, false}}, modbus[] = {{"modbus-tcp", sim_modbus_answer, false, false}};

#define WAYS_MAX 3
/* Made up, as the makers are. */
#define HART_TYPE 0xf9e0

/*
 * PL-01: the pressure as an input register, the set point as a holding register, both kPa; a second input register of 1/100 kPa, as
 * older panels read it.
 */
static const struct sim_register pressure_registers[] = {
	{.function = 4, .reg = 0, .format = "f32-abcd", .what = "pv"},
	{.function = 4, .reg = 2, .format = "u16", .raw_high = 10000, .high = 100, .what = "pv"},
	{.function = 3, .reg = 0, .format = "f32-abcd", .what = "pv", .writable = true},
};

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
	int address;
	const struct sim_register *registers;
	size_t register_count;
} descriptions[] = {
	{.tag = "FCV-2107",
	 .descriptor = "BACKWASH VALVE",
	 .maker = "Vennoric",
	 .model = "VX-200",
	 .serial = "V2107",
	 .hart_id = 0x021070,
	 .unit = "%",
	 .lrv = 0,
	 .urv = 100,
	 .sensor_low = 0,
	 .sensor_high = 100,
	 .span_min = 10,
	 .damping_s = 0,
	 .kind = SIM_POSITIONER,
	 .what = "positioner: travel, loop current",
	 .example = "pv",
	 .ways = hart,
	 .way_count = 3,
	 .moves = true},
	{.tag = "PT-4101",
	 .descriptor = "DELIVERY MAIN",
	 .maker = "Quillstrand",
	 .model = "QP-30",
	 .serial = "Q4101",
	 .hart_id = 0x041010,
	 .unit = "bar",
	 .lrv = 0,
	 .urv = 16,
	 .sensor_low = -1,
	 .sensor_high = 40,
	 .span_min = 0.4,
	 .damping_s = 0.4,
	 .kind = SIM_TRANSMITTER,
	 .number = PT_4101,
	 .what = "pressure transmitter",
	 .example = "pv",
	 .ways = hart,
	 .way_count = 3},
	{.tag = "PT-2109",
	 .descriptor = "AIR SCOUR",
	 .maker = "Quillstrand",
	 .model = "QP-3",
	 .serial = "Q2109",
	 .hart_id = 0x021090,
	 .unit = "kPa",
	 .lrv = 0,
	 .urv = 100,
	 .sensor_low = -100,
	 .sensor_high = 250,
	 .span_min = 2.5,
	 .damping_s = 0.4,
	 .kind = SIM_TRANSMITTER,
	 .number = PT_2109,
	 .what = "pressure transmitter",
	 .example = "pv",
	 .ways = hart,
	 .way_count = 3},
	{.tag = "TT-4111",
	 .descriptor = "COOLING WATER",
	 .maker = "Quillstrand",
	 .model = "QT-1",
	 .serial = "Q4111",
	 .hart_id = 0x041110,
	 .unit = "°C",
	 .lrv = 0,
	 .urv = 80,
	 .sensor_low = -200,
	 .sensor_high = 850,
	 .span_min = 10,
	 .damping_s = 2,
	 .kind = SIM_TRANSMITTER,
	 .number = TT_4111,
	 .what = "temperature transmitter",
	 .example = "pv",
	 .ways = hart,
	 .way_count = 3},
	{.tag = "LT-1103",
	 .descriptor = "INTAKE WELL",
	 .maker = "Quillstrand",
	 .model = "QL-2",
	 .serial = "Q1103",
	 .hart_id = 0x011030,
	 .unit = "kPa",
	 .lrv = 0,
	 .urv = 60,
	 .sensor_low = -10,
	 .sensor_high = 100,
	 .span_min = 1,
	 .damping_s = 1,
	 .kind = SIM_TRANSMITTER,
	 .number = LT_1103,
	 .what = "level transmitter",
	 .example = "pv",
	 .ways = hart,
	 .way_count = 3},
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
	{.tag = "PL-01",
	 .maker = "Quillstrand",
	 .model = "PM-100k",
	 .serial = "2077",
	 .kind = SIM_PROCESS,
	 .number = PT_2109,
	 .what = "pressure on PT-2109, drives it",
	 .example = "0 --function 4 --address 17 --unit kPa",
	 .ways = modbus,
	 .way_count = 1,
	 .address = 17,
	 .registers = pressure_registers,
	 .register_count = sizeof pressure_registers / sizeof *pressure_registers},
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
				   .address = from->address,
				   .registers = from->registers,
				   .register_count = from->register_count,
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

			d->rows[d->count] = (struct sim_demo_row){
				from->tag, from->what, way->name, way->line ? 0 : port, "", from->example};
			endpoints[d->count++] = (struct sim_endpoint){.device = &d->devices[i],
								      .answer = way->answer,
								      .udp = way->udp,
								      .port = way->line ? SIM_LINE : port,
								      .moves = way->udp && from->moves};
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
	for (size_t i = 0; i < d->count; i++) {
		d->rows[i].line = sim_server_line(d->server, i);
		d->rows[i].port = *d->rows[i].line ? 0 : sim_server_port(d->server, i, false);
	}
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
