/*
 * The device side of SCPI: a current source and a current meter as a line of text sees them. An unknown header brings no reply
 * and queues -113, as SCPI-99 wants it. Levels are in amperes.
 */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "field/source.h"
#include "sim.h"

#define LINE_SIZE 256

struct ask {
	struct sim_device *device;
	struct sim_session *session;
	char *out;
	size_t room, used;
	bool answered; /* on this line: a semicolon comes before the next answer */
};

/* The kind of error as a bit of the event status: IEEE 488.2 11.5.1, command 32, execution 16, device 8 (from memory). */
static void queue_error(struct sim_session *s, unsigned number)
{
	s->events |= number < 200 ? 32 : number < 300 ? 16 : 8;
	if (s->error_count < sizeof s->errors / sizeof *s->errors)
		s->errors[s->error_count++] = number;
	else
		s->errors[s->error_count - 1] = 350; /* queue overflow */
}

static void reply(struct ask *a, const char *text)
{
	int n = snprintf(a->out + a->used, a->room - a->used, "%s%s", a->answered ? ";" : "", text);

	if (n > 0 && (size_t)n < a->room - a->used)
		a->used += (size_t)n;
	a->answered = true;
}

/* ---- headers: "[SOURce:]CURRent[:LEVel]" against what was sent, short or long form of each word ---- */

static bool word_fits(const char *pattern, size_t length, const char *text, size_t size)
{
	size_t capitals = 0;

	while (capitals < length && !islower((unsigned char)pattern[capitals]))
		capitals++;
	return (size == length || size == capitals) && !strncasecmp(pattern, text, size);
}

/* node: "SOURce" or "[SOURce]"; what is left of the pattern and the text is matched by the next. */
static bool header_fits(const char *pattern, const char *text)
{
	bool optional = *pattern == '[';
	const char *word = pattern + optional, *rest;
	size_t length = strcspn(word, ":]"), size = strcspn(text, ":");

	if (!*pattern)
		return !*text;
	rest = word + length;
	rest += *rest == ']';
	rest += *rest == ':';
	if (word_fits(word, length, text, size) && header_fits(rest, text + size + (text[size] == ':')))
		return true;
	return optional && header_fits(rest, text);
}

/* ---- what it knows ---- */

static void identify(struct ask *a)
{
	const struct sim_device *d = a->device;
	char text[200];

	snprintf(text, sizeof text, "%s,%s,%s,%s", d->maker, d->model, d->serial, d->revision);
	reply(a, text);
}

static void next_error(struct ask *a)
{
	struct sim_session *s = a->session;
	char text[80];
	unsigned number;

	if (s->error_count == 0) {
		reply(a, "0,\"No error\"");
		return;
	}
	number = s->errors[0];
	memmove(s->errors, s->errors + 1, --s->error_count * sizeof *s->errors);
	snprintf(text, sizeof text, "-%u,\"%s\"", number,
		 number == 113 ? "Undefined header" :
		 number == 222 ? "Data out of range" :
		 number == 104 ? "Data type error" :
				 "Queue overflow");
	reply(a, text);
}

static void tell_number(struct ask *a, size_t number)
{
	char text[24];

	snprintf(text, sizeof text, "%zu", number);
	reply(a, text);
}

static void measure(struct ask *a)
{
	struct sim_value v = {.value = NAN};
	char text[40];

	if (!a->device->read(a->device->plant, "current", &v)) {
		queue_error(a->session, 113);
		return;
	}
	if (v.status & FIELD_OVERLOAD)
		snprintf(text, sizeof text, "9.9E37");
	else if (!isfinite(v.value))
		snprintf(text, sizeof text, "9.91E37");
	else
		snprintf(text, sizeof text, "%+.8E", v.value / 1000);
	reply(a, text);
}

