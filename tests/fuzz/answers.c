/* What must hold inside an answer, whatever was asked. */
#include <math.h>
#include <string.h>

#include "fuzz.h"

static const json_t *get(const json_t *json, const char *name)
{
	return json_object_get(json, name);
}

static double number(const json_t *json, const char *name)
{
	const json_t *v = get(json, name);

	return json_is_number(v) ? json_number_value(v) : NAN;
}

static const char *text(const json_t *json, const char *name)
{
	const char *s = json_string_value(get(json, name));

	promise(s != NULL, "a text of the answer is there");
	return s;
}

static int is_near(double a, double b, double relative)
{
	return fabs(a - b) <= relative * fmax(fabs(a), fabs(b));
}

/* From best to worst, as in the contract; what is not judged comes before all. */
static int rank(const char *verdict)
{
	static const char *const words[] = {"not_judged", "pass", "conditional_pass", "conditional_fail", "fail"};

	for (int i = 0; i < 5; i++)
		if (!strcmp(words[i], verdict))
			return i;
	promise(0, "a verdict is one of five words");
	return 0;
}

static void evaluation(const json_t *answer)
{
	const json_t *summary = get(answer, "summary"), *points = get(answer, "points"), *point;
	int worst = 0, judged = 0, failed = 0;
	double largest = 0;
	size_t i;

	if (!points) /* a switch */
		return;
	json_array_foreach((json_t *)points, i, point) {
		int r = rank(text(point, "verdict"));
		double low = number(point, "limit_low"), high = number(point, "limit_high");

		worst = r > worst ? r : worst;
		judged += r > 0;
		failed += r > 2;
		promise(isnan(low) || (low <= 0 && high >= 0), "no error at all is inside every limit");
		promise(number(point, "acceptance_low") >= low || isnan(low), "a guard band only narrows the limits");
		largest = fmax(largest, fabs(number(point, "error_percent_of_span")));
	}
	promise(rank(text(summary, "verdict")) == worst, "a run's verdict is that of its worst reading");
	promise((int)number(summary, "judged") == judged, "what was judged is counted");
	promise((int)number(summary, "failed") == failed, "what failed is counted");
	promise(is_near(fabs(number(get(summary, "max_error"), "percent_of_span")), largest, 1e-12),
		"the largest error is one of the readings'");
}

static void uncertainty(const json_t *answer)
{
	const json_t *list = get(answer, "contributions"), *one, *simulation = get(answer, "simulation");
	double combined = number(answer, "combined"), shares = 0, any = 0;
	size_t i;

	promise(combined >= 0, "an uncertainty is not negative");
	promise(is_near(number(answer, "expanded"), number(answer, "coverage_factor") * combined, 1e-14),
		"U is k times u");
	json_array_foreach((json_t *)list, i, one) {
		double share = number(one, "share");

		shares += share;
		any += fabs(share);
	}
	promise(any == 0 || fabs(shares - 1) <= 1e-12 * any, "the shares add to 1");
	if (!json_is_object(simulation))
		return;
	promise(number(simulation, "standard") >= 0, "the deviation of the draws is not negative");
	promise(number(get(simulation, "symmetric"), "low") <= number(get(simulation, "symmetric"), "high"),
		"an interval has its low end below its high one");
	promise(number(get(simulation, "shortest"), "high") - number(get(simulation, "shortest"), "low") <=
			number(get(simulation, "symmetric"), "high") - number(get(simulation, "symmetric"), "low"),
		"no interval of the same coverage is shorter than the shortest");
}

static int probability(double p)
{
	return isnan(p) || (p >= 0 && p <= 1);
}

static void conformity(const json_t *answer)
{
	double good = number(answer, "probability_of_conformity"), bad = number(answer, "probability_of_nonconformity");

	promise(probability(good) && probability(bad), "a probability lies from 0 to 1");
	promise(isnan(good) || fabs(good + bad - 1) <= 1e-14, "it conforms or it does not");
	promise(probability(number(answer, "consumer_risk")) && probability(number(answer, "producer_risk")),
		"a risk lies from 0 to 1");
	promise(json_is_true(get(answer, "accepted")) == (rank(text(answer, "verdict")) == 1),
		"what passes is accepted");
}

static void fit(const json_t *answer)
{
	const json_t *list = get(answer, "standard_deviations"), *one;
	size_t i;

	json_array_foreach((json_t *)list, i, one)
		promise(json_is_null(one) || json_number_value(one) >= 0, "a deviation is not negative");
	promise(!(number(answer, "r_squared") > 1), "no curve explains more than everything");
	promise(!(number(answer, "slope_low") > number(answer, "slope_high")), "bounds stand the right way round");
}

static void tolerance_class(const json_t *answer)
{
	const json_t *list = get(answer, "values"), *one;
	size_t i;

	json_array_foreach((json_t *)list, i, one) {
		promise(number(one, "limit") > 0, "a class allows something");
		promise(number(one, "output_limit") >= 0, "what it allows in ohm or mV is no less than nothing");
	}
}

static void points(const json_t *answer)
{
	const json_t *list = get(answer, "points"), *reach = get(answer, "reach"), *one;
	size_t i;

	promise(json_array_size((json_t *)list) > 0, "a run has a point at least");
	promise(!(number(reach, "low") > number(reach, "high")), "a reach stands the right way round");
	json_array_foreach((json_t *)list, i, one)
		promise(number(one, "cycle") >= 1, "a point belongs to a cycle");
}

void promise_of_kind(const char *kind, const json_t *answer)
{
	if (!strcmp(kind, "evaluation"))
		evaluation(answer);
	else if (!strcmp(kind, "uncertainty"))
		uncertainty(answer);
	else if (!strcmp(kind, "conformity"))
		conformity(answer);
	else if (!strcmp(kind, "fit"))
		fit(answer);
	else if (!strcmp(kind, "points"))
		points(answer);
	else if (!strcmp(kind, "tolerance_class"))
		tolerance_class(answer);
}
