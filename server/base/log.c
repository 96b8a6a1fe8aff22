#include "base/log.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/time.h"

/* The whole line goes out in one write, so lines of several threads do not mix, and a line break that came from outside
 * cannot pretend to be a line of ours. */
static void line(const char *level, const char *fmt, va_list ap) __attribute__((format(printf, 2, 0)));

static void line(const char *level, const char *fmt, va_list ap)
{
	char text[1024], when[TIME_TEXT_SIZE];
	size_t head, length;
	int n;

	time_to_text(time_now_ms(), when);
	n = snprintf(text, sizeof text, "%s %s ", when, level);
	head = n > 0 ? (size_t)n : 0;
	vsnprintf(text + head, sizeof text - head - 1, fmt, ap);
	length = strlen(text);
	for (size_t i = head; i < length; i++) {
		if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f)
			text[i] = ' ';
	}
	text[length++] = '\n';
	if (write(STDERR_FILENO, text, length) < 0)
		return; /* nowhere left to say so */
}

void log_info(const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	line("info", fmt, ap);
	va_end(ap);
}

void log_warn(const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	line("warning", fmt, ap);
	va_end(ap);
}

void log_error(const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	line("error", fmt, ap);
	va_end(ap);
}
