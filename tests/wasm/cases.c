/*
 * Random questions to the browser's core, answered by its native build, as a stream for tests/wasm/identity.test.js to ask the
 * WebAssembly build the same and compare every bit. Usage: core_cases SITUATIONS SEED [layout].
 *
 * A frame: length of the function's name in one byte, the name, how many arguments in one byte, the arguments, the result
 * (doubles), and two lists of areas of the exchange: what to put there before, what must stand there after. A list is its
 * count in 32 bits, then offset, size and bytes of each. Little-endian throughout.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "metrology/number.h"
#include "metrology/wasm/exchange.h"

#define COUNT(LIST) ((int)(sizeof(LIST) / sizeof *(LIST)))

static uint64_t state;
static struct exchange *x;

/* ---- chance ---- */

WRAPS_BY_DESIGN static uint64_t bits(void) /* splitmix64 */
{
	uint64_t z = state += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return z ^ z >> 31;
}

static int below(int n)
{
	return (int)(bits() % (uint64_t)n);
}

static bool one_in(int n)
{
	return below(n) == 0;
}

static double uniform(double low, double high)
{
	return low + (high - low) * ((double)(bits() >> 11) * 0x1p-53);
}

static double rounded(double v, int decimals)
{
	double p = pow(10, decimals);

	return floor(v * p + 0.5) / p;
}

/* A double of any bits at all, or one of the awkward ones. */
static double wild(void)
{
	static const double awkward[] = {
		0,	  -0.0, NAN,   INFINITY, -INFINITY,	    5e-324, -2.2e-308, 1.7e308, -1e300, 1e-300, 1e15,
		1e15 + 1, 0.5,	1.005, 2.5,	 999999999999999.5, 1e-12,  9e-13,     4.35,	-0.0005};
	union {
		uint64_t bits;
		double v;
	} any = {bits()};

	return one_in(2) ? awkward[below(COUNT(awkward))] : any.v;
}

static double now_and_then_wild(double v)
{
	return one_in(60) ? wild() : v;
}

/* ---- the stream ---- */

static int64_t calls;

static void put(const void *from, size_t size)
{
	if (size > 0 && fwrite(from, size, 1, stdout) != 1)
		exit(1);
}

static void put_int(uint32_t v)
{
	put(&v, sizeof v);
}

struct area {
	const void *at;
	size_t size;
};

static struct area before[16], after[16];
static uint32_t n_before, n_after;

static void given(const void *at, size_t size)
{
	before[n_before++] = (struct area){at, size};
}

static void expect(const void *at, size_t size)
{
	after[n_after++] = (struct area){at, size};
}

static void put_areas(const struct area *list, uint32_t n)
{
	put_int(n);
	for (uint32_t i = 0; i < n; i++) {
		put_int((uint32_t)((const char *)list[i].at - (const char *)x));
		put_int((uint32_t)list[i].size);
		put(list[i].at, list[i].size);
	}
}

static void begin(const char *name, int n_arguments, ...)
{
	unsigned char length = (unsigned char)strlen(name), n = (unsigned char)n_arguments;
	va_list list;

	put(&length, 1);
	put(name, length);
	put(&n, 1);
	va_start(list, n_arguments);
	for (int i = 0; i < n_arguments; i++) {
		double v = va_arg(list, double);

		put(&v, sizeof v);
	}
	va_end(list);
	put_areas(before, n_before);
	n_before = 0;
}

static void finish(double result)
{
	put(&result, sizeof result);
	put_areas(after, n_after);
	n_after = 0;
	calls++;
}

/* ---- situations ---- */

static const double ends[][2] = {{0, 100},   {4, 20},	  {20, 4},    {-50, 150}, {0, 1},
				 {0.1, 6.3}, {100, -100}, {0, 25000}, {0, 1e-6}};

static struct range any_range(void)
{
	const double *e = ends[below(COUNT(ends))];
	struct range r = {e[0], e[1]};

	if (one_in(4))
		r.high = r.low + rounded(uniform(-300, 300), below(4));
	if (one_in(100))
		r.high = one_in(2) ? r.low : wild();
	return r;
}

