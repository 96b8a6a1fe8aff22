/* Shared by the JSON files of this room. */
#ifndef SERVER_BASE_JSON_INTERNAL_H
#define SERVER_BASE_JSON_INTERNAL_H

#include <stddef.h>

#define JSON_DEPTH_MAX 32

/*
 * A finite number as ECMAScript writes it (Number::toString, as RFC 8785 3.2.2.3 asks): the fewest digits that read back
 * as the same double, 1e+21 and 1e-7 with an exponent, 0.000001 without. out of 32 characters always suffices.
 */
#define JSON_NUMBER_SIZE 32
void json_number_shortest(double v, char out[JSON_NUMBER_SIZE]);

/*
 * The digits of the shortest form: value = 0.d1d2d3... * 10^exponent; v must be finite and not 0, its sign is left out.
 * Returns the number of digits, 1..17.
 */
int json_number_digits(double v, char digits[18], int *exponent);

#endif
