/* field: one reading of a device, for who checks a wiring. No plant is needed, and nothing is recorded. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "field/source.h"
#include "main.h"

#define USAGE \
	"loopledger field read PROTOCOL ADDRESS [WHAT] [OPTIONS], or loopledger field simulate; loopledger --help explains both"

static const struct {
	const char *name;
	enum field_protocol protocol;
	bool serial;
} protocols[] = {
	{"hart-udp", FIELD_HART_IP_UDP, false},	  {"hart-tcp", FIELD_HART_IP_TCP, false},
	{"hart-serial", FIELD_HART_SERIAL, true}, {"scpi", FIELD_SCPI, false},
	{"modbus-tcp", FIELD_MODBUS_TCP, false},  {"modbus-rtu", FIELD_MODBUS_RTU, true},
};

#define PROTOCOLS (sizeof protocols / sizeof *protocols)

/* ---- what is asked for ---- */

static enum status whole_number(const char *name, const char *text, long low, long high, int *out, struct err *err)
{
	char *end;
	long n = strtol(text, &end, 10);

	if (*text < '0' || *text > '9' || *end || n < low || n > high)
		return err_set(err, INVALID, "", "%s must be a whole number from %ld to %ld, not \"%s\"", name, low,
			       high, text);
	*out = (int)n;
	return OK;
}

static enum status copy(const char *name, const char *text, size_t length, char *out, size_t size, struct err *err)
{
	if (length == 0 || length >= size)
		return err_set(err, INVALID, "", "%s must have 1 to %zu characters", name, size - 1);
	memcpy(out, text, length);
	out[length] = '\0';
	return OK;
}

/* "10.0.0.5", "10.0.0.5:5094", "[::1]:5094", "::1" */
static enum status set_host(struct field_config *c, const char *text, struct err *err)
{
	const char *colon = strrchr(text, ':'), *bracket = strrchr(text, ']');
	size_t length = strlen(text);
	enum status rc;

	if (colon && (bracket ? colon > bracket : strchr(text, ':') == colon)) {
		rc = whole_number("the port after the colon", colon + 1, 1, 65535, &c->port, err);
		if (rc)
			return rc;
		length = (size_t)(colon - text);
	}
	if (text[0] == '[' && length >= 2 && text[length - 1] == ']')
		return copy("ADDRESS", text + 1, length - 2, c->host, sizeof c->host, err);
	return copy("ADDRESS", text, length, c->host, sizeof c->host, err);
}

static enum status set_address(struct field_config *c, const char *protocol, const char *text, struct err *err)
{
	for (size_t i = 0; i < PROTOCOLS; i++) {
		if (strcmp(protocols[i].name, protocol) != 0)
			continue;
		c->protocol = protocols[i].protocol;
		return protocols[i].serial ? copy("ADDRESS", text, strlen(text), c->device, sizeof c->device, err) :
					     set_host(c, text, err);
	}
	return err_set(err, INVALID, "",
		       "PROTOCOL is hart-udp, hart-tcp, hart-serial, scpi, modbus-tcp or modbus-rtu, not \"%s\"",
		       protocol);
}

static bool is_modbus(const struct field_config *c)
{
	return c->protocol == FIELD_MODBUS_TCP || c->protocol == FIELD_MODBUS_RTU;
}

static enum status set_what(struct field_config *c, const char *what, struct err *err)
{
	if (is_modbus(c))
		return whole_number("the register", what ? what : "0", 0, 65535, &c->reg, err);
	if (c->protocol == FIELD_SCPI)
		return what ? copy("WHAT", what, strlen(what), c->query, sizeof c->query, err) :
			      copy("WHAT", "MEAS:CURR:DC?", 13, c->query, sizeof c->query, err);
	return what ? copy("WHAT", what, strlen(what), c->variable, sizeof c->variable, err) :
		      copy("WHAT", "pv", 2, c->variable, sizeof c->variable, err);
}

static enum status set_parity(struct field_config *c, const char *value, struct err *err)
{
	if (strlen(value) != 1 || !strchr("NEO", *value))
		return err_set(err, INVALID, "", "--parity is N, E or O, not \"%s\"", value);
	c->parity = *value;
	return OK;
}

static enum status set_factor(struct field_config *c, const char *value, struct err *err)
{
	char *end;

	c->read_factor = strtod(value, &end);
	if (end == value || *end || !isfinite(c->read_factor) || c->read_factor == 0)
		return err_set(err, INVALID, "", "--factor must be a number other than 0, not \"%s\"", value);
	return OK;
}

/* "0,27648,0,100": both ends as counts, then in the unit. */
static enum status set_scale(struct field_config *c, const char *value, struct err *err)
{
	double *const ends[] = {&c->raw_low, &c->raw_high, &c->low, &c->high};
	const char *at = value;