static void any_table(struct characteristic *c)
{
	int n = one_in(50) ? below(TABLE_POINTS_MAX + 1) : 2 + below(12);
	double at = x->setup.input.low, step = range_span(x->setup.input) / (n > 1 ? n - 1 : 1), y = uniform(-10, 10);

	c->n_points = n;
	c->interpolation = (enum interpolation)below(2);
	for (int i = 0; i < n; i++) {
		c->x[i] = at + i * fabs(step) - (step < 0 ? fabs(range_span(x->setup.input)) : 0);
		c->y[i] = now_and_then_wild(y);
		y += one_in(20) ? uniform(-1, 1) : uniform(0, 5);
	}
}

static void any_characteristic(struct characteristic *c)
{
	c->kind = (enum characteristic_kind)below(CHARACTERISTICS);
	c->r0 = one_in(30) ? wild() : one_in(3) ? uniform(10, 1000) : 100;
	c->type = (enum thermocouple_type)below(THERMOCOUPLES);
	c->a = now_and_then_wild(uniform(3.7e-3, 4.1e-3));
	c->b = now_and_then_wild(uniform(-7e-7, -5e-7));
	c->c = now_and_then_wild(uniform(-5e-12, 0));
	c->cutoff = one_in(3) ? now_and_then_wild(uniform(0, 20)) : 0;
	c->rangeability = now_and_then_wild(uniform(1.1, 60));
	c->linear_below = one_in(3) ? now_and_then_wild(uniform(0, 20)) : 0;
	any_table(c);
	c->n_coefficients = one_in(50) ? 0 : 1 + below(5);
	for (int i = 0; i < CHARACTERISTIC_TERMS_MAX; i++)
		c->coefficient[i] = now_and_then_wild(uniform(i == 1 ? 0 : -1, 1) / pow(100, i > 0 ? i - 1 : 0));
	c->validity.low = fmin(x->setup.input.low, x->setup.input.high) - uniform(0, 10);
	c->validity.high = fmax(x->setup.input.low, x->setup.input.high) + uniform(-1, 10);
}

static void any_tolerance(struct tolerance *t, double span)
{
	t->n_terms = one_in(10) ? 0 : 1 + below(one_in(10) ? TOLERANCE_TERMS_MAX : 3);
	t->join = (enum tolerance_join)below(2);
	for (int i = 0; i < TOLERANCE_TERMS_MAX; i++) {
		t->terms[i].kind = (enum tolerance_kind)below(4);
		t->terms[i].plus = rounded(uniform(0, 3), 2);
		if (t->terms[i].kind == TOLERANCE_ABSOLUTE)
			t->terms[i].plus = rounded(uniform(0, 0.02) * span, 3);
		t->terms[i].plus = now_and_then_wild(t->terms[i].plus);
		t->terms[i].minus = one_in(3) ? now_and_then_wild(rounded(uniform(0, 3), 1)) : t->terms[i].plus;
	}
}

#define DEGREE_C   \
	"\xc2\xb0" \
	"C"

static void any_text(char *out, size_t size)
{
	static const char *const texts[] = {"",	     "mA",  DEGREE_C, "%",  "12.00",
					    "-0,35", "1e5", ".5",     "1.", "+3.141592653589793238",
					    "--1",   "12 ", "abc",    "0",  ","};

	snprintf(out, size, "%s", texts[below(COUNT(texts))]);
}

static void any_setup(void)
{
	struct test_setup *s = &x->setup;
	double span;

	s->input = any_range();
	s->output = any_range();
	any_characteristic(&s->characteristic);
	/* sensing elements are used over temperatures that they have */
	if (s->characteristic.kind == CHARACTERISTIC_RTD ||
	    s->characteristic.kind == CHARACTERISTIC_CALLENDAR_VAN_DUSEN ||
	    s->characteristic.kind == CHARACTERISTIC_THERMOCOUPLE)
		if (!one_in(5))
			s->input = (struct range){rounded(uniform(0, 50), 0), rounded(uniform(100, 400), 0)};
	span = fabs(range_span(s->output));
	any_tolerance(&s->tolerance, span);
	any_tolerance(&x->adjust, span);
	any_tolerance(&x->left, span);
	s->decision.kind = (enum decision_kind)below(2);
	s->decision.guard_factor = now_and_then_wild(uniform(0, 2));
	s->error_at = (enum error_at)below(2);
	snprintf(x->input_unit, sizeof x->input_unit, "%s",
		 one_in(2) ? "mA" :
			     "\xc2\xb0"
			     "C");
	snprintf(x->output_unit, sizeof x->output_unit, "%s", one_in(2) ? "mbar" : "%");
	x->input_decimals = below(12) - 1;
	x->output_decimals = below(12) - 1;
}

