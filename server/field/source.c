/* One interface for all protocols: what is the same for each is judged here, before its driver is called. */
#include "field/source.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "driver.h"

/* NULL: not built in. */
static const struct field_driver *const drivers[FIELD_PROTOCOLS] = {
	[FIELD_HART_IP_UDP] = &field_hart_ip,	  [FIELD_HART_IP_TCP] = &field_hart_ip,
	[FIELD_HART_SERIAL] = &field_hart_serial, [FIELD_SCPI] = &field_scpi,
	[FIELD_MODBUS_TCP] = &field_modbus_tcp,	  [FIELD_MODBUS_RTU] = &field_modbus_rtu,
};

static bool ends(const char *text, size_t size)
{
	return memchr(text, 0, size) != NULL;
}

static enum status check_text(const struct field_config *c, struct err *err)
{
	const struct {
		const char *name, *text;
		size_t size;
	} rows[] = {
		{"/host", c->host, sizeof c->host},
		{"/device", c->device, sizeof c->device},
		{"/variable", c->variable, sizeof c->variable},
		{"/query", c->query, sizeof c->query},
		{"/unit", c->unit, sizeof c->unit},
		{"/set", c->set, sizeof c->set},
		{"/format", c->format, sizeof c->format},
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		if (!ends(rows[i].text, rows[i].size))
			return err_set(err, INVALID, rows[i].name, "too long");
		for (const char *p = rows[i].text; *p; p++) {
			if ((unsigned char)*p < ' ' || *p == 0x7f)
				return err_set(err, INVALID, rows[i].name, "control characters are not allowed here");
		}
	}
	return OK;
}

static enum status check_drive(const struct field_driver *driver, const struct field_config *c, struct err *err)
{
	if (!c->drivable)
		return OK;
	if (!driver->drive)
		return err_set(err, INVALID, "/drivable", "this protocol only reads; it cannot be driven");
	if (!isfinite(c->drive_low) || !isfinite(c->drive_high) || c->drive_low >= c->drive_high)
		return err_set(err, INVALID, "/drive_high", "driving needs a lower and a higher limit");
	if (!isfinite(c->safe) || c->safe < c->drive_low || c->safe > c->drive_high)
		return err_set(err, INVALID, "/safe", "the safe value must lie within the limits of driving");
	return OK;
}

static enum status check(const struct field_driver *driver, const struct field_config *c, struct err *err)
{
	enum status rc = check_text(c, err);

	if (rc)
		return rc;
	if (c->port < 0 || c->port > 65535)
		return err_set(err, INVALID, "/port", "a port is 1 to 65535");
	if (driver->port && !*c->host)
		return err_set(err, INVALID, "/host", "a name or an address is needed");
	if (!driver->port && !*c->device)
		return err_set(err, INVALID, "/device", "the serial device is needed, like /dev/ttyUSB0");
	if (c->timeout_ms < 0 || c->timeout_ms > 60000)
		return err_set(err, INVALID, "/timeout_ms", "the time-out is 1 to 60000 ms");
	rc = check_drive(driver, c, err);
	if (!rc && driver->check)
		rc = driver->check(c, err);
	return rc;
}

enum status field_open(struct field_source **out, const struct field_config *config, struct err *err)
{
	const struct field_driver *driver = NULL;
	struct field_source *source;
	enum status rc;

	*out = NULL;
	if (config->protocol == FIELD_HART_BROWSER)
		return err_set(err, BUSY, "", "only a modem attached to a browser reaches this device");
	if ((int)config->protocol >= 0 && config->protocol < FIELD_PROTOCOLS)
		driver = drivers[config->protocol];
	if (!driver)
		return err_set(err, INVALID, "/protocol", "this protocol is not built in");
	rc = check(driver, config, err);
	if (rc)
		return rc;
	source = calloc(1, sizeof *source);
	if (!source)
		return err_set(err, NO_MEMORY, NULL, "no memory for a source");
	source->driver = driver;
	source->config = *config;
	if (!source->config.port)
		source->config.port = driver->port;
	if (!source->config.timeout_ms)
		source->config.timeout_ms = driver->timeout_ms ? driver->timeout_ms : 1000;
	rc = driver->open(source, err);
	if (rc)
		free(source);
	else
		*out = source;
	return rc;
}

enum status field_read(struct field_source *source, struct field_reading *out, struct err *err)
{
	struct field_reading reading = {0};
	enum status rc = source->driver->read(source, &reading, err);

	if (!rc)
		*out = reading;
	return rc;
}

enum status field_identify(struct field_source *source, struct field_identity *out, struct err *err)
{
	struct field_identity identity = {0};
	enum status rc = source->driver->identify(source, &identity, err);

	if (!rc)
		*out = identity;
	return rc;
}

enum status field_keep(struct field_source *source, struct err *err)
{
	return source->driver->keep ? source->driver->keep(source, err) : OK;
}

enum status field_drive(struct field_source *source, double value, struct err *err)
{
	const struct field_config *c = &source->config;

	if (!c->drivable || !source->driver->drive)
		return err_set(err, INVALID, "/drivable", "this source may not be driven");
	if (!isfinite(value))
		return err_set(err, INVALID, "/value", "not a number");
	if (value < c->drive_low || value > c->drive_high)
		return err_set(err, INVALID, "/value", "%.6g %s is beyond the limits of %.6g to %.6g", value, c->unit,
			       c->drive_low, c->drive_high);
	return source->driver->drive(source, value, err);
}

/* A driver connects anew after a broken connection, so the second call is the second connection. */
enum status field_safe(struct field_source *source, struct err *err)
{
	enum status rc;

	if (!source->config.drivable || !source->driver->drive)
		return err_set(err, INVALID, "/drivable", "this source may not be driven");
	rc = source->driver->drive(source, source->config.safe, err);
	if (rc)
		rc = source->driver->drive(source, source->config.safe, err);
	return rc;
}

void field_close(struct field_source *source)
{
	if (!source)
		return;
	source->driver->close(source);
	free(source);
}

const char *field_status_words(enum field_status bit)
{
	switch (bit) {
	case FIELD_MALFUNCTION:
		return "the device reports a malfunction";
	case FIELD_FIXED:
		return "loop current is fixed or the value simulated";
	case FIELD_SATURATED:
		return "loop current is saturated";
	case FIELD_OUT_OF_LIMITS:
		return "primary variable is out of its limits";
	case FIELD_OTHER_OUT_OF_LIMITS:
		return "another variable is out of its limits";
	case FIELD_OVERLOAD:
		return "meter is beyond its range";
	case FIELD_BAD:
		return "value is bad";
	case FIELD_POOR:
		return "value is uncertain";
	case FIELD_CONFIG_CHANGED:
		return "configuration was changed";
	case FIELD_COLD_START:
		return "device has restarted";
	case FIELD_MORE:
		return "more status is available";
	}
	return NULL;
}
