/* The source of a channel: from JSON to what server/field takes. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "domain/channel.h"
#include "domain/spec_json.h"

#define VALUE_MOST 1e9

static const char *const protocol_words[] = {"hart_ip_udp", "hart_ip_tcp", "hart_serial", "hart_browser",
					     "scpi",	    "modbus_tcp",  "modbus_rtu",  NULL};
static const char *const variable_words[] = {"pv", "sv", "tv", "qv", "current", "percent", NULL};
static const char *const variable_names[] = {"primary variable",    "secondary variable", "tertiary variable",
					     "quaternary variable", "loop current",	  "percent of range"};
static const char *const register_words[] = {"holding", "input", NULL};
static const char *const format_words[] = {"f32-abcd", "f32-cdab", "f32-badc", "f32-dcba", "i16", "u16",
					   "i32-abcd", "i32-cdab", "u32-abcd", "u32-cdab", NULL};
static const char *const parity_words[] = {"none", "even", "odd", NULL};
static const int bauds[] = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200};

const char *field_protocol_word(enum field_protocol p)
{
	return (unsigned)p < FIELD_PROTOCOLS ? protocol_words[p] : NULL;
}

static void keep(char *out, size_t size, const char *text)
{
	snprintf(out, size, "%s", text ? text : "");
}

static bool is_host(const char *s)
{
	return strspn(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-:_") == strlen(s);
}

static void read_network(struct json_in *in, struct field_config *out)
{
	const char *host = json_in_text(in, "host", sizeof out->host - 1);

	if (!is_host(host))
		json_in_reject(in, "host", "this is no name or address of a device");
	keep(out->host, sizeof out->host, host);
	out->port = json_in_integer_optional(in, "port", 1, 65535, 0);
}

static bool is_baud(int baud)
{
	for (size_t i = 0; i < sizeof bauds / sizeof *bauds; i++)
		if (bauds[i] == baud)
			return true;
	return false;
}

static void read_port(struct json_in *in, struct field_config *out)
{
	const char *device = json_in_text(in, "device", sizeof out->device - 1);
	int parity;

	if (strncmp(device, "/dev/", 5) != 0 || strstr(device, ".."))
		json_in_reject(in, "device", "a serial port is named like /dev/ttyUSB0");
	keep(out->device, sizeof out->device, device);
	if (out->protocol == FIELD_HART_SERIAL)
		return;
	out->baud = json_in_integer_optional(in, "baud", 1200, 115200, 9600);
	if (!is_baud(out->baud))
		json_in_reject(in, "baud", "serial ports do not run at %d baud", out->baud);
	parity = json_in_word_optional(in, "parity", parity_words, 1);
	out->parity = "NEO"[parity < 0 ? 1 : parity];
}

static void read_hart(struct json_in *in, struct field_config *out)
{
	int variable = json_in_word(in, "variable", variable_words);

	out->address = json_in_integer_optional(in, "address", 0, 63, 0);
	keep(out->variable, sizeof out->variable, variable < 0 ? "" : variable_words[variable]);
}

/* One %s and no other: the text goes through printf. */
static bool takes_one_number(const char *set)
{
	const char *at = strchr(set, '%');

	return at && at[1] == 's' && !strchr(at + 2, '%');
}

static void read_factor(struct json_in *in, const char *name, double *out)
{
	*out = json_in_number_optional(in, name, -VALUE_MOST, VALUE_MOST, 1);
	if (*out == 0)
		json_in_reject(in, name, "a factor of 0 says nothing");
}

static void read_scpi(struct json_in *in, struct field_config *out)
{
	const char *set;

	keep(out->query, sizeof out->query, json_in_text(in, "query", sizeof out->query - 1));
	if (!strchr(out->query, '?'))
		json_in_reject(in, "query", "a query has a question mark; nothing else is sent to read a value");
	read_factor(in, "read_factor", &out->read_factor);
	set = json_in_text_optional(in, "set", sizeof out->set - 1);
	if (set && !takes_one_number(set))
		json_in_reject(in, "set", "the command holds %%s once, where the number goes");
	keep(out->set, sizeof out->set, set);
	read_factor(in, "set_factor", &out->set_factor);
}

static void read_scale(struct json_in *in, struct field_config *out)
{
	struct json_in scale;

	if (!json_in_has(in, "scale") || !json_in_object(in, "scale", &scale))
		return;
	out->raw_low = json_in_number(&scale, "raw_low", -VALUE_MOST * 10, VALUE_MOST * 10);
	out->raw_high = json_in_number(&scale, "raw_high", -VALUE_MOST * 10, VALUE_MOST * 10);
	out->low = json_in_number(&scale, "low", -VALUE_MOST, VALUE_MOST);
	out->high = json_in_number(&scale, "high", -VALUE_MOST, VALUE_MOST);
	if (!scale.rc && (out->raw_low == out->raw_high || out->low == out->high))
		json_in_reject(&scale, out->low == out->high ? "high" : "raw_high",
			       "both ends of a scale are the same");
	json_in_end(&scale);
	json_in_join(in, &scale);
}

