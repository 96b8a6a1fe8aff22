/* Where does a rising or falling function take a value? */
#ifndef METROLOGY_SOLVE_H
#define METROLOGY_SOLVE_H

struct function {
	double (*at)(const void *of, double x, double *slope); /* slope NULL: not asked for */
	const void *of;
};

/*
 * The x in [low, high] with f(x) = y, for f monotone there: Newton, but a step that leaves the bracket is replaced
 * by halving it, so it always ends. NaN when y lies outside f(low)..f(high).
 */
double solve(const struct function *f, double low, double high, double y);
/* The same with f(low) and f(high) at hand. */
double solve_between(const struct function *f, double low, double high, double at_low, double at_high, double y);

#endif
