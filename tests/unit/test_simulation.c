#include "metrology/simulation.h"
#include "metrology/sorting.h"
#include "metrology/statistics.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

#define TRIALS 400000

static double work[2 * TRIALS];

static struct budget of(int n, enum distribution d)
{
	struct budget b = {.n = n};

	for (int i = 0; i < n; i++)
		b.component[i] = (struct component){0, 1, d, INFINITY, 1};
	return b;
}

static struct simulation run(const struct budget *b, const struct model *m, double coverage)
{
	struct simulation_plan p = {
		.budget = b, .model = m, .coverage = coverage, .seed = 20261125, .trials = TRIALS, .digits = 2};
	struct simulation s;

	assert_int_equal(simulate(&p, work, &s), SIMULATION_DONE);
	assert_int_equal(s.trials, TRIALS);
	return s;
}

/*
 * JCGM 101:2008, 9.2.2: four N(0, 1) added: u 2.00, 95 % interval [-3.92, 3.92]; 9.2.3: four rectangular of u 1:
 * [-3.88, 3.88]; 9.2.4: the fourth of them with u 10: u 10.1, [-17.0, 17.0]. From memory; the first is 1.95996 * 2.
 */
static void additive_models_of_jcgm_101(void **state)
{
	struct budget normal = of(4, DISTRIBUTION_NORMAL), flat = of(4, DISTRIBUTION_RECTANGULAR);
	struct simulation s = run(&normal, NULL, 0.95);

	(void)state;
	assert_near(s.standard, 2, 0.01);
	assert_near(s.estimate, 0, 0.015);
	assert_near(s.symmetric.low, -3.92, 0.03);
	assert_near(s.symmetric.high, 3.92, 0.03);
	s = run(&flat, NULL, 0.95);
	assert_near(s.standard, 2, 0.01);
	assert_near(s.symmetric.low, -3.88, 0.03);
	assert_near(s.symmetric.high, 3.88, 0.03);
	flat.component[3].standard = 10;
	s = run(&flat, NULL, 0.95);
	assert_near(s.standard, sqrt(103), 0.04);
	assert_near(s.symmetric.low, -17.0, 0.06);
	assert_near(s.symmetric.high, 17.0, 0.06);
}

/* Closed forms: one rectangular, half-width sqrt(3): +-0.95 sqrt(3); two equal ones: triangular, (1 - sqrt(0.05)) 2
 * sqrt(3). */
static void intervals_of_rectangular_and_triangular_sums(void **state)
{
	struct budget b = of(1, DISTRIBUTION_RECTANGULAR);
	struct simulation s = run(&b, NULL, 0.95);

	(void)state;
	assert_near(s.symmetric.high, 0.95 * sqrt(3), 0.005);
	assert_near(s.symmetric.low, -0.95 * sqrt(3), 0.005);
	b = of(2, DISTRIBUTION_RECTANGULAR);
	s = run(&b, NULL, 0.95);
	assert_near(s.symmetric.high, (1 - sqrt(0.05)) * 2 * sqrt(3), 0.015);
	b = of(1, DISTRIBUTION_TRIANGULAR);
	s = run(&b, NULL, 0.95);
	assert_near(s.symmetric.high, (1 - sqrt(0.05)) * sqrt(6), 0.012);
	b = of(1, DISTRIBUTION_U_SHAPED);
	s = run(&b, NULL, 0.95);
	assert_near(s.symmetric.high, sqrt(2) * sin(0.95 * acos(-1) / 2), 0.002);
}

static void squared(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	for (size_t j = 0; j < n; j++)
		y[j] = x[j] * x[j];
}

/* Z^2 is chi-squared with 1 dof: shortest 95 % from 0 to 3.841 (table), the symmetric one between the 2.5 and 97.5 %
 * points. */
static void shortest_interval_of_a_skew_result(void **state)
{
	static const struct model m = {squared, NULL};
	struct budget b = of(1, DISTRIBUTION_NORMAL);
	struct simulation s = run(&b, &m, 0.95);

	(void)state;
	assert_near(s.estimate, 1, 5 * sqrt(2.0 / TRIALS));
	assert_near(s.shortest.low, 0, 0.001);
	assert_near(s.shortest.high, 3.841, 0.04);
	assert_near(s.symmetric.low, 0.000982, 0.0001);
	assert_near(s.symmetric.high, 5.024, 0.06);
	assert_true(s.shortest.high - s.shortest.low < s.symmetric.high - s.symmetric.low);
}

/* A type A component of 5 observations is drawn as t with 4 dof (JCGM 101, 6.4.9): its 95 % interval is 2.776 u
 * (table). */
static void few_observations_are_drawn_as_t(void **state)
{
	struct budget b = of(1, DISTRIBUTION_NORMAL);
	struct simulation s;

	(void)state;
	b.component[0].dof = 4;
	s = run(&b, NULL, 0.95);
	assert_near(s.symmetric.high, 2.776, 0.03);
	assert_near(s.symmetric.low, -2.776, 0.03);
}

