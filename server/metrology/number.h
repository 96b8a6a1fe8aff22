/*
 * Small arithmetic that the core needs and must not take from a library: compiled for the server and for WebAssembly it has
 * to give the same bits, so of libm only sqrt, fabs, floor and ceil are called (each is exact by IEEE 754).
 */
#ifndef METROLOGY_NUMBER_H
#define METROLOGY_NUMBER_H

#include <math.h>
#include <stdbool.h>

#define NOT_A_NUMBER (__builtin_nan(""))
#define INFINITE     (__builtin_inf())

/* For a hash or a generator of chance, whose integers wrap on purpose: Clang's integer sanitizer takes that for a slip. */
#ifdef __clang__
#define WRAPS_BY_DESIGN __attribute__((no_sanitize("integer")))
#else
#define WRAPS_BY_DESIGN
#endif

static inline bool is_nan(double v)
{
	return v != v;
}

static inline bool is_finite(double v)
{
	return v - v == 0;
}

static inline double larger(double a, double b)
{
	return a > b ? a : b;
}

static inline double smaller(double a, double b)
{
	return a < b ? a : b;
}

/* 10^n as the nearest double, n in -30..30. */
double power_of_ten(int n);
/* Smallest n with v <= 10^n, for v in 1e-30..1e30; INT_MIN outside of that. */
int decimal_ceiling(double v);
/* e to the power x, within 2 units in the last place for |x| < 700; 0 below, infinite above. */
double exponential(double x);
/* Natural logarithm, within 2 units in the last place; minus infinity for 0, NaN below. */
double logarithm(double x);

#endif
