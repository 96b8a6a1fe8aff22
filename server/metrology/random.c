#include "metrology/random.h"

#include "mathfn.h"
#include "number.h"

#define SQRT_3 1.7320508075688772935
#define SQRT_6 2.4494897427831780982
#define SQRT_2 1.4142135623730950488

WRAPS_BY_DESIGN static uint64_t splitmix(uint64_t *x)
{
	uint64_t z = *x += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return z ^ z >> 31;
}

void random_seed(struct random *r, uint64_t seed)
{
	for (int i = 0; i < 4; i++)
		r->state[i] = splitmix(&seed);
	r->has_spare = false;
}

WRAPS_BY_DESIGN static inline uint64_t rotated(uint64_t x, int by)
{
	return x << by | x >> (64 - by);
}

WRAPS_BY_DESIGN static inline uint64_t next_bits(struct random *r)
{
	uint64_t *s = r->state, result = rotated(s[0] + s[3], 23) + s[0], t = s[1] << 17;

	s[2] ^= s[0];
	s[3] ^= s[1];
	s[1] ^= s[2];
	s[0] ^= s[3];
	s[2] ^= t;
	s[3] = rotated(s[3], 45);
	return result;
}

uint64_t random_bits(struct random *r)
{
	return next_bits(r);
}

/* The middle of one of 2^52 equal steps. */
static inline double uniform(struct random *r)
{
	return ((double)(next_bits(r) >> 12) + 0.5) * 0x1p-52;
}

double random_uniform(struct random *r)
{
	return uniform(r);
}

/* A point in the unit disc, its centre left out; returns the square of its distance. */
static inline double disc(struct random *r, double *x, double *y)
{
	double s;

	do {
		*x = 2 * uniform(r) - 1;
		*y = 2 * uniform(r) - 1;
		s = *x * *x + *y * *y;
	} while (s >= 1 || s == 0);
	return s;
}

double random_normal(struct random *r)
{
	double x, y, s;

	if (r->has_spare) {
		r->has_spare = false;
		return r->spare;
	}
	s = disc(r, &x, &y);
	s = sqrt(-2 * natural_log(s) / s);
	r->spare = y * s;
	r->has_spare = true;
	return x * s;
}

/* Marsaglia and Tsang, ACM TOMS 26, 2000, 363; below shape 1 by that of shape + 1 times U^(1/shape). */
double random_gamma(struct random *r, double shape)
{
	double d, c, x, v, u;

	if (!(shape >= 0.5))
		return NOT_A_NUMBER;
	if (shape < 1) {
		u = uniform(r); /* drawn in this order by every compiler */
		return random_gamma(r, shape + 1) * power(u, 1 / shape);
	}
	d = shape - 1.0 / 3;
	c = 1 / sqrt(9 * d);
	do {
		do {
			x = random_normal(r);
			v = 1 + c * x;
		} while (v <= 0);
		v = v * v * v;
		u = uniform(r);
	} while (natural_log(u) >= 0.5 * x * x + d - d * v + d * natural_log(v));
	return d * v;
}

double random_t(struct random *r, double dof)
{
	double normal = random_normal(r); /* before the other, by every compiler */

	return normal / sqrt(random_gamma(r, dof / 2) / (dof / 2));
}

static void fill_normal(struct random *r, double *out, size_t n)
{
	size_t i = 0;

	if (r->has_spare && n > 0)
		out[i++] = random_normal(r);
	for (; i + 1 < n; i += 2) {
		double x, y, s = disc(r, &x, &y);

		s = sqrt(-2 * natural_log(s) / s);
		out[i] = x * s;
		out[i + 1] = y * s;
	}
	if (i < n)
		out[i] = random_normal(r);
}

/* The cosine of twice a random angle, (x^2 - y^2) / (x^2 + y^2), without a cosine. */
static void fill_u_shaped(struct random *r, double *out, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		double x, y, s = disc(r, &x, &y);

		out[i] = SQRT_2 * (x * x - y * y) / s;
	}
}

void random_fill(struct random *r, enum distribution d, double *out, size_t n)
{
	if (d == DISTRIBUTION_NORMAL)
		fill_normal(r, out, n);
	else if (d == DISTRIBUTION_U_SHAPED)
		fill_u_shaped(r, out, n);
	else if (d == DISTRIBUTION_RECTANGULAR)
		for (size_t i = 0; i < n; i++)
			out[i] = SQRT_3 * (2 * uniform(r) - 1);
	else
		for (size_t i = 0; i < n; i++)
			out[i] = SQRT_6 * (uniform(r) + uniform(r) - 1);
}