	for (int i = 0; i < 4; i++) {
		char *end;

		*ends[i] = strtod(at, &end);
		if (end == at || !isfinite(*ends[i]) || *end != (i < 3 ? ',' : '\0'))
			return err_set(err, INVALID, "", "--scale is RAW_LOW,RAW_HIGH,LOW,HIGH, not \"%s\"", value);
		at = end + 1;
	}
	return OK;
}

static enum status set_option(struct field_config *c, const char *name, const char *value, struct err *err)
{
	if (!strcmp(name, "--unit"))
		return copy(name, value, strlen(value), c->unit, sizeof c->unit, err);
	if (!strcmp(name, "--format"))
		return copy(name, value, strlen(value), c->format, sizeof c->format, err);
	if (!strcmp(name, "--address"))
		return whole_number(name, value, 0, 247, &c->address, err);
	if (!strcmp(name, "--function"))
		return whole_number(name, value, 3, 4, &c->function, err);
	if (!strcmp(name, "--timeout"))
		return whole_number(name, value, 1, 60000, &c->timeout_ms, err);
	if (!strcmp(name, "--baud"))
		return whole_number(name, value, 300, 921600, &c->baud, err);
	if (!strcmp(name, "--parity"))
		return set_parity(c, value, err);
	if (!strcmp(name, "--factor"))
		return set_factor(c, value, err);
	if (!strcmp(name, "--scale"))
		return set_scale(c, value, err);
	return err_set(err, INVALID, "", "field read has no option %s; loopledger --help lists them", name);
}

static enum status understand(struct field_config *c, int n, char **words, struct err *err)
{
	const char *plain[3] = {"", "", NULL};
	int plains = 0;
	enum status rc = OK;

	*c = (struct field_config){.set_reg = -1, .address = -1};
	for (int i = 0; i < n && !rc; i++) {
		if (strncmp(words[i], "--", 2) != 0 && plains < 3)
			plain[plains++] = words[i];
		else if (strncmp(words[i], "--", 2) != 0)
			rc = err_set(err, INVALID, "", "too many words: %s", words[i]);
		else if (i + 1 == n)
			rc = err_set(err, INVALID, "", "%s needs a value", words[i]);
		else {
			rc = set_option(c, words[i], words[i + 1], err);
			i++;
		}
	}
	if (!rc && plains < 2)
		rc = err_set(err, INVALID, "", USAGE);
	if (!rc)
		rc = set_address(c, plain[0], plain[1], err);
	if (c->address < 0)
		c->address = is_modbus(c);
	if (!rc && is_modbus(c) && !*c->format)
		rc = copy("--format", "f32-abcd", 8, c->format, sizeof c->format, err);
	return rc ? rc : set_what(c, plain[2], err);
}

/* ---- what the device says ---- */

static void print_status(unsigned status)
{
	if (!status)
		puts("status   good");
	for (unsigned bit = 1; bit <= FIELD_MORE; bit <<= 1) {
		const char *words = status & bit ? field_status_words((enum field_status)bit) : NULL;

		if (words)
			printf("status   %s%s\n", words, bit & FIELD_BLOCKS ? " (such a value is not recorded)" : "");
	}
}

static void print_reading(const struct field_reading *r)
{
	if (isnan(r->value))
		puts("value    none: the device gave no number");
	else
		printf("value    %.7g%s%s\n", r->value, *r->unit ? " " : "", r->unit);
	print_status(r->status);
	printf("answer   %s\n", r->raw);
}

static void print_identity(const struct field_identity *i)
{
	const struct {
		const char *name, *text;
	} rows[] = {{"tag", i->tag},	   {"maker", i->maker},	      {"model", i->model},
		    {"serial", i->serial}, {"revision", i->revision}, {"device", i->device_id}};

	for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
		if (*rows[k].text)
			printf("%-8s %s\n", rows[k].name, rows[k].text);
	}
}

static int field_read_once(int n, char **words)
{
	struct field_config config;
	struct field_source *source = NULL;
	struct field_identity identity;
	struct field_reading reading;
	struct err err = {0};
	enum status rc = understand(&config, n, words, &err);

	if (!rc)
		rc = field_open(&source, &config, &err);
	if (!rc)
		rc = field_read(source, &reading, &err);
	if (!rc) {
		struct err unknown = {0};

		print_reading(&reading);
		/* Not every device can say who it is; the value stands without. */
		if (!field_identify(source, &identity, &unknown))
			print_identity(&identity);
	}
	field_close(source);
	return rc ? main_fail(&err) : EXIT_SUCCESS;
}

int main_field(int n, char **words)
{
	struct err err = {0};

	if (n >= 1 && !strcmp(words[0], "read"))
		return field_read_once(n - 1, words + 1);
	if (n >= 1 && !strcmp(words[0], "simulate"))
		return main_field_simulate(n - 1, words + 1);
	err_set(&err, INVALID, "", USAGE);
	return main_fail(&err);
}
