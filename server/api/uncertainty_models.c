/*
 * Ready measurement models: what stands in a budget of the usual tests, as a start for one's own. The list of
 * influences and their usual distributions are common practice, no source; the figures of the examples are invented.
 */
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "listing.h"

#define PARTS_MAX 12

/* given: how the figure is usually known; a constant is exact. dof 0: well known. */
struct part {
	const char *name, *stands_for, *given, *distribution;
	double estimate, figure, dof;
};

struct ready_model {
	const char *code, *title, *result, *model;
	struct part parts[PARTS_MAX];
};

#define EXPANDED "expanded", "normal"
#define HALF	 "half_width", "rectangular"
#define REPEATS	 "standard", "normal"
#define CONSTANT "constant", "normal"

static const struct ready_model ready[] = {
	{"pressure_transmitter_gauge",
	 "Pressure transmitter against a pressure gauge",
	 "error of the output in mA",
	 "I + d_meter + d_digit - (4 + 16 * (p + d_gauge + d_drift + d_scale + d_head - p_low) / p_span)",
	 {{"I", "output read, mean of the repeated readings (mA)", REPEATS, 12.006, 0.0012, 4},
	  {"d_meter", "mA meter, from its certificate", EXPANDED, 0, 0.0016, 0},
	  {"d_digit", "resolution of the mA meter, half a count", HALF, 0, 0.0005, 0},
	  {"p", "pressure read on the gauge (bar); its uncertainty is in the parts below", CONSTANT, 5, 0, 0},
	  {"d_gauge", "gauge, from its certificate (bar)", EXPANDED, 0, 0.002, 0},
	  {"d_drift", "drift of the gauge since its calibration (bar)", HALF, 0, 0.0015, 0},
	  {"d_scale", "resolution of the gauge, half a count (bar)", HALF, 0, 0.0005, 0},
	  {"d_head", "column of fluid between gauge and transmitter (bar)", HALF, 0, 0.0005, 0},
	  {"p_low", "low end of the range (bar)", CONSTANT, 0, 0, 0},
	  {"p_span", "span of the range (bar)", CONSTANT, 10, 0, 0}}},
	{"temperature_transmitter_simulator",
	 "Temperature transmitter against a simulator",
	 "error of the output in mA",
	 "I + d_meter + d_digit - (4 + 16 * (t + d_simulator + d_drift + d_junction - t_low) / t_span)",
	 {{"I", "output read, mean of the repeated readings (mA)", REPEATS, 11.997, 0.0008, 4},
	  {"d_meter", "mA meter, from its certificate", EXPANDED, 0, 0.0016, 0},
	  {"d_digit", "resolution of the mA meter, half a count", HALF, 0, 0.0005, 0},
	  {"t", "temperature simulated (°C)", CONSTANT, 50, 0, 0},
	  {"d_simulator", "simulator, from its certificate (°C)", EXPANDED, 0, 0.1, 0},
	  {"d_drift", "drift of the simulator since its calibration (°C)", HALF, 0, 0.05, 0},
	  {"d_junction", "reference junction of a thermocouple, or the leads of a resistance (°C)", HALF, 0, 0.08, 0},
	  {"t_low", "low end of the range (°C)", CONSTANT, 0, 0, 0},
	  {"t_span", "span of the range (°C)", CONSTANT, 100, 0, 0}}},
	{"temperature_transmitter_dry_block",
	 "Temperature transmitter with its sensor in a dry block",
	 "error of the output in mA",
	 "I + d_meter - (4 + 16 * (t + d_reference + d_drift + d_axial + d_radial + d_stability + d_stem - t_low) / t_span)",
	 {{"I", "output read, mean of the repeated readings (mA)", REPEATS, 15.984, 0.0015, 4},
	  {"d_meter", "mA meter, from its certificate", EXPANDED, 0, 0.0016, 0},
	  {"t", "temperature of the reference thermometer (°C)", CONSTANT, 90, 0, 0},
	  {"d_reference", "reference thermometer, from its certificate (°C)", EXPANDED, 0, 0.05, 0},
	  {"d_drift", "drift of the reference since its calibration (°C)", HALF, 0, 0.03, 0},
	  {"d_axial", "temperature along the bore (°C)", HALF, 0, 0.1, 0},
	  {"d_radial", "temperature from bore to bore (°C)", HALF, 0, 0.03, 0},
	  {"d_stability", "wandering of the block while reading (°C)", HALF, 0, 0.02, 0},
	  {"d_stem", "heat led off along the sensor, and loading of the block (°C)", HALF, 0, 0.06, 0},
	  {"t_low", "low end of the range (°C)", CONSTANT, 0, 0, 0},
	  {"t_span", "span of the range (°C)", CONSTANT, 120, 0, 0}}},
	{"rtd_bath",
	 "Resistance thermometer in a bath",
	 "error of the thermometer in °C",
	 "(R + d_bridge + d_leads - R_t) / slope + d_self - (d_reference + d_bath + d_immersion)",
	 {{"R", "resistance read, mean of the repeated readings (ohm)", REPEATS, 138.531, 0.0015, 9},
	  {"d_bridge", "ohm meter, from its certificate", EXPANDED, 0, 0.004, 0},
	  {"d_leads", "leads and contacts (ohm)", HALF, 0, 0.002, 0},
	  {"R_t", "resistance that the table gives for the temperature of the bath (ohm)", CONSTANT, 138.5055, 0, 0},
	  {"slope", "sensitivity of the thermometer there (ohm/°C)", CONSTANT, 0.3793, 0, 0},
	  {"d_self", "heating by the measuring current (°C)", HALF, 0, 0.005, 0},
	  {"d_reference", "reference thermometer with its drift, from certificate and history (°C)", EXPANDED, 0, 0.012,
	   0},
	  {"d_bath", "differences and wandering of the bath (°C)", HALF, 0, 0.006, 0},
	  {"d_immersion", "heat led off along the stem (°C)", HALF, 0, 0.003, 0}}},
	{"loop_shunt",
	 "Loop current by a shunt resistor",
	 "current in mA",
	 "1000 * (V + d_meter + d_emf) / (R_s * (1 + d_drift + alpha * d_T))",
	 {{"V", "voltage read, mean of the repeated readings (V)", REPEATS, 3.0012, 0.00004, 9},
	  {"d_meter", "voltmeter, from its certificate (V)", EXPANDED, 0, 0.00012, 0},
	  {"d_emf", "thermal voltages at the terminals (V)", HALF, 0, 0.00001, 0},
	  {"R_s", "shunt, from its certificate (ohm)", EXPANDED, 250.01, 0.02, 0},
	  {"d_drift", "drift of the shunt since its calibration, relative", HALF, 0, 0.00005, 0},
	  {"alpha", "temperature coefficient of the shunt (1/°C)", HALF, 0, 0.000015, 0},
	  {"d_T", "shunt away from its calibration temperature (°C)", "half_width", "u_shaped", 4, 3, 0}}},
	{"valve_position",
	 "Position of a valve against its signal",
	 "error of the travel in %",
	 "x + d_scale + d_zero + d_read - 100 * (I + d_source - 4) / 16",
	 {{"x", "travel read, mean of the repeated strokes (%)", REPEATS, 50.6, 0.12, 4},
	  {"d_scale", "travel scale or sensor (%)", HALF, 0, 0.3, 0},
	  {"d_zero", "setting of the closed end (%)", HALF, 0, 0.2, 0},
	  {"d_read", "reading of the pointer, parallax included (%)", "half_width", "triangular", 0, 0.5, 0},
	  {"I", "signal (mA)", CONSTANT, 12, 0, 0},
	  {"d_source", "current source, from its certificate (mA)", EXPANDED, 0, 0.004, 0}}},
};

