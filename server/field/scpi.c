/*
 * SCPI over TCP (the usual port is 5025). Reading sends queries and nothing else; a source is driven by the one command of its
 * configuration, after the error queue was emptied and before it is read again, so that a refusal is the command's own.
 */
#include "scpi.h"

#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "driver.h"
#include "wire.h"

#define LINE_MAX_SIZE 512
#define ERRORS_MAX    20 /* entries read before a queue is given up that never ends */

struct link {
	struct wire_address to;
	int fd;			 /* -1: not connected */
	char who[LINE_MAX_SIZE]; /* what it said to *IDN? at the first connection */
};

/* ---- text ---- */

static bool only_number(const char *s)
{
	return strspn(s, "+-.0123456789eE") == strlen(s) && strpbrk(s, "0123456789");
}

bool scpi_number(const char *text, double *value, unsigned *status)
{
	char copy[64], *end;
	size_t length;
	double v;

	while (*text == ' ' || *text == '\t')
		text++;
	length = strcspn(text, " \t");
	if (length == 0 || length >= sizeof copy || text[length + strspn(text + length, " \t")])
		return false;
	memcpy(copy, text, length);
	copy[length] = '\0';
	if (!only_number(copy))
		return false;
	v = strtod(copy, &end);
	if (!isfinite(v) || *end)
		return false;
	*status = 0;
	*value = v;
	if (fabs(v) >= 9.9e37) {
		*status = fabs(v) > 9.905e37 ? FIELD_BAD : FIELD_OVERLOAD;
		*value = NAN;
	}
	return true;
}

bool scpi_error(const char *text, int *number, char *words, size_t size)
{
	char *end;
	long n = strtol(text, &end, 10);
	size_t at = 0;

	if (end == text || n < -32768 || n > 32767 || end[0] != ',' || end[1] != '"')
		return false;
	for (end += 2; *end && !(*end == '"' && end[1] != '"'); end++) {
		if (*end == '"')
			end++;
		if (at + 1 < size)
			words[at++] = *end;
	}
	words[at] = '\0';
	*number = (int)n;
	return *end == '"' && !end[1];
}

static void take_field(const char **at, char *out, size_t size)
{
	size_t length = strcspn(*at, ",");

	snprintf(out, size, "%.*s", (int)length, *at);
	*at += length + ((*at)[length] == ',');
}

bool scpi_identity(const char *text, struct field_identity *out)
{
	const char *at = text;
	int commas = 0;

	for (const char *p = text; *p; p++)
		commas += *p == ',';
	if (commas != 3)
		return false;
	*out = (struct field_identity){0};
	take_field(&at, out->maker, sizeof out->maker);
	take_field(&at, out->model, sizeof out->model);
	take_field(&at, out->serial, sizeof out->serial);
	take_field(&at, out->revision, sizeof out->revision);
	snprintf(out->device_id, sizeof out->device_id, "%.39s",
		 *out->serial && strcmp(out->serial, "0") != 0 ? out->serial : out->model);
	return true;
}

/* ---- lines ---- */

static int64_t deadline_of(const struct field_source *s)
{
	return wire_now_ms() + s->config.timeout_ms;
}

static void hang_up(struct link *l)
{
	if (l->fd >= 0)
		close(l->fd);
	l->fd = -1;
}

/* One line without its end. A line that is too long, or a NUL in it, is no answer of an instrument. */
static enum status receive_line(struct field_source *s, char line[LINE_MAX_SIZE], int64_t deadline, struct err *err)
{
	struct link *l = s->link;
	size_t n = 0, got;

	for (;;) {
		enum status rc = wire_receive(l->fd, line + n, 1, &got, deadline, err);

		if (rc)
			return rc;
		if (line[n] == '\n')
			break;
		if (line[n] == '\0' || ++n == LINE_MAX_SIZE - 1)
			return err_set(err, FAILED, "", "%s does not answer in lines", s->config.host);
	}
	while (n > 0 && (line[n - 1] == '\r' || line[n - 1] == ' '))
		n--;
	line[n] = '\0';
	return OK;
}