/* As a test goes: up and down with zero, span and noise of its own; some readings exactly on a limit. */
static void any_reading(struct reading *r, int i, int n, int cycles)
{
	const struct test_setup *s = &x->setup;
	int leg = n / cycles > 0 ? n / cycles : 1, at = i % leg, half = (leg + 1) / 2;
	double fraction = half > 1 ? (double)(at < half ? at : leg - 1 - at) / (half - 1) : 0.5, expected;
	struct limits l;

	r->set = range_at(s->input, fraction);
	r->direction = at < half ? RISING : FALLING;
	r->cycle = 1 + i / leg;
	r->applied = one_in(4) ? NAN :
				 now_and_then_wild(rounded(r->set + uniform(-1e-3, 1e-3) * range_span(s->input), 3));
	expected = characteristic_forward(&s->characteristic, s->input, s->output,
					  isnan(r->applied) ? r->set : r->applied);
	l = tolerance_limits(&s->tolerance, s->output, expected);
	r->observed = rounded(expected + uniform(-0.02, 0.02) * range_span(s->output), 3);
	if (one_in(5))
		r->observed = rounded(expected, 3) + (one_in(2) ? l.high : l.low);
	if (one_in(40))
		r->observed = NAN;
	r->observed = now_and_then_wild(r->observed);
	r->u = one_in(3) ? 0 : now_and_then_wild(uniform(0, 0.005) * fabs(range_span(s->output)));
}

static void ask_evaluate(void)
{
	int n = one_in(400) ? below(READINGS_MAX + 1) : below(24), cycles = 1 + below(3);
	bool possible;

	for (int i = 0; i < n; i++)
		any_reading(&x->readings[i], i, n, cycles);
	given(&x->setup, sizeof x->setup);
	given(&x->adjust, sizeof x->adjust);
	given(&x->left, sizeof x->left);
	given(&x->input_unit, offsetof(struct exchange, readings) - offsetof(struct exchange, input_unit));
	given(x->readings, (size_t)n * sizeof *x->readings);
	begin("core_evaluate", 1, (double)n);
	possible = core_evaluate(n);
	expect(x->judged, (size_t)n * sizeof *x->judged);
	expect(&x->sum, sizeof x->sum);
	if (possible) {
		expect(&x->diagnosis, sizeof x->diagnosis);
		expect(x->sentence, strlen(x->sentence) + 1);
		expect(x->advice, strlen(x->advice) + 1);
		expect(x->summaries, (size_t)x->n_summaries * sizeof *x->summaries);
	}
	expect(&x->n_summaries, sizeof x->n_summaries);
	finish(possible);
	if (n > 0) {
		bool alone;

		begin("core_judge_reading", 0);
		alone = core_judge_reading();
		expect(x->judged, sizeof *x->judged);
		finish(alone);
	}
	if (possible && n > 0) {
		int i = below(n);

		begin("core_reading_sentence", 1, (double)i);
		core_reading_sentence(i);
		expect(x->text, strlen(x->text) + 1);
		finish(0);
		begin("core_judged_error_decimals", 2, (double)i, (double)x->output_decimals);
		finish(core_judged_error_decimals(i, x->output_decimals));
		begin("core_judged_percent_decimals", 2, (double)i, 1.0);
		finish(core_judged_percent_decimals(i, 1));
	}
}

static void expect_text(void)
{
	expect(x->text, strlen(x->text) + 1);
	finish(0);
}

static void ask_limits(void)
{
	double expected = one_in(8) ? wild() : range_at(x->setup.output, uniform(-0.2, 1.2)), error, u = 0;
	int decimals = below(12) - 1;

	begin("core_limits", 1, expected);
	core_limits(expected);
	expect(&x->limits, sizeof x->limits);
	finish(0);
	error = one_in(3) ? x->limits.high : one_in(10) ? wild() : uniform(-3, 3) * x->limits.high;
	if (!one_in(3))
		u = now_and_then_wild(uniform(0, 0.5) * x->limits.high);
	begin("core_judge", 2, error, u);
	finish(core_judge(error, u));
	begin("core_error_decimals", 1, (double)decimals);
	finish(core_error_decimals(decimals));
	begin("core_percent_decimals", 0);
	finish(core_percent_decimals());
}

