/*
 * Random numbers for the propagation of distributions: the same seed gives the same numbers on every machine.
 *
 * Generator xoshiro256++ seeded by splitmix64 (Blackman and Vigna, ACM TOMS 47, 2021, 36; both in the public
 * domain). Its state is a plain struct of the caller's; period 2^256 - 1.
 */
#ifndef METROLOGY_RANDOM_H
#define METROLOGY_RANDOM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct random {
	uint64_t state[4];
	double spare; /* normal numbers come in pairs */
	bool has_spare;
};

void random_seed(struct random *r, uint64_t seed); /* any seed, 0 included */
uint64_t random_bits(struct random *r);		   /* 64 of them */
double random_uniform(struct random *r);	   /* in (0, 1), both ends left out */
/* Mean 0, standard deviation 1: the polar method (Marsaglia and Bray, SIAM Review 6, 1964, 260). */
double random_normal(struct random *r);
/* Scale 1, shape >= 0.5, else NaN (Marsaglia and Tsang, ACM TOMS 26, 2000, 363). */
double random_gamma(struct random *r, double shape);
/* Student's t: a normal number over the root of chi-squared over its dof >= 1, else NaN (JCGM 101:2008, 6.4.9). */
double random_t(struct random *r, double dof);

/* What a component may be distributed as. U-shaped: the arcsine distribution, as of a sinusoidal disturbance. */
enum distribution { DISTRIBUTION_NORMAL, DISTRIBUTION_RECTANGULAR, DISTRIBUTION_TRIANGULAR, DISTRIBUTION_U_SHAPED };

/* n draws with mean 0 and standard deviation 1 (JCGM 101:2008: 6.4.2 rectangular, 6.4.5 triangular, 6.4.6 arcsine,
 * 6.4.7 normal). */
void random_fill(struct random *r, enum distribution d, double *out, size_t n);

#endif
