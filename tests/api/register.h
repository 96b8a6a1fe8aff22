/* Bodies and small steps that the tests of the register share. */
#ifndef TESTS_API_REGISTER_H
#define TESTS_API_REGISTER_H

#include <stdio.h>
#include <string.h>
#include "base/time.h"
#include "support/api_fixture.h"

/* JSON as it stands, without quotes escaped. */
#define JSON(...) #__VA_ARGS__

/* printf formats: the tag and the area's id; code and document; instrument, procedure and date. */
#define VALVE                                                                                                      \
	JSON({                                                                                                     \
		"tag" : "%s",                                                                                      \
		"service" : "Backwash flow control",                                                               \
		"kind" : "control_valve",                                                                          \
		"area_id" : "%s",                                                                                  \
		"input" : {"quantity" : "current", "low" : 4, "high" : 20, "unit" : "mA"},                         \
		"output" : {"quantity" : "travel", "low" : 0, "high" : 100, "unit" : "%%"},                        \
		"characteristic" : {"kind" : "linear"},                                                            \
		"loop" : {"supply_v" : 24, "device_v" : 8.5, "series_ohm" : 250, "cable_ohm" : 12, "hart" : true}, \
		"hazards" : ["Pinch point at the stem."],                                                          \
		"status" : "in_service"                                                                            \
	})

#define DOCUMENT                                                                                               \
	JSON({                                                                                                 \
		"title" : "Control valve, five points",                                                        \
		"purpose" : "Travel against input.",                                                           \
		"kinds" : ["control_valve"],                                                                   \
		"preparation" : [],                                                                            \
		"cautions" : [],                                                                               \
		"needs" : [],                                                                                  \
		"steps" : [ {                                                                                  \
			"kind" : "points",                                                                     \
			"title" : "Travel",                                                                    \
			"percent" : [ 0, 25, 50, 75, 100 ],                                                    \
			"pattern" : "up_down",                                                                 \
			"cycles" : 1,                                                                          \
			"settle_s" : 5                                                                         \
		} ],                                                                                           \
		"tolerance" : {                                                                                \
			"as_found" : {"terms" : [ {"kind" : "percent_of_span", "plus" : 3} ], "join" : "sum"}, \
			"adjust" : null,                                                                       \
			"as_left" : null                                                                       \
		},                                                                                             \
		"decision" : {"rule" : "simple"},                                                              \
		"environment" : false,                                                                         \
		"adjustment" : ""                                                                              \
	})

#define DOCUMENT_4_PERCENT                                                                                     \
	JSON({                                                                                                 \
		"title" : "Control valve, wider",                                                              \
		"purpose" : "Travel against input.",                                                           \
		"kinds" : ["control_valve"],                                                                   \
		"preparation" : [],                                                                            \
		"cautions" : [],                                                                               \
		"needs" : [],                                                                                  \
		"steps" : [ {                                                                                  \
			"kind" : "points",                                                                     \
			"title" : "Travel",                                                                    \
			"percent" : [ 0, 50, 100 ],                                                            \
			"pattern" : "up",                                                                      \
			"cycles" : 1,                                                                          \
			"settle_s" : 5                                                                         \
		} ],                                                                                           \
		"tolerance" : {                                                                                \
			"as_found" : {"terms" : [ {"kind" : "percent_of_span", "plus" : 4} ], "join" : "sum"}, \
			"adjust" : null,                                                                       \
			"as_left" : null                                                                       \
		},                                                                                             \
		"decision" : {"rule" : "simple"},                                                              \
		"environment" : false,                                                                         \
		"adjustment" : ""                                                                              \
	})

/* Id of what was just added, kept beyond the next call. */
static inline void keep_id(const cJSON *answer, char out[40])
{
	snprintf(out, 40, "%s", text_at(answer, "/id"));
}

static inline void add_area(struct fixture *f, const char *name, const char *parent, char id[40])
{
	cJSON *a = parent ? callf(f, "POST", "/api/v1/areas", "{\"name\": \"%s\", \"parent_id\": \"%s\"}", name,
				  parent) :
			    callf(f, "POST", "/api/v1/areas", "{\"name\": \"%s\"}", name);

	expect_status(f, 201);
	keep_id(a, id);
}

static inline void add_valve(struct fixture *f, const char *tag, const char *area, char id[40])
{
	cJSON *a = callf(f, "POST", "/api/v1/instruments", VALVE, tag, area);

	expect_status(f, 201);
	keep_id(a, id);
}

/* A procedure with an approved first version. */
static inline void add_procedure(struct fixture *f, const char *code, char id[40])
{
	char path[100], hash[80];
	cJSON *a = callf(f, "POST", "/api/v1/procedures", "{\"code\": \"%s\", \"document\": %s}", code, DOCUMENT);

	expect_status(f, 201);
	keep_id(a, id);
	snprintf(hash, sizeof hash, "%s", text_at(a, "/draft/content_sha256"));
	snprintf(path, sizeof path, "/api/v1/procedures/%s/approve", id);
	callf(f, "POST", path, "{\"password\": \"%s\", \"content_sha256\": \"%s\"}", FIXTURE_PASSWORD, hash);
	expect_status(f, 200);
}

static inline const char *day(int from_today, char out[DATE_TEXT_SIZE])
{
	date_to_text(date_today() + from_today, out);
	return out;
}

static inline void add_schedule(struct fixture *f, const char *instrument, const char *procedure, int due_in_days,
				char id[40])
{
	char due[DATE_TEXT_SIZE];
	cJSON *a = callf(
		f, "POST", "/api/v1/schedules",
		"{\"instrument_id\": \"%s\", \"procedure_id\": \"%s\", \"interval_months\": 12, \"due_on\": \"%s\"}",
		instrument, procedure, day(due_in_days, due));

	expect_status(f, 201);
	keep_id(a, id);
}

static inline const char *path_of(const char *collection, const char *id, const char *rest)
{
	static char path[160];

	snprintf(path, sizeof path, "/api/v1/%s/%s%s", collection, id, rest);
	return path;
}

#endif