/* u^2 = sum of c_i c_j r_ij u_i u_j, and the square of the uncorrelated fourth; then a singular matrix. */
static void correlated_components_are_drawn_together(void **state)
{
	static const double c[3] = {1, -2, 0.5}, u[3] = {1, 2, 0.7};
	static const double r[3][3] = {{1, 0.3, -0.6}, {0.3, 1, 0.25}, {-0.6, 0.25, 1}};
	struct budget b = of(4, DISTRIBUTION_NORMAL);
	double variance = 0.09;
	struct simulation s;

	(void)state;
	b.correlated = true;
	b.component[3].distribution = DISTRIBUTION_RECTANGULAR;
	b.component[3].standard = 0.3;
	b.correlation[3][3] = 1;
	for (int i = 0; i < 3; i++) {
		b.component[i].sensitivity = c[i];
		b.component[i].standard = u[i];
		for (int j = 0; j < 3; j++) {
			b.correlation[i][j] = r[i][j];
			variance += c[i] * c[j] * u[i] * u[j] * r[i][j];
		}
	}
	s = run(&b, NULL, 0.95);
	assert_near(s.standard / sqrt(variance), 1, 5 / sqrt(2.0 * TRIALS));
	b.n = 2;
	b.correlation[0][1] = b.correlation[1][0] = 1; /* singular: 1 - 2 * 2 = -3 times the same draw */
	s = run(&b, NULL, 0.95);
	assert_near(s.standard, 3, 3 * 5 / sqrt(2.0 * TRIALS));
	b.component[0].distribution = DISTRIBUTION_TRIANGULAR;
	assert_int_equal(simulate(&(struct simulation_plan){&b, NULL, 0.95, 1, TRIALS, false, 1, NULL, NULL}, work, &s),
			 SIMULATION_IMPOSSIBLE);
}

/* Random linear budgets: the law of propagation and the simulation give the same u, and when all is normal the same
 * interval. */
static void budgets_agree_with_the_simulation(void **state)
{
	struct random r;

	(void)state;
	random_seed(&r, 31);
	for (int round = 0; round < 20; round++) {
		struct budget b = of(3 + round % 5, DISTRIBUTION_NORMAL);
		struct budget_result result;
		struct simulation s;

		for (int i = 0; i < b.n; i++) {
			struct component *c = &b.component[i];

			c->estimate = 100 * random_normal(&r);
			c->standard = exp(random_normal(&r));
			c->sensitivity = 3 * random_normal(&r);
			if (round % 2)
				c->distribution = (enum distribution)(1 + (i + round) % 3);
		}
		budget_combine(&b, 0.95, &result);
		s = run(&b, NULL, 0.95);
		assert_near(s.standard / result.combined, 1, 5 / sqrt(TRIALS));
		assert_near((s.estimate - budget_estimate(&b, NULL)) / result.combined, 0, 5 / sqrt(TRIALS));
		if (round % 2 == 0)
			assert_near((s.symmetric.high - s.symmetric.low) / (2 * result.expanded), 1, 0.012);
	}
}

/* u = 2 to one digit: tolerance 0.5 and two or three blocks; to two digits 0.05, and the interval's ends must
 * settle. */
static void adaptive_procedure_stops_when_stable(void **state)
{
	struct budget b = of(4, DISTRIBUTION_NORMAL);
	struct simulation_plan p = {&b, NULL, 0.95, 7, TRIALS, true, 1, NULL, NULL};
	struct simulation coarse, fine;

	(void)state;
	assert_int_equal(simulate(&p, work, &coarse), SIMULATION_DONE);
	assert_near(coarse.tolerance, 0.5, 1e-15);
	assert_int_equal(coarse.trials, 10000 * coarse.blocks);
	p.digits = 2;
	assert_int_equal(simulate(&p, work, &fine), SIMULATION_DONE);
	assert_near(fine.tolerance, 0.05, 1e-15);
	assert_true(fine.blocks > coarse.blocks && coarse.blocks >= 2);
	assert_near(fine.symmetric.high, 3.92, 0.05);
	p.trials = 20000;
	assert_int_equal(simulate(&p, work, &fine), SIMULATION_UNSTABLE);
	assert_int_equal(fine.trials, 20000);
	p.coverage = 0.999; /* one block is then 100000 trials */
	assert_int_equal(simulate(&p, work, &fine), SIMULATION_IMPOSSIBLE);
}

