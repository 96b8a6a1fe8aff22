/*
 * The specified relation of an instrument's output to its input.
 *
 * linear, square_root and equal_percentage map range to range; rtd, callendar_van_dusen and thermocouple give a
 * sensing element's own output (ohm, mV) for a temperature in degrees Celsius; table and polynomial give the output
 * in its unit for an input in its unit. The latter five use the ranges only as what the element is used over.
 *
 * A plain value of fixed size, to be copied and compared as one; the members that a kind does not name are not
 * looked at.
 *
 * Sources, and where each ends (beyond, the answer is NaN and never an extrapolation):
 *   linear               range to range (IEC 61298-1); no end, a transmitter goes on to its saturation (NAMUR NE 43)
 *   square_root          flow as the root of differential pressure (ISO 5167-1); no end upwards, inverse from the low end
 *   equal_percentage     phi = R^(h - 1) (IEC 60534-1 and 60534-2-4, from memory); travel -5..105 %
 *   rtd                  IEC 60751:2008, 4.2, equations of Callendar and van Dusen; -200..850 degC
 *   callendar_van_dusen  the same with coefficients of one's own; -200..850 degC
 *   thermocouple         ITS-90 reference functions, NIST Monograph 175 (1993) = IEC 60584-1:2013; the type's whole
 *                        range: B 0..1820, E -270..1000, J -210..1200, K -270..1372, N -270..1300, R S -50..1768.1,
 *                        T -270..400 degC; inverse of B from 0 mV (42 degC) on
 *   table                straight, or monotone cubic (Fritsch and Carlson, SIAM J. Numer. Anal. 17, 1980, 238); from
 *                        its first to its last point
 *   polynomial           as given; over its validity
 */
#ifndef METROLOGY_CHARACTERISTIC_H
#define METROLOGY_CHARACTERISTIC_H

#include <stdbool.h>
#include "metrology/range.h"

#define TABLE_POINTS_MAX	 64
#define CHARACTERISTIC_TERMS_MAX 11 /* of a polynomial: order 10 */

enum characteristic_kind {
	CHARACTERISTIC_LINEAR,
	CHARACTERISTIC_SQUARE_ROOT,
	CHARACTERISTIC_RTD,
	CHARACTERISTIC_THERMOCOUPLE,
	CHARACTERISTIC_CALLENDAR_VAN_DUSEN,
	CHARACTERISTIC_EQUAL_PERCENTAGE,
	CHARACTERISTIC_TABLE,
	CHARACTERISTIC_POLYNOMIAL,
	CHARACTERISTICS
};
enum thermocouple_type {
	THERMOCOUPLE_K,
	THERMOCOUPLE_B,
	THERMOCOUPLE_E,
	THERMOCOUPLE_J,
	THERMOCOUPLE_N,
	THERMOCOUPLE_R,
	THERMOCOUPLE_S,
	THERMOCOUPLE_T,
	THERMOCOUPLES
};
enum interpolation { INTERPOLATION_LINEAR, INTERPOLATION_MONOTONE_CUBIC };

struct characteristic {
	enum characteristic_kind kind;
	double r0;			  /* rtd, callendar_van_dusen: resistance at 0 degC in ohm, 100 for Pt100 */
	enum thermocouple_type type;	  /* thermocouple */
	double a, b, c;			  /* callendar_van_dusen: 1/degC, 1/degC^2, 1/degC^4;
					 * R = r0 (1 + a t + b t^2 + c (t - 100) t^3), c only below 0 degC */
	double cutoff;			  /* square_root: low-flow cut-off in % of the output span, 0 for none:
					 * below it the output is low */
	double rangeability;		  /* equal_percentage: flow fully open over flow at 0 travel, > 1 */
	double linear_below;		  /* equal_percentage: straight from nothing up to this travel in %; 0: pure */
	enum interpolation interpolation; /* table */
	int n_points;			  /* table: 2..TABLE_POINTS_MAX */
	double x[TABLE_POINTS_MAX], y[TABLE_POINTS_MAX]; /* table: input strictly ascending, and its output */
	int n_coefficients;				 /* polynomial: 1..CHARACTERISTIC_TERMS_MAX */
	double coefficient[CHARACTERISTIC_TERMS_MAX];	 /* polynomial: of 1, x, x^2, ... */
	struct range validity;				 /* polynomial: the inputs it holds for, low < high */
};

/*
 * Expected output for an input. NaN outside characteristic_domain: nothing is extrapolated. linear and square_root
 * have no end (the output of a transmitter goes on past its range); square_root: 0 input fraction and below gives
 * the output's low end.
 */
double characteristic_forward(const struct characteristic *c, struct range input, struct range output, double value);
/* Input that gives this output; NaN outside characteristic_image, and where no single input gives it. */
double characteristic_inverse(const struct characteristic *c, struct range input, struct range output, double value);
/*
 * Slope d(output)/d(input) at an input, by the formula's derivative; infinite at the foot of a square root. At a
 * point of a linear table that of the piece above it. NaN outside characteristic_domain and for an empty input range.
 */
double characteristic_slope(const struct characteristic *c, struct range input, struct range output, double value);

/* The inputs it is defined for, low <= high: infinite ends where it has none, NaN for one that is not well formed. */
struct range characteristic_domain(const struct characteristic *c, struct range input);
/*
 * The outputs that the inverse answers, low <= high, with infinite ends where there are none; NaN where there is no
 * inverse (a table or a polynomial that turns).
 */
struct range characteristic_image(const struct characteristic *c, struct range input, struct range output);

/* NULL when it is well formed, else what is wrong with it, in words: "the points' inputs must ascend". */
const char *characteristic_fault(const struct characteristic *c);

#define CHARACTERISTIC_TEXT_SIZE 96
/* "linear", "Pt100 (IEC 60751)", "thermocouple type K (IEC 60584-1)", "table of 12 points, ...". Returns out. */
char *characteristic_text(const struct characteristic *c, char out[CHARACTERISTIC_TEXT_SIZE]);
const char *thermocouple_letter(enum thermocouple_type type); /* "K" */

#endif
