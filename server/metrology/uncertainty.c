#include "metrology/uncertainty.h"

#include "number.h"

static double standard_uncertainty(const struct reference *r)
{
	if (!r || !(r->expanded > 0))
		return 0;
	/* without a usable coverage factor U itself is taken, the careful side */
	return r->coverage_factor > 0 ? r->expanded / r->coverage_factor : r->expanded;
}

/* Half a count of the last decimal, rectangular: a / sqrt(3) (JCGM 100:2008, 4.3.7). */
static double resolution_uncertainty(int decimals)
{
	return decimals < 0 ? 0 : power_of_ten(-decimals) / 2 / sqrt(3);
}

static double root_sum(double a, double b)
{
	return sqrt(a * a + b * b);
}

/*
 * The slope carries an input's uncertainty over; at the foot of a square root, where the slope has no end, half the change
 * of the output between applied - u and applied + u does (JCGM 100:2008, 5.1.3 note 2).
 */
static double carried_over(const struct characteristic *c, struct range input, struct range output, double applied,
			   double u)
{
	double up, down;

	if (u == 0)
		return 0;
	if (c->kind != CHARACTERISTIC_SQUARE_ROOT)
		return fabs(characteristic_slope(c, input, output, applied)) * u;
	up = characteristic_forward(c, input, output, applied + u);
	down = characteristic_forward(c, input, output, applied - u);
	return fabs(up - down) / 2;
}

double reading_uncertainty(const struct characteristic *c, struct range input, struct range output, double applied,
			   const struct reference *input_reference, const struct reference *output_reference,
			   int input_decimals, int output_decimals)
{
	double in = root_sum(standard_uncertainty(input_reference), resolution_uncertainty(input_decimals));
	double out = root_sum(standard_uncertainty(output_reference), resolution_uncertainty(output_decimals));

	return root_sum(carried_over(c, input, output, applied, in), out);
}
