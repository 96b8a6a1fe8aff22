/* What an instrument may answer over SCPI, any text; and any line to the simulated one. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "field/scpi.h"
#include "field/sim.h"
#include "fuzz.h"

static void as_number(const char *text)
{
	double value = -77;
	unsigned status = 0x55;

	if (!scpi_number(text, &value, &status)) {
		promise(value == -77 && status == 0x55, "what is no number changes nothing");
		return;
	}
	promise(!isinf(value), "a value is a number or none");
	promise(isnan(value) == (status != 0), "no number has a status that says why, and a number none");
	promise(isnan(value) || fabs(value) < 9.9e37, "what stands for overload is no number");
}

/* The room is what the caller has; one byte more would be found. */
static void as_error(const char *text)
{
	int number = -77777;
	char words[40] = "";

	if (!scpi_error(text, &number, words, 24))
		return;
	promise(number >= -32768 && number <= 32767, "an error has a number of 16 bits");
	promise(strlen(words) < 24, "words keep their room");
	promise(strchr(text, '"') != NULL, "words stand in quotes");
}

static void as_identity(const char *text)
{
	struct field_identity who;

	if (!scpi_identity(text, &who))
		return;
	promise(strlen(who.maker) < sizeof who.maker && strlen(who.model) < sizeof who.model &&
			strlen(who.serial) < sizeof who.serial && strlen(who.revision) < sizeof who.revision &&
			strlen(who.device_id) < sizeof who.device_id,
		"fields keep their lengths");
	promise(!strchr(who.maker, ',') && !strchr(who.model, ',') && !strchr(who.revision, ','),
		"a field ends at its comma");
}

/* ---- the device ---- */

struct loop {
	double level;
	bool output;
};

static bool sim_read(void *plant, const char *what, struct sim_value *out)
{
	const struct loop *l = plant;

	*out = (struct sim_value){.value = strcmp(what, "output") ? l->level : l->output};
	return !strcmp(what, "current") || !strcmp(what, "output");
}

static bool sim_set(void *plant, const char *what, double value)
{
	struct loop *l = plant;

	if (!strcmp(what, "output"))
		l->output = value != 0;
	if (strcmp(what, "current") != 0)
		return !strcmp(what, "output");
	if (!(value >= 0 && value <= 24))
		return false;
	l->level = value;
	return true;
}

/* All lines, as a connection brings them. */
static void to_device(const uint8_t *bytes, size_t size)
{
	struct loop loop = {.level = 4};
	struct sim_device d = {.maker = "Fenwold",
			       .model = "CS-24",
			       .serial = "1187",
			       .revision = "1",
			       .plant = &loop,
			       .read = sim_read,
			       .set = sim_set};
	struct sim_session session = {0};
	uint8_t out[SIM_MESSAGE];

	while (size > 0) {
		size_t n;
		long taken = sim_scpi_answer(&d, &session, bytes, size, out, sizeof out, &n);

		promise(taken >= -1 && taken <= (long)size, "a device takes no more than there is");
		promise(loop.level >= 0 && loop.level <= 24, "a device takes no level that it refuses");
		promise(session.error_count <= sizeof session.errors / sizeof *session.errors,
			"the error queue keeps its length");
		promise(n <= sizeof out, "an answer keeps its length");
		promise(n == 0 || (taken > 0 && n > 2 && out[n - 2] == '\r' && out[n - 1] == '\n'),
			"an answer is a whole line");
		promise(n == 0 || (!memchr(out, '\n', n - 1) && !memchr(out, 0, n)), "an answer is one line of text");
		if (taken <= 0)
			return;
		bytes += taken;
		size -= (size_t)taken;
	}
}

void fuzz_scpi(const char *bytes, size_t size)
{
	char *text = malloc(size + 1);

	if (!text)
		return;
	memcpy(text, bytes, size);
	text[size] = '\0';
	as_number(text);
	as_error(text);
	as_identity(text);
	free(text);
	to_device((const uint8_t *)bytes, size);
}