static void ask_characteristic(void)
{
	double in = one_in(20) ? wild() : range_at(x->setup.input, uniform(-0.3, 1.3)), out = core_forward(in);

	begin("core_forward", 1, in);
	finish(out);
	begin("core_slope", 1, in);
	finish(core_slope(in));
	if (isnan(out) || one_in(4))
		out = one_in(8) ? wild() : uniform(-20, 500);
	begin("core_inverse", 1, out);
	finish(core_inverse(out));
}

static void ask_about_characteristic(void)
{
	begin("core_domain", 0);
	core_domain();
	expect(&x->range, sizeof x->range);
	finish(0);
	begin("core_image", 0);
	core_image();
	expect(&x->range, sizeof x->range);
	finish(0);
	begin("core_fault", 0);
	{
		bool fault = core_fault();

		expect(x->text, strlen(x->text) + 1);
		finish(fault);
	}
	begin("core_characteristic_text", 0);
	core_characteristic_text();
	expect_text();
}

static void ask_uncertainty(void)
{
	double at = one_in(20) ? wild() : range_at(x->setup.input, uniform(-0.1, 1.1));
	int in = below(12) - 1, out = below(12) - 1;

	x->input_reference.expanded = now_and_then_wild(uniform(0, 0.1));
	x->input_reference.coverage_factor = now_and_then_wild(2);
	x->output_reference.expanded = now_and_then_wild(one_in(3) ? 0 : uniform(0, 0.1));
	x->output_reference.coverage_factor = now_and_then_wild(uniform(1.5, 3));
	given(&x->input_reference, sizeof x->input_reference);
	given(&x->output_reference, sizeof x->output_reference);
	begin("core_uncertainty", 3, at, (double)in, (double)out);
	finish(core_uncertainty(at, in, out));
}

static void ask_format(void)
{
	double v = one_in(3) ? wild() :
			       rounded(uniform(-2000, 2000), below(7)) + (one_in(2) ? 0.5 * pow(10, -below(7)) : 0);
	int decimals = below(14) - 2, plus = below(2);

	begin("core_format", 3, v, (double)decimals, (double)plus);
	core_format(v, decimals, plus);
	expect_text();
	begin("core_round", 2, v, (double)decimals);
	finish(core_round(v, decimals));
	begin("core_decimals_for", 1, v);
	finish(core_decimals_for(v));
	any_text(x->text, sizeof x->text);
	given(x->text, strlen(x->text) + 1);
	begin("core_decimals_of_text", 0);
	finish(core_decimals_of_text());
}

static void ask_convert(void)
{
	static const char *const odd[] = {"", "mb", "m\xc2\xb3/h", "\xce\xa9"};
	const struct unit *from;
	double v = one_in(10) ? wild() : rounded(uniform(-500, 500), below(5)), result;
	int count = 0, start, difference = below(2);

	while (unit_at(count))
		count++;
	start = below(count);
	from = unit_at(start);
	snprintf(x->from, sizeof x->from, "%s", one_in(20) ? odd[below(COUNT(odd))] : from->symbol);
	/* one of the same dimension as a rule: the next after a random place */
	for (int i = below(count), k = 0; k < count; k++, i = (i + 1) % count)
		if (!strcmp(unit_at(i)->dimension, from->dimension) || one_in(200)) {
			snprintf(x->to, sizeof x->to, "%s", unit_at(i)->symbol);
			break;
		}
	given(x->from, strlen(x->from) + 1);
	given(x->to, strlen(x->to) + 1);
	begin("core_convert", 2, v, (double)difference);
	result = core_convert(v, difference);
	finish(result);
}

