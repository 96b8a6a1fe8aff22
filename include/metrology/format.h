/*
 * Numbers as people read them, made once, here, so that screen, PDF and JSON never round differently.
 *
 * A value is first taken to its nearest 15-digit decimal, so that 1.005 is the 1.005 that was typed and not the binary
 * number a little below it, and then rounded half away from zero (ISO 80000-1:2009, B.3 rule B).
 */
#ifndef METROLOGY_FORMAT_H
#define METROLOGY_FORMAT_H

#include <stdbool.h>
#include <stddef.h>

#define NUMBER_TEXT_SIZE 48

/* "12.00", "-0.35" with the true minus sign U+2212; plus writes "+" before a positive number; -0.00 is "0.00".
 * decimals 0..9. A value that is not finite, or is beyond 1e15, gives an en dash. Returns out. */
char *format_number(double value, int decimals, bool plus, char out[NUMBER_TEXT_SIZE]);

/* How many decimals a typed number has: "12.00" -> 2; -1 when the text is no plain decimal number. Comma or point. */
int decimals_of_text(const char *text);

/* The value rounded to this many decimals by the same rule. */
double round_decimals(double value, int decimals);

/* Decimals that show a step of this size with two digits: 0.048 -> 3, 3 -> 1, 120 -> 0. Range 0..9. */
int decimals_for(double step);

#endif
