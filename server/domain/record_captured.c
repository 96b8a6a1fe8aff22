/* What of a run was read from devices and not typed, in a sentence for screen, certificate and document. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "domain/record.h"

struct origin {
	char from[160], device[48];
	bool differs; /* not all readings have the same */
};

struct summary {
	struct origin input, output;
	size_t captured;
	double least_n, least_s; /* of all windows: values and seconds */
};

static void add_side(const json_t *side, struct origin *o, struct summary *sum)
{
	const char *from = json_string_value(json_object_get(side, "from"));
	const char *device = json_string_value(json_object_get(side, "device"));
	char name[sizeof o->device];

	snprintf(name, sizeof name, "%s", device ? device : "");
	if (!o->from[0])
		memcpy(o->device, name, sizeof name);
	o->differs |= o->from[0] &&
		      (strncmp(o->from, from ? from : "", sizeof o->from - 1) != 0 || strcmp(o->device, name) != 0);
	if (!o->from[0])
		snprintf(o->from, sizeof o->from, "%s", from ? from : "a device");
	sum->least_n = fmin(sum->least_n, json_number_value(json_object_get(side, "n")));
	sum->least_s = fmin(sum->least_s, json_number_value(json_object_get(side, "seconds")));
}

static void add_point(const struct record_point *p, struct summary *sum)
{
	json_t *captured = p->read && p->captured_json ? json_loads(p->captured_json, 0, NULL) : NULL;

	if (!captured)
		return;
	sum->captured++;
	add_side(json_object_get(captured, "input"), &sum->input, sum);
	add_side(json_object_get(captured, "output"), &sum->output, sum);
	json_decref(captured);
}

static void name_side(char *out, size_t size, const char *what, const struct origin *o)
{
	size_t n = strlen(out);

	if (n + 1 >= size)
		return;
	if (o->differs)
		snprintf(out + n, size - n, "%s from several devices", what);
	else
		snprintf(out + n, size - n, "%s from %s%s%s%s", what, o->from, o->device[0] ? " (" : "", o->device,
			 o->device[0] ? ")" : "");
}

void record_captured_sentence(const struct record_run *run, char out[CAPTURED_SIZE])
{
	struct summary sum = {.least_n = INFINITY, .least_s = INFINITY};

	out[0] = '\0';
	for (size_t i = 0; i < run->n_points; i++)
		add_point(&run->points[i], &sum);
	if (sum.captured == 0)
		return;
	if (sum.captured == run->n_read)
		snprintf(out, CAPTURED_SIZE, "All readings were taken from devices: ");
	else
		snprintf(out, CAPTURED_SIZE,
			 "%zu of %zu readings were taken from devices, the others typed: ", sum.captured, run->n_read);
	name_side(out, CAPTURED_SIZE, "input", &sum.input);
	name_side(out, CAPTURED_SIZE, "; output", &sum.output);
	snprintf(out + strlen(out), CAPTURED_SIZE - strlen(out),
		 ". Each is the mean of %.0f or more values over at least %.0f s, when steady.", sum.least_n,
		 floor(sum.least_s));
}
