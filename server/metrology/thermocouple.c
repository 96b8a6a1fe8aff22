/*
 * The eight letter-designated types. The inverse is solved on the reference function itself and not taken from the
 * approximate inverse polynomials of the tables, which err by up to 0.06 degC and end long before the function does.
 *
 * Every function rises over its whole range but that of type B, which falls from 0 mV at 0 degC to -0.0026 mV near
 * 21 degC and is back at 0 mV near 42 degC: up to there two temperatures give the same emf. Its inverse begins where
 * the emf passes 0 again, the lowest emf that belongs to one temperature alone.
 *
 * The pieces of the published functions meet to some 1e-7 mV at best. An emf that falls into such a gap gives the
 * temperature of the joint.
 */
#include "thermocouple.h"

#include "number.h"
#include "polynomial.h"
#include "solve.h"

/* Type K above 0 degC: a0 exp(a1 (t - a2)^2) beside the polynomial. */
static const double k_a0 = 0.1185976, k_a1 = -1.183432e-4, k_a2 = 126.9686;
static const double b_branch = 30; /* between type B's minimum near 21 degC and its zero near 42 degC */

struct piece_of {
	const struct thermocouple_piece *piece;
	bool exponential;
};

static struct piece_of piece_at(enum thermocouple_type type, int index)
{
	struct piece_of p = {&thermocouples[type].piece[index], type == THERMOCOUPLE_K && index == 1};

	return p;
}

/* Both at once, since the exponential is most of the work. */
static double piece_emf(const void *of, double t, double *slope)
{
	const struct piece_of *p = of;
	double d = t - k_a2, bell = p->exponential ? k_a0 * exponential(k_a1 * d * d) : 0;

	if (slope)
		*slope = polynomial_slope(p->piece->c, p->piece->n, t) + bell * 2 * k_a1 * d;
	return polynomial(p->piece->c, p->piece->n, t) + bell;
}

static bool known(enum thermocouple_type type)
{
	return (int)type >= 0 && type < THERMOCOUPLES;
}

struct range thermocouple_domain(enum thermocouple_type type)
{
	const struct thermocouple *t = &thermocouples[type];
	struct range r = {t->piece[0].low, t->piece[t->n_pieces - 1].high};

	return r;
}

/* The lower piece owns a joint. */
static struct piece_of piece_for(enum thermocouple_type type, double t)
{
	int i = 0;

	while (i + 1 < thermocouples[type].n_pieces && t > thermocouples[type].piece[i].high)
		i++;
	return piece_at(type, i);
}

static bool covers(enum thermocouple_type type, double t)
{
	struct range r;

	if (!known(type))
		return false;
	r = thermocouple_domain(type);
	return t >= r.low && t <= r.high;
}

double thermocouple_emf(enum thermocouple_type type, double t)
{
	struct piece_of p;

	if (!covers(type, t))
		return NOT_A_NUMBER;
	p = piece_for(type, t);
	return piece_emf(&p, t, NULL);
}

double thermocouple_slope(enum thermocouple_type type, double t)
{
	struct piece_of p;
	double slope;

	if (!covers(type, t))
		return NOT_A_NUMBER;
	p = piece_for(type, t);
	piece_emf(&p, t, &slope);
	return slope;
}

struct range thermocouple_image(enum thermocouple_type type)
{
	struct range t = thermocouple_domain(type);
	struct range r = {type == THERMOCOUPLE_B ? 0 : thermocouple_emf(type, t.low), thermocouple_emf(type, t.high)};

	return r;
}

/* Where the inverse of the type's piece begins. */
static double foot(enum thermocouple_type type, int index)
{
	return type == THERMOCOUPLE_B && index == 0 ? b_branch : thermocouples[type].piece[index].low;
}

double thermocouple_temperature(enum thermocouple_type type, double emf)
{
	struct piece_of p;
	struct function f = {piece_emf, &p};
	double low, at_low, at_high;
	int i;

	if (!known(type))
		return NOT_A_NUMBER;
	i = thermocouples[type].n_pieces - 1;
	p = piece_at(type, i);
	at_high = piece_emf(&p, p.piece->high, NULL);
	if (!(emf <= at_high))
		return NOT_A_NUMBER;
	for (;;) {
		low = foot(type, i);
		at_low = piece_emf(&p, low, NULL);
		if (emf >= at_low)
			break;
		if (i == 0)
			return NOT_A_NUMBER;
		p = piece_at(type, --i);
		at_high = piece_emf(&p, p.piece->high, NULL);
	}
	if (type == THERMOCOUPLE_B && emf < 0)
		return NOT_A_NUMBER;
	if (emf >= at_high)
		return p.piece->high; /* the end, or the gap before the next piece */
	return solve_between(&f, low, p.piece->high, at_low, at_high, emf);
}