static enum status send_line(struct field_source *s, const char *text, int64_t deadline, struct err *err)
{
	struct link *l = s->link;
	char line[LINE_MAX_SIZE];
	int size = snprintf(line, sizeof line, "%s\n", text);

	return wire_send(l->fd, line, (size_t)size, deadline, err);
}

static enum status exchange(struct field_source *s, const char *query, char answer[LINE_MAX_SIZE], struct err *err)
{
	int64_t deadline = deadline_of(s);
	enum status rc = send_line(s, query, deadline, err);

	return rc ? rc : receive_line(s, answer, deadline, err);
}

/* An address may have become another instrument's while the connection was broken. */
static enum status same_instrument(struct field_source *s, struct err *err)
{
	struct link *l = s->link;
	char who[LINE_MAX_SIZE];
	enum status rc = exchange(s, "*IDN?", who, err);

	if (rc)
		return rc;
	if (*l->who && strcmp(l->who, who) != 0)
		return err_set(err, BUSY, "", "another instrument answers at %s: %.100s", s->config.host, who);
	memcpy(l->who, who, sizeof who);
	return OK;
}

/* What has come that nobody asked for is no answer to the next question; nor is an end. */
static enum status connected(struct field_source *s, struct err *err)
{
	struct link *l = s->link;
	enum status rc;

	if (l->fd >= 0 && wire_wait(l->fd, POLLIN, wire_now_ms()) == 0)
		return OK;
	hang_up(l);
	rc = wire_connect(&l->fd, &l->to, deadline_of(s), err);
	if (!rc)
		rc = same_instrument(s, err);
	if (rc)
		hang_up(l);
	return rc;
}

static enum status ask(struct field_source *s, const char *query, char answer[LINE_MAX_SIZE], struct err *err)
{
	enum status rc = connected(s, err);

	return rc ? rc : exchange(s, query, answer, err);
}

/* Empties the error queue on the connection as it is: another one would know nothing of a command that was lost with this one.
 * *first is the oldest entry, "" when there was none. */
static enum status read_errors(struct field_source *s, char *first, size_t size, struct err *err)
{
	char line[LINE_MAX_SIZE], words[256];
	int number = 0;

	*first = '\0';
	for (int i = 0; i < ERRORS_MAX; i++) {
		enum status rc = exchange(s, "SYST:ERR?", line, err);

		if (rc)
			return rc;
		if (!scpi_error(line, &number, words, sizeof words))
			return err_set(err, FAILED, "", "%s does not say what went wrong: %.100s", s->config.host,
				       line);
		if (number == 0)
			return OK;
		if (!*first)
			snprintf(first, size, "%d, %s", number, words);
	}
	return OK;
}

/* A query that nothing answers is explained by the error queue, if that can be read (an unknown header brings no reply). Whatever
 * comes late must not be taken for the next answer, so the connection ends here. */
static enum status unanswered(struct field_source *s, const char *query, struct err *err)
{
	struct err why = {0};
	char first[300];

	if (!read_errors(s, first, sizeof first, &why) && *first)
		err_set(err, FAILED, "", "%s does not know %s: %s", s->config.host, query, first);
	hang_up(s->link);
	return err->status;
}

static enum status query(struct field_source *s, const char *text, char answer[LINE_MAX_SIZE], struct err *err)
{
	struct link *l = s->link;
	bool fresh = l->fd < 0;
	enum status rc = ask(s, text, answer, err);

	if (rc == BUSY && !fresh) { /* the connection may have ended while nothing was asked: once more on a new one */
		hang_up(l);
		rc = ask(s, text, answer, err);
	}
	if (rc == BUSY && l->fd >= 0)
		return unanswered(s, text, err);
	if (rc)
		hang_up(l);
	return rc;
}

/* ---- the driver ---- */

static enum status scpi_check(const struct field_config *c, struct err *err)
{
	const char *at = strchr(c->set, '%');

