/* The points of a run laid out from a document: set point, what is expected there, direction and cycle. */
#include <math.h>
#include <string.h>

#include "compute_parts.h"
#include "domain/spec_json.h"
#include "metrology/points.h"

#define PLACES_MAX   41
#define PERCENT_LOW  (-5.0)
#define PERCENT_HIGH 105.0

struct points_work {
	struct range input, output;
	const char *input_unit, *output_unit;
	struct characteristic characteristic;
	double percent[VALUES_MAX];
	size_t n_percent;
	bool within_signal;
	struct range reach; /* of the signal; infinite where it is not asked for */
	struct test_point points[READINGS_MAX];
	size_t n;
};

static void places_read(struct json_in *in, struct points_work *w)
{
	if (json_in_has(in, "even")) {
		if (json_in_has(in, "percent"))
			json_in_reject(in, "even", "the places are given in %%, or so many evenly: not both");
		w->n_percent = points_even((size_t)json_in_integer(in, "even", 1, PLACES_MAX), w->percent, PLACES_MAX);
		return;
	}
	w->n_percent = numbers_read(in, "percent", PLACES_MAX, w->percent);
	for (size_t i = 0; i < w->n_percent && !in->rc; i++)
		if (w->percent[i] < PERCENT_LOW || w->percent[i] > PERCENT_HIGH)
			json_in_reject_element(in, "percent", i, "must be between %g and %g %% of the input span",
					       PERCENT_LOW, PERCENT_HIGH);
		else if (i > 0 && w->percent[i] <= w->percent[i - 1])
			json_in_reject_element(in, "percent", i,
					       "the points must ascend; the way down is made from them");
}

static void lay_out(struct json_in *in, struct points_work *w, int pattern, int cycles)
{
	char sentence[200];

	w->n = points_generate(w->percent, w->n_percent, (enum point_pattern)pattern, cycles, w->input, w->points,
			       READINGS_MAX);
	if (w->n == 0)
		json_in_reject(in, "cycles", "a run has at most %d readings", READINGS_MAX);
	w->reach = points_reach(&w->characteristic, w->input, w->output, !strcmp(w->input_unit, "mA"),
				!strcmp(w->output_unit, "mA"));
	if (w->within_signal && isnan(w->reach.low))
		json_in_reject(in, "within_signal", "there is no input at which the signal measures, 3.8 to 20.5 mA");
	else if (w->within_signal)
		w->n = points_clip(w->points, w->n, w->input, w->reach);
	for (size_t i = 0; i < w->n && !in->rc; i++)
		if (isnan(characteristic_forward(&w->characteristic, w->input, w->output, w->points[i].set)))
			json_in_reject(in, json_in_has(in, "even") ? "even" : "percent", "%s",
				       characteristic_reach(&w->characteristic, w->input, false, w->output,
							    w->input_unit, sentence, sizeof sentence));
}

static enum status points_read(json_t *document, struct points_work *w, struct err *err)
{
	struct json_in in;
	int pattern, cycles;

	json_in_begin(&in, document, err);
	range_read(&in, "input", &w->input, &w->input_unit);
	range_read(&in, "output", &w->output, &w->output_unit);
	characteristic_read(&in, "characteristic", &w->characteristic);
	characteristic_check(&in, &w->characteristic, w->input, w->input_unit, w->output_unit);
	places_read(&in, w);
	pattern = json_in_word(&in, "pattern", point_pattern_words);
	cycles = json_in_integer_optional(&in, "cycles", 1, READINGS_MAX, 1);
	w->within_signal = json_in_bool_optional(&in, "within_signal", false);
	if (!in.rc)
		lay_out(&in, w, pattern, cycles);
	return json_in_end(&in);
}

static json_t *point_to_json(const struct points_work *w, const struct test_point *p)
{
	double expected = characteristic_forward(&w->characteristic, w->input, w->output, p->set);

	return json_pack("{s:f, s:f, s:f, s:s, s:i}", "percent", p->percent, "set", p->set, "expected", expected,
			 "direction", direction_word(p->direction), "cycle", p->cycle);
}

enum status compute_points(json_t *document, json_t **result, struct err *err)
{
	struct points_work w = {0};
	enum status rc = points_read(document, &w, err);
	json_t *list;

	if (rc)
		return rc;
	list = json_array();
	for (size_t i = 0; i < w.n; i++)
		json_array_append_new(list, point_to_json(&w, &w.points[i]));
	*result = json_pack("{s:o, s:{s:o, s:o}}", "points", list, "reach", "low", finite_to_json(w.reach.low), "high",
			    finite_to_json(w.reach.high));
	return *result ? OK : no_memory(err);
}
