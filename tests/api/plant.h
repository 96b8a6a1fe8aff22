/*
 * A small plant for tests of records: one valve with a positioner, its procedure and schedule, and reference standards, all made
 * through the API; and the steps of a test on it.
 */
#ifndef TESTS_API_PLANT_H
#define TESTS_API_PLANT_H

#include "support/api_fixture.h"

struct plant {
	struct fixture *f;
	char area[37], valve[37], procedure[37], schedule[37];
	char source[37], expired[37], gauge[37], small[37]; /* reference standards */
	char record[37];				    /* the record in hand */
};

/* For cmocka; *state is a struct plant. The technician makes the calls. */
int plant_setup(void **state);
int plant_teardown(void **state);

/* Both give the status of the answer, which stays in p->f. path of record_ask starts at the record in hand, "" is itself. */
int ask(struct plant *p, const char *method, const char *path, const char *body);
int record_ask(struct plant *p, const char *method, const char *path, const char *body);

/* What stands at a pointer in the last answer. */
const char *text_of(struct plant *p, const char *pointer);
double number_of(struct plant *p, const char *pointer);
int count_of(struct plant *p, const char *pointer);
bool has_word(struct plant *p, const char *pointer, const char *word);
/* Fails the test unless the last refusal's detail says so. */
void expect_detail(struct plant *p, const char *part);

/* Steps of a test, each of which must succeed. */
void look(struct plant *p); /* reads the record in hand again */
void open_record(struct plant *p);
void prepare(struct plant *p); /* cautions, the current source, 21 degC */
void prove(struct plant *p);   /* both checks yes */
/* Reads every point with the set point applied and the set point's travel plus offset observed, % with one decimal. */
void read_run(struct plant *p, const char *run, double offset);
void perform(struct plant *p, double offset); /* a whole test without adjustment, signed by the technician */
void review(struct plant *p);		      /* by the second lead */

/* Their status is the test's to judge. applied NULL: the set point. */
int reading(struct plant *p, const char *run, int point, const char *applied, const char *observed);
int sign(struct plant *p, const char *meaning); /* with the hash that the record shows now */

#endif
