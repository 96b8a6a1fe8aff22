/*
 * Decimal digits by integer arithmetic: the value's exact binary fraction is multiplied by a power of ten in a small big
 * integer, which gives the nearest 15-digit decimal without any rounding on the way.
 */
#include "metrology/format.h"

#include <stdint.h>
#include "number.h"

#define DECIMALS_MAX 9
#define LIMBS	     6

static const char minus_sign[] = "\xe2\x88\x92", en_dash[] = "\xe2\x80\x93";

/* units / 10^decimals, 15 digits (16 for 1e15 itself). */
struct decimal {
	uint64_t units;
	int decimals;
};

static uint64_t integer_power(int n)
{
	uint64_t p = 1;

	while (n-- > 0)
		p *= 10;
	return p;
}

/* mantissa * 10^power / 2^shift, rounded half up; the product must stay below 2^192 and the quotient below 2^64. */
static uint64_t scale(uint64_t mantissa, int power, int shift)
{
	uint32_t limb[LIMBS] = {(uint32_t)mantissa, (uint32_t)(mantissa >> 32), 0, 0, 0, 0};
	uint64_t out = 0;
	int half = shift - 1;

	while (power-- > 0) {
		uint64_t carry = 0;

		for (int i = 0; i < LIMBS; i++) {
			carry += (uint64_t)limb[i] * 10;
			limb[i] = (uint32_t)carry;
			carry >>= 32;
		}
	}
	for (int bit = 63; bit >= 0; bit--) {
		int at = bit + shift;

		out <<= 1;
		if (at < 32 * LIMBS)
			out |= limb[at / 32] >> (at % 32) & 1;
	}
	if (half < 32 * LIMBS)
		out += limb[half / 32] >> (half % 32) & 1;
	return out;
}

/* Nearest 15-digit decimal of a magnitude of at most 1e15; anything below 1e-12 is 0, far below what 9 decimals show. */
static struct decimal nearest_decimal(double magnitude)
{
	union {
		double v;
		uint64_t bits;
	} u = {magnitude};
	struct decimal d = {0, 0};
	int exponent = 14, binary = (int)(u.bits >> 52 & 0x7ff) - 1075;
	uint64_t mantissa = (u.bits & 0xfffffffffffffu) | 0x10000000000000u;

	if (!(magnitude >= 1e-12))
		return d;
	while (exponent > -12 && magnitude < power_of_ten(exponent))
		exponent--;
	d.decimals = 14 - exponent;
	/* below 1e15 < 2^50 the mantissa's last bit is worth 2^-3 or less, so the shift is to the right */
	d.units = scale(mantissa, d.decimals, -binary);
	return d;
}

/* Half away from zero: half up on magnitudes. */
static struct decimal rounded(struct decimal d, int decimals)
{
	int surplus = d.decimals - decimals;
	uint64_t power;

	if (surplus <= 0)
		return d;
	d.decimals = decimals;
	if (surplus > 18) {
		d.units = 0;
		return d;
	}
	power = integer_power(surplus);
	d.units = d.units / power + (d.units % power >= power / 2 ? 1 : 0);
	return d;
}

static int clamp_decimals(int decimals)
{
	if (decimals < 0)
		return 0;
	return decimals > DECIMALS_MAX ? DECIMALS_MAX : decimals;
}

static char *put(char *at, const char *text)
{
	while (*text)
		*at++ = *text++;
	return at;
}

/* Digits of units with at least minimum of them, leading zeros added. */
static char *put_digits(char *at, uint64_t units, int minimum)
{
	char digits[24];
	int n = 0;

	while (units > 0 || n < minimum) {
		digits[n++] = (char)('0' + units % 10);
		units /= 10;
	}
	while (n > 0)
		*at++ = digits[--n];
	return at;
}

char *format_number(double value, int decimals, bool plus, char out[NUMBER_TEXT_SIZE])
{
	struct decimal d;
	char *at = out;
	uint64_t power;

	if (!(fabs(value) <= 1e15)) {
		*put(at, en_dash) = '\0';
		return out;
	}
	decimals = clamp_decimals(decimals);
	d = rounded(nearest_decimal(fabs(value)), decimals);
	if (d.units > 0 && value < 0)
		at = put(at, minus_sign);
	else if (d.units > 0 && plus)
		*at++ = '+';
	power = integer_power(d.decimals);
	at = put_digits(at, d.units / power, 1);
	if (decimals > 0) {
		*at++ = '.';
		if (d.decimals > 0)
			at = put_digits(at, d.units % power, d.decimals);
		for (int i = d.decimals; i < decimals; i++)
			*at++ = '0';
	}
	*at = '\0';
	return out;
}

int decimals_of_text(const char *text)
{
	int whole = 0, decimals = 0;

	if (*text == '-' || *text == '+')
		text++;
	for (; *text >= '0' && *text <= '9'; text++)
		whole++;
	if (*text == '.' || *text == ',') {
		for (text++; *text >= '0' && *text <= '9'; text++)
			decimals++;
		if (decimals == 0)
			return -1;
	}
	return *text == '\0' && whole + decimals > 0 ? decimals : -1;
}

double round_decimals(double value, int decimals)
{
	struct decimal d;
	double magnitude;

	if (!(fabs(value) <= 1e15))
		return value;
	d = rounded(nearest_decimal(fabs(value)), clamp_decimals(decimals));
	magnitude = (double)d.units / power_of_ten(d.decimals); /* both exact, so the quotient is the nearest double */
	return value < 0 && d.units > 0 ? -magnitude : magnitude;
}

int decimals_for(double step)
{
	double magnitude = fabs(step);
	int decimals = 1;

	if (!(magnitude > 0 && is_finite(magnitude)))
		return 0;
	if (magnitude >= 10)
		return 0;
	while (decimals < DECIMALS_MAX && magnitude < power_of_ten(1 - decimals))
		decimals++;
	return decimals;
}