static void read_modbus(struct json_in *in, struct field_config *out)
{
	int registers = json_in_word_optional(in, "registers", register_words, 0);
	int format = json_in_word(in, "format", format_words);
	const char *word = format < 0 ? "" : format_words[format];
	int last = strstr(word, "32") ? 65534 : 65535; /* two registers, or one */

	/* On a line, 0 speaks to all and none of them answers. */
	out->address = json_in_integer_optional(in, "address", out->protocol == FIELD_MODBUS_RTU, 247, 1);
	out->function = registers == 1 ? 4 : 3;
	out->reg = json_in_integer(in, "register", 0, last);
	keep(out->format, sizeof out->format, word);
	if (word[0] == 'f' && json_in_has(in, "scale"))
		json_in_reject(in, "scale", "only whole numbers are scaled");
	read_scale(in, out);
	out->set_reg = json_in_integer_optional(in, "set_register", 0, last, -1);
}

static bool can_be_driven(const struct field_config *c)
{
	return c->set[0] || ((c->protocol == FIELD_MODBUS_TCP || c->protocol == FIELD_MODBUS_RTU) && c->set_reg >= 0);
}

static void read_drive(struct json_in *in, struct field_config *out)
{
	struct json_in drive;

	if (!json_in_has(in, "drive") || !json_in_object(in, "drive", &drive))
		return;
	if (!can_be_driven(out))
		json_in_reject(in, "drive", "without a command or register to set, nothing can be driven");
	out->drivable = true;
	out->drive_low = json_in_number(&drive, "low", -VALUE_MOST, VALUE_MOST);
	out->drive_high = json_in_number(&drive, "high", -VALUE_MOST, VALUE_MOST);
	out->safe = json_in_number(&drive, "safe", -VALUE_MOST, VALUE_MOST);
	if (!drive.rc && out->drive_low >= out->drive_high)
		json_in_reject(&drive, "high", "the upper limit lies above the lower one");
	if (!drive.rc && (out->safe < out->drive_low || out->safe > out->drive_high))
		json_in_reject(&drive, "safe", "the safe value lies within the limits");
	json_in_end(&drive);
	json_in_join(in, &drive);
}

void channel_source_read(struct json_in *in, struct field_config *out)
{
	int protocol = json_in_word(in, "protocol", protocol_words);

	*out = (struct field_config){.protocol = protocol < 0 ? FIELD_SCPI : (enum field_protocol)protocol,
				     .set_reg = -1};
	if (protocol < 0)
		return;
	if (out->protocol == FIELD_HART_SERIAL || out->protocol == FIELD_MODBUS_RTU)
		read_port(in, out);
	else if (out->protocol != FIELD_HART_BROWSER)
		read_network(in, out);
	if (out->protocol <= FIELD_HART_BROWSER)
		read_hart(in, out);
	else if (out->protocol == FIELD_SCPI)
		read_scpi(in, out);
	else
		read_modbus(in, out);
	keep(out->unit, sizeof out->unit, unit_read(in, "unit"));
	out->timeout_ms = json_in_integer_optional(in, "timeout_ms", 50, 10000, 1000);
	read_drive(in, out);
}

static const char *variable_name(const char *word)
{
	for (size_t i = 0; variable_words[i]; i++)
		if (!strcmp(variable_words[i], word))
			return variable_names[i];
	return word;
}

void channel_words(const struct field_config *c, char *out, size_t size)
{
	static const char *const names[] = {"HART-IP", "HART-IP", "HART"};
	const char *where = c->device[0] ? c->device : c->host;

	if (c->protocol == FIELD_HART_BROWSER)
		snprintf(out, size, "HART modem at a browser, %s", variable_name(c->variable));
	else if (c->protocol <= FIELD_HART_SERIAL)
		snprintf(out, size, "%s %s, %s", names[c->protocol], where, variable_name(c->variable));
	else if (c->protocol == FIELD_SCPI)
		snprintf(out, size, "SCPI %s, %s", where, c->query);
	else
		snprintf(out, size, "Modbus %s, unit %d, register %d", where, c->address, c->reg);
}

json_t *channel_status_json(unsigned status)
{
	json_t *list = json_array();

	for (unsigned bit = 1; bit && bit <= status; bit <<= 1)
		if (status & bit && field_status_words((enum field_status)bit))
			json_array_append_new(list, json_string(field_status_words((enum field_status)bit)));
	return list;
}
