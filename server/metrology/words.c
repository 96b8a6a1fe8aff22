#include "words.h"

#include "metrology/diagnosis.h"
#include "metrology/format.h"
#include "number.h"

struct words words_begin_sized(char *out, size_t size)
{
	struct words w = {out, 0, size};

	*out = '\0';
	return w;
}

struct words words_begin(char *out)
{
	return words_begin_sized(out, SENTENCE_SIZE);
}

void say(struct words *w, const char *text)
{
	size_t length = 0;

	while (text[length] && w->used + length < w->size)
		length++;
	if (w->used + length >= w->size)
		return;
	for (size_t i = 0; i <= length; i++)
		w->out[w->used + i] = text[i];
	w->used += length;
}

void say_number(struct words *w, double value, int decimals, bool plus)
{
	char text[NUMBER_TEXT_SIZE];

	say(w, format_number(value, decimals, plus, text));
}

void say_quantity(struct words *w, double value, int decimals, const char *unit)
{
	say_number(w, value, decimals, false);
	say(w, " ");
	say(w, unit);
}

/* One decimal from 1 on, two from 0.01 on, three below; what even they do not show is 0.0. */
int percent_text_decimals(double value)
{
	double size = fabs(value);

	return size >= 1 || size < 0.0005 ? 1 : size >= 0.01 ? 2 : 3;
}

void say_percent(struct words *w, double value)
{
	say_number(w, fabs(value), percent_text_decimals(value), false);
	say(w, " % of span");
}
