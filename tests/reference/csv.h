/* Reads the reference tables: one heading line, fields separated by commas, quoted where they hold one. */
#ifndef TESTS_REFERENCE_CSV_H
#define TESTS_REFERENCE_CSV_H

#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include "support/check.h"

#define CSV_FIELDS 12

struct csv {
	FILE *file;
	char line[1024];
	char *field[CSV_FIELDS];
	int fields;
};

static inline void csv_split(struct csv *c)
{
	char *in = c->line, *out = c->line;
	bool quoted = false;

	c->fields = 0;
	c->field[c->fields++] = out;
	for (; *in && *in != '\n' && *in != '\r'; in++) {
		if (*in == '"') {
			quoted = !quoted;
		} else if (*in == ',' && !quoted && c->fields < CSV_FIELDS) {
			*out++ = '\0';
			c->field[c->fields++] = out;
		} else {
			*out++ = *in;
		}
	}
	*out = '\0';
}

static inline bool csv_next(struct csv *c)
{
	if (!fgets(c->line, sizeof c->line, c->file)) {
		fclose(c->file);
		return false;
	}
	csv_split(c);
	return true;
}

static inline void csv_open(struct csv *c, const char *name)
{
	char path[512];

	snprintf(path, sizeof path, "%s/tests/reference/data/%s", SOURCE_DIR, name);
	c->file = fopen(path, "r");
	if (!c->file)
		fail_msg("%s cannot be read", path);
	assert_true(csv_next(c)); /* the heading */
}

#endif