/* JCGM 101, 7.9.2: 0.00035 to two digits is 35e-5, half of 1e-5; to one digit 4e-4, half of 1e-4. */
static void tolerance_is_half_a_unit_of_the_last_digit(void **state)
{
	(void)state;
	assert_near(numerical_tolerance(0.00035, 2), 0.000005, 1e-19);
	assert_near(numerical_tolerance(0.00035, 1), 0.00005, 1e-18);
	assert_near(numerical_tolerance(2, 1), 0.5, 0);
	assert_near(numerical_tolerance(100, 2), 5, 0);
	assert_near(numerical_tolerance(99, 2), 0.5, 0);
}

/* Clause 8: the normal sum is validated, the one with a dominant rectangular component is not: 19.7 against 17.0. */
static void law_of_propagation_is_validated_or_not(void **state)
{
	struct budget b = of(4, DISTRIBUTION_NORMAL);
	struct budget_result r;
	struct simulation s = run(&b, NULL, 0.95);
	struct validation v;

	(void)state;
	budget_combine(&b, 0.95, &r);
	v = validate_budget(0, &r, &s, 2);
	assert_true(v.valid);
	assert_near(v.tolerance, 0.05, 1e-15);
	b = of(4, DISTRIBUTION_RECTANGULAR);
	b.component[3].standard = 10;
	budget_combine(&b, 0.95, &r);
	s = run(&b, NULL, 0.95);
	v = validate_budget(0, &r, &s, 2);
	assert_false(v.valid);
	assert_near(v.high_difference, 1.96 * sqrt(103) - 17.0, 0.06);
}

static void same_seed_gives_the_same_interval_to_the_last_bit(void **state)
{
	struct budget b = of(5, DISTRIBUTION_TRIANGULAR);
	struct simulation one = run(&b, NULL, 0.9), two = run(&b, NULL, 0.9);

	(void)state;
	assert_memory_equal(&one.shortest, &two.shortest, sizeof one.shortest);
	assert_true(one.estimate == two.estimate && one.standard == two.standard);
}

static void inverse(void *context, const double *x, size_t n, double *y)
{
	(void)context;
	for (size_t j = 0; j < n; j++)
		y[j] = sqrt(x[j]);
}

static bool five_times(void *context)
{
	int *asked = context;

	return ++*asked <= 5;
}

static void what_cannot_be_simulated_is_said(void **state)
{
	static const struct model m = {inverse, NULL};
	struct budget b = of(1, DISTRIBUTION_NORMAL);
	int asked = 0;
	struct simulation_plan p = {&b, &m, 0.95, 1, TRIALS, false, 1, NULL, NULL};
	struct simulation s;

	(void)state;
	assert_int_equal(simulate(&p, work, &s), SIMULATION_NO_VALUE);
	p.model = NULL;
	p.go_on = five_times;
	p.context = &asked;
	assert_int_equal(simulate(&p, work, &s), SIMULATION_STOPPED);
	assert_int_equal(asked, 6);
	p.go_on = NULL;
	p.trials = SIMULATION_TRIALS_MAX + 1;
	assert_int_equal(simulate(&p, work, &s), SIMULATION_IMPOSSIBLE);
	p.trials = SIMULATION_TRIALS_MIN;
	p.coverage = 1;
	assert_int_equal(simulate(&p, work, &s), SIMULATION_IMPOSSIBLE);
	p.coverage = 0.5;
	b.component[0].standard = NAN;
	assert_int_equal(simulate(&p, work, &s), SIMULATION_IMPOSSIBLE);
}

static int by_size(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

static void sorting_agrees_with_the_library_s(void **state)
{
	static double v[5000], expected[5000], scratch[5000];
	struct random r;

	(void)state;
	random_seed(&r, 3);
	for (size_t n = 0; n <= 5000; n = n * 3 + 1) {
		for (size_t i = 0; i < n; i++)
			v[i] = random_normal(&r) * pow(10, floor(600 * random_uniform(&r) - 300)) * (i % 7 ? 1 : 0);
		if (n > 3)
			v[2] = INFINITY;
		memcpy(expected, v, n * sizeof *v);
		qsort(expected, n, sizeof *expected, by_size);
		sort_numbers(v, scratch, n);
		for (size_t i = 0; i < n; i++)
			assert_true(v[i] == expected[i]);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(additive_models_of_jcgm_101),
		cmocka_unit_test(intervals_of_rectangular_and_triangular_sums),
		cmocka_unit_test(shortest_interval_of_a_skew_result),
		cmocka_unit_test(few_observations_are_drawn_as_t),
		cmocka_unit_test(correlated_components_are_drawn_together),
		cmocka_unit_test(budgets_agree_with_the_simulation),
		cmocka_unit_test(adaptive_procedure_stops_when_stable),
		cmocka_unit_test(tolerance_is_half_a_unit_of_the_last_digit),
		cmocka_unit_test(law_of_propagation_is_validated_or_not),
		cmocka_unit_test(same_seed_gives_the_same_interval_to_the_last_bit),
		cmocka_unit_test(what_cannot_be_simulated_is_said),
		cmocka_unit_test(sorting_agrees_with_the_library_s),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
