#include "exchange.h"

/* Both builds hand the same bytes to and fro, so nothing may depend on the size of a pointer. */
_Static_assert(sizeof(enum verdict) == 4 && sizeof(int) == 4 && sizeof(double) == 8 && sizeof(bool) == 1,
	       "the layout is that of 32-bit WebAssembly");

static struct exchange x;

int core_version(void)
{
	return CORE_VERSION;
}

struct exchange *core_exchange(void)
{
	return &x;
}

static int within(int n, int most)
{
	return n < 0 ? 0 : n > most ? most : n;
}

bool core_judge_reading(void)
{
	return evaluate_reading(&x.setup, &x.readings[0], &x.judged[0]);
}

void core_reading_sentence(int i)
{
	i = within(i, READINGS_MAX - 1);
	reading_sentence(&x.setup, &x.readings[i], &x.judged[i], x.input_unit, x.output_unit, x.input_decimals,
			 x.output_decimals, x.text);
}

int core_judged_error_decimals(int i, int least)
{
	const struct judged_reading *j = &x.judged[within(i, READINGS_MAX - 1)];

	return verdict_decimals(j->error, j->limits, j->verdict, least);
}

int core_judged_percent_decimals(int i, int least)
{
	return judged_percent_decimals(&x.judged[within(i, READINGS_MAX - 1)], x.setup.output, least);
}

int core_error_decimals(int output_decimals)
{
	return tolerance_error_decimals(&x.setup.tolerance, x.setup.output, output_decimals);
}

int core_percent_decimals(void)
{
	return tolerance_percent_decimals(&x.setup.tolerance, x.setup.output);
}

double core_forward(double input)
{
	return characteristic_forward(&x.setup.characteristic, x.setup.input, x.setup.output, input);
}

double core_uncertainty(double applied, int input_decimals, int output_decimals)
{
	return reading_uncertainty(&x.setup.characteristic, x.setup.input, x.setup.output, applied, &x.input_reference,
				   &x.output_reference, input_decimals, output_decimals);
}

void core_format(double value, int decimals, bool plus)
{
	format_number(value, decimals, plus, x.text);
}

int core_decimals_of_text(void)
{
	x.text[sizeof x.text - 1] = '\0';
	return decimals_of_text(x.text);
}

double core_round(double value, int decimals)
{
	return round_decimals(value, decimals);
}

bool core_switch(int n)
{
	return n >= 0 && switch_evaluate(&x.spec, x.actuations, (size_t)n, x.judged_actuations, &x.switch_sum);
}

int core_switch_decimals(int n, int least)
{
	return switch_error_decimals(&x.spec, x.judged_actuations, (size_t)within(n, ACTUATIONS_MAX), &x.switch_sum,
				     least);
}

void core_switch_sentence(int i, bool back, int decimals, int error_decimals)
{
	struct switch_manner m = {&x.spec, x.input_unit, decimals, error_decimals};

	i = within(i, ACTUATIONS_MAX - 1);
	if (back)
		switch_reset_sentence(&m, &x.actuations[i], &x.judged_actuations[i], &x.switch_sum, x.text);
	else
		switch_set_sentence(&m, &x.actuations[i], &x.judged_actuations[i], &x.switch_sum, x.text);
}

int core_switch_back_verdict(int i)
{
	return (int)switch_back_verdict(&x.judged_actuations[within(i, ACTUATIONS_MAX - 1)]);
}

#ifdef CORE_WHOLE
static void put_text(const char *from, char *to, int size)
{
	int i = 0;

	for (; from[i] && i < size - 1; i++)
		to[i] = from[i];
	to[i] = '\0';
}

bool core_evaluate(int n)
{
	bool possible;

	x.n_summaries = 0;
	x.sentence[0] = x.advice[0] = '\0';
	if (n < 0 || n > READINGS_MAX)
		return false;
	possible = evaluate(&x.setup, x.readings, (size_t)n, x.judged, &x.sum);
	if (!possible)
		return false;
	diagnose(&x.setup, &x.adjust, &x.left, x.readings, x.judged, (size_t)n, &x.diagnosis);
	diagnosis_sentence(&x.diagnosis, &x.sum, x.sentence);
	advice_sentence_with_input(&x.diagnosis, &x.setup, x.output_unit, x.output_decimals, x.input_unit,
				   x.input_decimals, x.advice);
	x.n_summaries = (int32_t)evaluation_points(&x.setup, x.readings, x.judged, (size_t)n, x.summaries);
	return true;
}

void core_limits(double expected)
{
	x.limits = tolerance_limits(&x.setup.tolerance, x.setup.output, expected);
}

int core_judge(double error, double u)
{
	return (int)judge(error, x.limits, range_span(x.setup.output), &x.setup.decision, u);
}

double core_inverse(double output)
{
	return characteristic_inverse(&x.setup.characteristic, x.setup.input, x.setup.output, output);
}

double core_slope(double input)
{
	return characteristic_slope(&x.setup.characteristic, x.setup.input, x.setup.output, input);
}

void core_domain(void)
{
	x.range = characteristic_domain(&x.setup.characteristic, x.setup.input);
}

void core_image(void)
{
	x.range = characteristic_image(&x.setup.characteristic, x.setup.input, x.setup.output);
}

bool core_fault(void)
{
	const char *fault = characteristic_fault(&x.setup.characteristic);

	put_text(fault ? fault : "", x.text, sizeof x.text);
	return fault != NULL;
}

void core_characteristic_text(void)
{
	characteristic_text(&x.setup.characteristic, x.text);
}

int core_decimals_for(double step)
{
	return decimals_for(step);
}

double core_convert(double value, bool difference)
{
	const struct unit *from = unit_find(x.from), *to = unit_find(x.to);
	double out;

	if (!from || !to ||
	    !(difference ? unit_convert_difference(value, from, to, &out) : unit_convert(value, from, to, &out)))
		return __builtin_nan("");
	return out;
}

int core_points(int n, int pattern, int cycles)
{
	if (n < 0 || n > PERCENTAGES_MAX || pattern < PATTERN_UP || pattern > PATTERN_UP_ALL)
		return 0;
	return (int)points_generate(x.percent, (size_t)n, (enum point_pattern)pattern, cycles, x.setup.input, x.points,
				    READINGS_MAX);
}

int core_points_even(int n)
{
	return n < 0 ? 0 : (int)points_even((size_t)n, x.percent, PERCENTAGES_MAX);
}

int core_points_chosen(int choice)
{
	if (choice < 0 || choice >= POINT_CHOICES)
		return 0;
	return (int)points_chosen((enum point_choice)choice, x.percent, PERCENTAGES_MAX);
}

void core_reach(bool input_ma, bool output_ma)
{
	x.range = points_reach(&x.setup.characteristic, x.setup.input, x.setup.output, input_ma, output_ma);
}

int core_clip(int n)
{
	return (int)points_clip(x.points, (size_t)within(n, READINGS_MAX), x.setup.input, x.range);
}

int core_signal_state(double ma)
{
	return (int)signal_state(ma);
}

#endif