	if (!strchr(c->query, '?'))
		return err_set(err, INVALID, "/query",
			       "a query has a question mark; nothing else is sent to read a value");
	if (strchr(c->query, ';'))
		return err_set(err, INVALID, "/query", "one query, without a semicolon");
	if (*c->set && (!at || at[1] != 's' || strchr(at + 1, '%')))
		return err_set(err, INVALID, "/set", "the command holds %%s once, where the number goes");
	if (c->drivable && !*c->set)
		return err_set(err, INVALID, "/set", "without a command nothing can be driven");
	return OK;
}

static enum status scpi_open(struct field_source *s, struct err *err)
{
	struct link *l = calloc(1, sizeof *l);
	enum status rc;

	if (!l)
		return err_set(err, NO_MEMORY, "", "out of memory");
	l->fd = -1;
	s->link = l;
	rc = wire_resolve(&l->to, s->config.host, s->config.port, SOCK_STREAM, err);
	if (!rc)
		rc = connected(s, err);
	if (rc) {
		free(l);
		s->link = NULL;
	}
	return rc;
}

static int64_t wall_ms(void)
{
	struct timespec t;

	clock_gettime(CLOCK_REALTIME, &t);
	return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

static enum status scpi_read(struct field_source *s, struct field_reading *out, struct err *err)
{
	char line[LINE_MAX_SIZE];
	double factor = s->config.read_factor != 0 ? s->config.read_factor : 1;
	enum status rc = query(s, s->config.query, line, err);

	if (rc)
		return rc;
	if (!scpi_number(line, &out->value, &out->status)) {
		hang_up(s->link);
		return err_set(err, FAILED, "", "%s answers %.100s, which is no number", s->config.host, line);
	}
	out->value *= factor;
	out->at_ms = wall_ms();
	snprintf(out->unit, sizeof out->unit, "%s", s->config.unit);
	snprintf(out->raw, sizeof out->raw, "%.255s", line);
	return OK;
}

static enum status scpi_identify(struct field_source *s, struct field_identity *out, struct err *err)
{
	char line[LINE_MAX_SIZE];
	enum status rc = query(s, "*IDN?", line, err);

	if (!rc && !scpi_identity(line, out))
		rc = err_set(err, FAILED, "", "%s does not say who it is: %.100s", s->config.host, line);
	return rc;
}

static enum status send_level(struct field_source *s, double value, struct err *err)
{
	double factor = s->config.set_factor != 0 ? s->config.set_factor : 1;
	char number[32], command[sizeof s->config.set + sizeof number], first[300];
	const char *at = strchr(s->config.set, '%');
	enum status rc = connected(s, err);

	if (rc)
		return rc;
	snprintf(number, sizeof number, "%.9g", value * factor);
	snprintf(command, sizeof command, "%.*s%s%s", (int)(at - s->config.set), s->config.set, number, at + 2);
	rc = read_errors(s, first, sizeof first, err); /* what others left there */
	if (!rc)
		rc = send_line(s, command, deadline_of(s), err);
	if (!rc)
		rc = read_errors(s, first, sizeof first, err);
	if (!rc && *first)
		rc = err_set(err, FAILED, "", "%s refuses %s: %s", s->config.host, command, first);
	return rc;
}

static enum status scpi_drive(struct field_source *s, double value, struct err *err)
{
	struct link *l = s->link;
	bool fresh = l->fd < 0;
	enum status rc = send_level(s, value, err);

	if (rc == BUSY)
		hang_up(l);
	if (rc == BUSY && !fresh) {
		rc = send_level(s, value, err); /* the same level again does no harm */
		if (rc == BUSY)
			hang_up(l);
	}
	return rc;
}

static void scpi_close(struct field_source *s)
{
	hang_up(s->link);
	free(s->link);
}

const struct field_driver field_scpi = {
	.port = 5025,
	.check = scpi_check,
	.open = scpi_open,
	.read = scpi_read,
	.identify = scpi_identify,
	.drive = scpi_drive,
	.close = scpi_close,
};
