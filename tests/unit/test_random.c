#include "metrology/random.h"
#include "support/check.h"

#define DRAWS 400000

/* First numbers of xoshiro256++ from the state 1, 2, 3, 4 (from memory of published test vectors, and recomputed
 * apart). */
static void generator_gives_the_published_numbers(void **state)
{
	static const uint64_t expected[] = {41943041u, 58720359u, 3588806011781223u, 3591011842654386u,
					    9228616714210784205u};
	struct random r = {{1, 2, 3, 4}, 0, false};

	(void)state;
	for (int i = 0; i < 5; i++)
		assert_true(random_bits(&r) == expected[i]);
}

/* splitmix64 from 1234567: 6457827717110365317, 3203168211198807973, ... (from memory, and recomputed apart). */
static void seed_is_spread_by_splitmix(void **state)
{
	struct random r;

	(void)state;
	random_seed(&r, 1234567);
	assert_true(r.state[0] == 6457827717110365317u);
	assert_true(r.state[1] == 3203168211198807973u);
	assert_true(r.state[2] == 9817491932198370423u);
	assert_true(r.state[3] == 4593380528125082431u);
	assert_false(r.has_spare);
}

static double draws[DRAWS];

static double moment(int power)
{
	double sum = 0;

	for (int i = 0; i < DRAWS; i++)
		sum += pow(draws[i], power);
	return sum / DRAWS;
}

/* Fourth moments of the standardised distributions: 3; 9/5; 12/5; 3/2. Errors of means at 5 standard deviations. */
static void distributions_have_their_moments(void **state)
{
	static const double fourth[] = {3, 1.8, 2.4, 1.5}, eighth[] = {105, 9, 0, 35.0 / 8};
	struct random r;

	(void)state;
	random_seed(&r, 99);
	for (int d = DISTRIBUTION_NORMAL; d <= DISTRIBUTION_U_SHAPED; d++) {
		double spread = sqrt(fmax(eighth[d], 12) / DRAWS);

		random_fill(&r, (enum distribution)d, draws, DRAWS);
		assert_near(moment(1), 0, 5 / sqrt(DRAWS));
		assert_near(moment(2), 1, 5 * sqrt((fourth[d] - 1) / DRAWS));
		assert_near(moment(3), 0, 5 * spread);
		assert_near(moment(4), fourth[d], 5 * spread);
	}
}

static void bounded_distributions_stay_in_their_bounds(void **state)
{
	static const double reach[] = {0, 1.7320508075688773, 2.449489742783178, 1.4142135623730951};
	struct random r;

	(void)state;
	random_seed(&r, 5);
	for (int d = DISTRIBUTION_RECTANGULAR; d <= DISTRIBUTION_U_SHAPED; d++) {
		double most = 0;

		random_fill(&r, (enum distribution)d, draws, DRAWS);
		for (int i = 0; i < DRAWS; i++)
			most = fmax(most, fabs(draws[i]));
		assert_true(most <= reach[d] * (1 + 1e-15));
		assert_true(most > reach[d] * 0.99);
	}
}

/* Share below known quantiles: t with 4 dof, 2.131847 at 0.95; 2.776445 at 0.975 (printed tables). */
static void t_draws_fall_below_the_table_s_quantiles(void **state)
{
	struct random r;
	int below = 0, far = 0;

	(void)state;
	random_seed(&r, 6);
	for (int i = 0; i < DRAWS; i++) {
		double t = random_t(&r, 4);

		below += t < 2.131847;
		far += t < -2.776445;
	}
	assert_near((double)below / DRAWS, 0.95, 5 * sqrt(0.95 * 0.05 / DRAWS));
	assert_near((double)far / DRAWS, 0.025, 5 * sqrt(0.025 * 0.975 / DRAWS));
}

/* Mean and variance of a gamma distribution with scale 1 are its shape. */
static void gamma_draws_have_mean_and_variance_of_their_shape(void **state)
{
	static const double shapes[] = {0.5, 0.8, 1, 3.7, 40};
	struct random r;

	(void)state;
	random_seed(&r, 7);
	for (size_t s = 0; s < sizeof shapes / sizeof shapes[0]; s++) {
		double a = shapes[s];

		for (int i = 0; i < DRAWS; i++)
			draws[i] = random_gamma(&r, a) - a;
		assert_near(moment(1), 0, 5 * sqrt(a / DRAWS));
		assert_near(moment(2), a, 5 * sqrt((2 * a * a + 6 * a) / DRAWS));
	}
	assert_true(0 != isnan(random_gamma(&r, 0.2)));
}

static void same_seed_gives_the_same_numbers(void **state)
{
	struct random a, b, c;

	(void)state;
	random_seed(&a, 2026);
	random_seed(&b, 2026);
	random_seed(&c, 2027);
	for (int i = 0; i < 1000; i++) {
		double x = random_normal(&a);

		assert_true(x == random_normal(&b));
		assert_true(x != random_normal(&c));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(generator_gives_the_published_numbers),
		cmocka_unit_test(seed_is_spread_by_splitmix),
		cmocka_unit_test(distributions_have_their_moments),
		cmocka_unit_test(bounded_distributions_stay_in_their_bounds),
		cmocka_unit_test(t_draws_fall_below_the_table_s_quantiles),
		cmocka_unit_test(gamma_draws_have_mean_and_variance_of_their_shape),
		cmocka_unit_test(same_seed_gives_the_same_numbers),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