static void ask_points(void)
{
	int n = one_in(20) ? below(PERCENTAGES_MAX + 1) : below(12), pattern = below(5), cycles = below(5), laid,
	    choice = below(7) - 1, in = below(2), out = below(2);
	double ma = one_in(10) ? wild() : rounded(uniform(3, 22), 1);

	begin("core_points_even", 1, (double)n);
	laid = core_points_even(n);
	expect(x->percent, (size_t)laid * sizeof *x->percent);
	finish(laid);
	if (one_in(2)) {
		begin("core_points_chosen", 1, (double)choice);
		n = core_points_chosen(choice);
		expect(x->percent, (size_t)n * sizeof *x->percent);
		finish(n);
	} else {
		for (int i = 0; i < n; i++)
			x->percent[i] = now_and_then_wild(uniform(0, 100.0 / (n - i)) + (i ? x->percent[i - 1] : 0));
		given(x->percent, (size_t)n * sizeof *x->percent);
	}
	begin("core_points", 3, (double)n, (double)pattern, (double)cycles);
	laid = core_points(n, pattern, cycles);
	expect(x->points, (size_t)laid * sizeof *x->points);
	finish(laid);
	begin("core_reach", 2, (double)in, (double)out);
	core_reach(in, out);
	expect(&x->range, sizeof x->range);
	finish(0);
	begin("core_clip", 1, (double)laid);
	laid = core_clip(laid);
	expect(x->points, (size_t)laid * sizeof *x->points);
	finish(laid);
	begin("core_signal_state", 1, ma);
	finish(core_signal_state(ma));
}

/* Of one of the n actuations that have just been judged. */
static void ask_words_on_switch(int n)
{
	int i = below(n), least = below(4), decimals = core_switch_decimals(n, least);
	bool back = one_in(2);

	begin("core_switch_decimals", 2, (double)n, (double)least);
	finish(decimals);
	begin("core_switch_sentence", 4, (double)i, (double)back, (double)least, (double)decimals);
	core_switch_sentence(i, back, least, decimals);
	expect_text();
	begin("core_switch_back_verdict", 1, (double)i);
	finish(core_switch_back_verdict(i));
}

static void ask_switch(void)
{
	int n = one_in(20) ? below(ACTUATIONS_MAX + 3) : 1 + below(5);
	struct switch_spec *s = &x->spec;
	double span;
	bool judged;

	s->input = any_range();
	span = fabs(range_span(s->input));
	s->set_point = now_and_then_wild(rounded(range_at(s->input, uniform(0, 1)), 2));
	s->reset_point = one_in(3) ? NAN : rounded(s->set_point - 0.05 * span, 2);
	s->acts_on = (enum direction)below(2);
	any_tolerance(&s->tolerance, span);
	s->dead_band.low = one_in(2) ? NAN : uniform(0, 0.02) * span;
	s->dead_band.high = one_in(2) ? NAN : uniform(0.02, 0.1) * span;
	s->decision = x->setup.decision;
	s->u = one_in(2) ? 0 : now_and_then_wild(uniform(0, 0.01) * span);
	for (int i = 0; i < n && i < ACTUATIONS_MAX; i++) {
		x->actuations[i].set = now_and_then_wild(rounded(s->set_point + uniform(-0.02, 0.02) * span, 3));
		x->actuations[i].reset = one_in(5) ? NAN : rounded(x->actuations[i].set - uniform(0, 0.1) * span, 3);
	}
	given(s, sizeof *s);
	given(x->actuations, (size_t)(n < ACTUATIONS_MAX ? n : ACTUATIONS_MAX) * sizeof *x->actuations);
	begin("core_switch", 1, (double)n);
	judged = core_switch(n);
	if (judged)
		expect(x->judged_actuations, (size_t)n * sizeof *x->judged_actuations);
	if (judged)
		expect(&x->switch_sum, sizeof x->switch_sum);
	finish(judged);
	if (judged)
		ask_words_on_switch(n);
}

static void print_layout(void)
{
	for (const struct layout_field *f = core_layout(); f->of; f++)
		printf("%s %s %s %d %d\n", f->of, f->name, f->type, (int)f->offset, (int)f->count);
}

int main(int argc, char **argv)
{
	long situations = argc > 1 ? strtol(argv[1], NULL, 10) : 1000;

	x = core_exchange();
	if (argc > 3) {
		print_layout();
		return 0;
	}
	state = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
	for (long i = 0; i < situations; i++) {
		any_setup();
		ask_evaluate();
		ask_limits();
		ask_characteristic();
		if (one_in(4))
			ask_about_characteristic();
		ask_uncertainty();
		ask_format();
		ask_convert();
		if (one_in(3))
			ask_points();
		if (one_in(2))
			ask_switch();
	}
	fprintf(stderr, "%ld situations, %lld calls\n", situations, (long long)calls);
	return fflush(stdout) ? 1 : 0;
}
