/* Documents that ask a characteristic for more than it reaches are refused at that very number, whatever the kind. */
#include "api/compute.h"
#include "characteristic_samples.h"
#include "domain/spec_json.h"
#include "support/check.h"

#include <string.h>

static json_t *ranges_and_characteristic(const struct characteristic_sample *s)
{
	return json_pack("{s:o, s:o, s:o}", "characteristic", characteristic_to_json(&s->c), "input",
			 range_to_json(s->input, s->input_unit), "output", range_to_json(s->output, s->output_unit));
}

/* The first value is one that is answered. */
static json_t *values_document(const struct characteristic_sample *s, bool inverse, double sound, double value)
{
	json_t *document = ranges_and_characteristic(s);

	json_object_set_new(document, "direction", json_string(inverse ? "inverse" : "forward"));
	json_object_set_new(document, "values", json_pack("[f, f]", sound, value));
	return document;
}

static json_t *run_document(const struct characteristic_sample *s, double sound, double value)
{
	json_t *document = ranges_and_characteristic(s);

	json_object_set_new(
		document, "tolerance",
		json_pack("{s:[{s:s, s:f}], s:s}", "terms", "kind", "percent_of_span", "plus", 1.0, "join", "sum"));
	json_object_set_new(document, "decision", json_pack("{s:s}", "rule", "simple"));
	json_object_set_new(document, "readings",
			    json_pack("[{s:f, s:f, s:s}, {s:f, s:f, s:s}]", "set", sound, "observed", s->output.low,
				      "direction", "rising", "set", value, "observed", s->output.high, "direction",
				      "rising"));
	return document;
}

/* pointer NULL: it is answered. */
static void expect(const char *kind, json_t *document, const struct characteristic_sample *s, double value,
		   const char *pointer)
{
	char text[CHARACTERISTIC_TEXT_SIZE];
	json_t *result = NULL;
	struct err err = {0};
	enum status rc = compute_run(kind, document, &result, &err);

	if (!pointer ? rc != OK :
		       rc != INVALID || result || strcmp(err.field, pointer) || !strstr(err.message, " reaches"))
		fail_msg("%s of %s at %.17g: %s \"%s\"", kind, characteristic_text(&s->c, text), value, err.field,
			 err.message);
	json_decref(result);
	json_decref(document);
}

static double beyond(double end, int upper)
{
	return end + (upper ? 1 : -1) * 1e-9 * fmax(1, fabs(end));
}

static void numbers_beyond_the_reach_are_pointed_at(void **state)
{
	int refused = 0;

	(void)state;
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];
		struct range in = characteristic_domain(&s->c, s->input),
			     out = characteristic_image(&s->c, s->input, s->output);

		for (int upper = 0; upper < 2; upper++) {
			double x = upper ? in.high : in.low, y = upper ? out.high : out.low;

			if (!isinf(x)) {
				expect("characteristic", values_document(s, false, s->input.low, x), s, x, NULL);
				expect("characteristic", values_document(s, false, s->input.low, beyond(x, upper)), s,
				       x, "/values/1");
				expect("evaluation", run_document(s, s->input.low, x), s, x, NULL);
				expect("evaluation", run_document(s, s->input.low, beyond(x, upper)), s, x,
				       "/readings/1/set");
				refused += 2;
			}
			if (!isinf(y)) {
				expect("characteristic", values_document(s, true, s->output.high, y), s, y, NULL);
				expect("characteristic", values_document(s, true, s->output.high, beyond(y, upper)), s,
				       y, "/values/1");
				refused++;
			}
		}
	}
	assert_int_equal(refused, 16 * 6 + 2); /* see test_properties.c */
}

/* Linear and square root have no end: a transmitter's output goes on to its saturation. */
static void linear_and_root_answer_beyond_their_range(void **state)
{
	int answered = 0;

	(void)state;
	for (size_t k = 0; k < SAMPLES; k++) {
		const struct characteristic_sample *s = &samples[k];

		if (!isinf(characteristic_domain(&s->c, s->input).high))
			continue;
		expect("characteristic", values_document(s, false, s->input.low, s->input.high * 1.3), s, 0, NULL);
		answered++;
	}
	assert_int_equal(answered, 4);
}

/* An instrument cannot be ranged for more than its element reaches. */
static void ranges_beyond_the_reach_are_pointed_at(void **state)
{
	(void)state;
	for (size_t k = 0; k < SAMPLES; k++) {
		struct characteristic_sample s = samples[k];
		struct range reach = characteristic_domain(&s.c, s.input);

		if (s.c.kind == CHARACTERISTIC_EQUAL_PERCENTAGE || isinf(reach.high))
			continue; /* reaches as far as the range, whichever it is */
		s.input.high = beyond(reach.high, 1);
		expect("characteristic", values_document(&s, false, s.input.low, s.input.low), &s, 0, "/input/high");
		s.input = samples[k].input;
		s.input.low = beyond(reach.low, 0);
		expect("characteristic", values_document(&s, false, s.input.high, s.input.high), &s, 0, "/input/low");
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers_beyond_the_reach_are_pointed_at),
		cmocka_unit_test(linear_and_root_answer_beyond_their_range),
		cmocka_unit_test(ranges_beyond_the_reach_are_pointed_at),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
