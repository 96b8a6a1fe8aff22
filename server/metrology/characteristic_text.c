/* Characteristics in words, for certificates and messages. */
#include "metrology/characteristic.h"

#include "metrology/format.h"
#include "number.h"
#include "thermocouple.h"
#include "words.h"

/* As many decimals as the number has, up to six. */
static void say_plain(struct words *w, double v)
{
	int decimals = 0;

	while (decimals < 6 && fabs(round_decimals(v, decimals) - v) > 1e-9 * fabs(v))
		decimals++;
	say_number(w, v, decimals, false);
}

static void say_with(struct words *w, const char *before, double v, const char *after)
{
	say(w, before);
	say_plain(w, v);
	say(w, after);
}

const char *thermocouple_letter(enum thermocouple_type type)
{
	return (int)type >= 0 && type < THERMOCOUPLES ? thermocouples[type].letter : "";
}

char *characteristic_text(const struct characteristic *c, char out[CHARACTERISTIC_TEXT_SIZE])
{
	struct words w = words_begin_sized(out, CHARACTERISTIC_TEXT_SIZE);

	switch (c->kind) {
	case CHARACTERISTIC_LINEAR:
		say(&w, "linear");
		break;
	case CHARACTERISTIC_SQUARE_ROOT:
		say(&w, "square root");
		if (c->cutoff > 0)
			say_with(&w, ", cut-off ", c->cutoff, " % of span");
		break;
	case CHARACTERISTIC_RTD:
		say_with(&w, "Pt", c->r0, " (IEC 60751)");
		break;
	case CHARACTERISTIC_CALLENDAR_VAN_DUSEN:
		say_with(&w, "Callendar\xe2\x80\x93Van Dusen, R0 = ", c->r0, " ohm");
		break;
	case CHARACTERISTIC_THERMOCOUPLE:
		say(&w, "thermocouple type ");
		say(&w, thermocouple_letter(c->type));
		say(&w, " (IEC 60584-1)");
		break;
	case CHARACTERISTIC_EQUAL_PERCENTAGE:
		say_with(&w,
			 c->linear_below > 0 ? "modified equal percentage, rangeability " :
					       "equal percentage, rangeability ",
			 c->rangeability, "");
		if (c->linear_below > 0)
			say_with(&w, ", straight below ", c->linear_below, " % of travel");
		break;
	case CHARACTERISTIC_TABLE:
		say_with(&w, "table of ", c->n_points,
			 c->interpolation == INTERPOLATION_MONOTONE_CUBIC ? " points, monotone cubic between them" :
									    " points, straight between them");
		break;
	case CHARACTERISTIC_POLYNOMIAL:
		say_with(&w, "polynomial of order ", c->n_coefficients - 1, "");
		break;
	default:
		break;
	}
	return out;
}