static bool is(const struct part *p, const char *given)
{
	return !strcmp(p->given, given);
}

static json_t *part_to_json(const struct part *p)
{
	return json_pack("{s:s, s:s, s:s, s:s?}", "name", p->name, "stands_for", p->stands_for, "given", p->given,
			 "distribution", is(p, "constant") ? NULL : p->distribution);
}

/* As a compute document has it. */
static json_t *part_of_example(const struct part *p)
{
	json_t *json = json_pack("{s:s, s:f, s:s, s:f}", "name", p->name, "estimate", p->estimate, "distribution",
				 p->distribution, is(p, "constant") ? "standard" : p->given, p->figure);

	if (is(p, "expanded"))
		json_object_set_new(json, "coverage_factor", json_real(2));
	if (p->dof > 0)
		json_object_set_new(json, "dof", json_real(p->dof));
	return json;
}

static json_t *ready_to_json(const struct ready_model *m)
{
	json_t *parts = json_array(), *components = json_array();

	for (const struct part *p = m->parts; p < m->parts + PARTS_MAX && p->name; p++) {
		json_array_append_new(parts, part_to_json(p));
		json_array_append_new(components, part_of_example(p));
	}
	return json_pack("{s:s, s:s, s:s, s:s, s:o, s:{s:s, s:o, s:f}}", "code", m->code, "title", m->title, "result",
			 m->result, "model", m->model, "components", parts, "example", "model", m->model, "components",
			 components, "coverage", 0.9545);
}

enum status api_uncertainty_models(struct request *req, struct reply *reply)
{
	json_t *items = json_array();

	(void)req;
	for (size_t i = 0; i < sizeof ready / sizeof ready[0]; i++)
		json_array_append_new(items, ready_to_json(&ready[i]));
	return listing_reply(reply, items, NULL);
}
