/* Sentences put together piece by piece into a buffer; a piece that does not fit is left out whole. */
#ifndef METROLOGY_WORDS_H
#define METROLOGY_WORDS_H

#include <stdbool.h>
#include <stddef.h>

struct words {
	char *out;
	size_t used, size;
};

struct words words_begin(char *out); /* of SENTENCE_SIZE */
struct words words_begin_sized(char *out, size_t size);
void say(struct words *w, const char *text);
void say_number(struct words *w, double value, int decimals, bool plus);
void say_quantity(struct words *w, double value, int decimals, const char *unit); /* "0.19 mA" */
void say_percent(struct words *w, double value); /* "1.2 % of span", of the magnitude, two digits that say something */

int percent_text_decimals(double value); /* as many as say_percent() writes */

#endif