/* A number, or ON and OFF. */
static bool read_argument(const char *text, double *v)
{
	char *end;

	if (!strcasecmp(text, "ON") || !strcasecmp(text, "OFF")) {
		*v = text[1] == 'n' || text[1] == 'N';
		return true;
	}
	*v = strtod(text, &end);
	return *text && !*end;
}

static void set(struct ask *a, const char *what, const char *argument, double factor)
{
	double v;

	if (!read_argument(argument, &v))
		queue_error(a->session, 104);
	else if (!a->device->set(a->device->plant, what, v * factor))
		queue_error(a->session, 222);
}

static void tell(struct ask *a, const char *what, double factor)
{
	struct sim_value v = {.value = NAN};
	char text[40];

	if (!a->device->read(a->device->plant, what, &v)) {
		queue_error(a->session, 113);
		return;
	}
	snprintf(text, sizeof text, "%.8G", v.value * factor);
	reply(a, text);
}

static bool takes(const struct ask *a, const char *what)
{
	struct sim_value v;

	return a->device->read(a->device->plant, what, &v);
}

static bool common(struct ask *a, const char *header)
{
	if (!strcasecmp(header, "*IDN?"))
		identify(a);
	else if (!strcasecmp(header, "*OPC?"))
		reply(a, "1");
	else if (!strcasecmp(header, "*STB?") || !strcasecmp(header, "*TST?"))
		reply(a, "0");
	else if (!strcasecmp(header, "*ESR?")) {
		tell_number(a, a->session->events);
		a->session->events = 0;
	} else if (!strcasecmp(header, "*CLS"))
		a->session->error_count = a->session->events = 0;
	else
		return false;
	return true;
}

static void command(struct ask *a, char *line)
{
	char *argument = line + strcspn(line, " \t"), *mark;
	bool query;

	if (*argument)
		*argument++ = '\0';
	argument += strspn(argument, " \t");
	if (common(a, line))
		return;
	if (*line == ':')
		line++;
	mark = strchr(line, '?');
	query = mark && !mark[1];
	if (query)
		*mark = '\0';
	if (query && header_fits("SYSTem:ERRor:[NEXT]", line))
		next_error(a);
	else if (query && header_fits("SYSTem:ERRor:COUNt", line))
		tell_number(a, a->session->error_count);
	else if (query && header_fits("SYSTem:VERSion", line))
		reply(a, "1999.0");
	else if (query && (header_fits("MEASure:[SCALar]:CURRent:[DC]", line) || header_fits("READ", line) ||
			   header_fits("FETCh", line)))
		measure(a);
	else if (takes(a, "output") && header_fits("[SOURce]:CURRent:[LEVel]:[IMMediate]:[AMPLitude]", line))
		query ? tell(a, "current", 0.001) : set(a, "current", argument, 1000);
	else if (takes(a, "output") && header_fits("OUTPut:[STATe]", line))
		query ? tell(a, "output", 1) : set(a, "output", argument, 1);
	else
		queue_error(a->session, 113);
}

long sim_scpi_answer(struct sim_device *device, struct sim_session *session, const uint8_t *in, size_t size,
		     uint8_t *out, size_t room, size_t *out_size)
{
	const uint8_t *end = memchr(in, '\n', size);
	struct ask a = {device, session, (char *)out, room, 0, false};
	char line[LINE_SIZE], *rest = line, *one;
	size_t length = end ? (size_t)(end - in) : 0;

	*out_size = 0;
	if (!end)
		return size >= LINE_SIZE ? -1 : 0;
	if (length >= LINE_SIZE)
		return -1;
	memcpy(line, in, length);
	line[length] = '\0';
	line[strcspn(line, "\r")] = '\0';
	while ((one = strsep(&rest, ";")))
		if (*one)
			command(&a, one);
	if (a.answered && a.used + 2 <= room) {
		out[a.used] = (uint8_t)0x0d;
		out[a.used + 1] = (uint8_t)0x0a;
		a.used += 2;
	}
	*out_size = a.used;
	return (long)length + 1;
}
