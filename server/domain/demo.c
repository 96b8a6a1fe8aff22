/*
 * The demo plant is lived through rather than written down: the clock is set back three years, people are taken on, and
 * then one test after the other is opened, read, signed and reviewed by the rules that hold for everybody.
 */
#include "domain/demo.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/time.h"
#include "demo_internal.h"
#include "domain/password.h"
#include "store/person.h"

#define DAY_MS	INT64_C(86400000)
#define HOUR_MS INT64_C(3600000)

static uint64_t next(struct demo_chance *c)
{
	uint64_t z = c->state += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
	return z ^ z >> 31;
}

struct demo_chance demo_chance_of(const char *seed, int number)
{
	struct demo_chance c = {UINT64_C(20260101) + (uint64_t)number};

	for (; *seed; seed++)
		c.state = c.state * 131 + (unsigned char)*seed;
	next(&c);
	return c;
}

double demo_uniform(struct demo_chance *c, double low, double high)
{
	return low + (high - low) * (double)(next(c) >> 11) * 0x1p-53;
}

double demo_normal(struct demo_chance *c, double sd)
{
	double sum = -6;

	for (int i = 0; i < 12; i++)
		sum += demo_uniform(c, 0, 1);
	return sd * sum;
}

static int64_t raw_now(void)
{
	struct timespec now;

	clock_gettime(CLOCK_REALTIME, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Midnight UTC is moved by whole hours until it lies in the day of the plant's own time zone. */
void demo_clock(struct demo *d, int32_t day, double hour)
{
	int64_t noon = day * DAY_MS + 12 * HOUR_MS, to;

	(void)d;
	while (date_of_time(noon) < day)
		noon += HOUR_MS;
	while (date_of_time(noon) > day)
		noon -= HOUR_MS;
	to = noon + (int64_t)((hour - 12) * (double)HOUR_MS);
	if (to > time_now_ms() || d->clock_set == false)
		time_set_offset_ms(to - raw_now());
	d->clock_set = true;
}

int demo_procedure_index(const char *code)
{
	int i = 0;

	while (strcmp(demo_procedures[i].code, code) != 0)
		i++;
	return i;
}

int demo_standard_index(const char *code)
{
	int i = 0;

	while (strcmp(demo_standards[i].code, code) != 0)
		i++;
	return i;
}

/* The nearest day at or after (step 1) or before (step -1) that is a whole number of months after another one. */
static int32_t reachable(int32_t day, int months, int step)
{
	while (date_add_months(date_add_months(day, -months), months) != day)
		day += step;
	return day;
}

static int32_t due_day(const struct demo_instrument *in, int32_t today)
{
	struct demo_chance c = demo_chance_of(in->tag, 1);
	int offset = in->offset;

	switch (in->group) {
	case G_OVERDUE:
		return reachable(today + offset, in->interval_months, -1);
	case G_WEEK:
	case G_OPEN:
		return reachable(today + offset, in->interval_months, offset <= 4 ? 1 : -1);
	case G_REVIEW:
		return date_add_months(today - 2, in->interval_months);
	default:
		if (offset == 0)
			offset = (int)demo_uniform(&c, 9, in->interval_months * 30 - 6);
		return reachable(today + offset, in->interval_months, 1);
	}
}

/* Nobody tests on a weekend but for the last time, which the due date fixes. */
static int32_t working_day(int32_t day)
{
	int weekday = (day + 4) % 7; /* 0 is Sunday: 1970-01-01 was a Thursday */

	return weekday == 0 ? day + 1 : weekday == 6 ? day + 2 : day;
}

int demo_test_days(const struct demo_instrument *in, int32_t today, int32_t days[DEMO_TESTS_MAX], int32_t *due)
{
	struct demo_chance c = demo_chance_of(in->tag, 2);
	int n = 0, most = 1;

	*due = due_day(in, today);
	while (most < DEMO_TESTS_MAX &&
	       date_add_months(*due, -in->interval_months * (most + 1)) > today - DEMO_DAYS + 30)
		most++;
	for (int back = most; back > 1; back--)
		days[n++] = working_day(date_add_months(*due, -in->interval_months * back) +
					(int)demo_uniform(&c, -8, 4));
	days[n++] = in->group == G_REVIEW ? today - 2 : date_add_months(*due, -in->interval_months);
	return n;
}

static enum status load(struct db *db, void *context, struct err *err)
{
	struct demo *d = context;
	int64_t people;
	enum status rc = store_person_count(db, &people, err);

	d->db = db;
	d->err = err;
	if (!rc && people)
		return err_set(err, CONFLICT, "",
			       "this plant has people already: the demo plant needs a file of its own");
	if (!rc)
		rc = demo_register(d);
	if (!rc)
		rc = demo_history(d);
	return rc;
}

enum status demo_load(struct store *store, struct err *err)
{
	int64_t offset = time_now_ms() - raw_now(); /* of a test that has moved the clock itself */
	struct demo d = {.today = date_today()};
	enum status rc = password_hash(DEMO_PASSWORD, &d.arena, &d.password_hash, err);

	if (!rc)
		rc = store_write(store, load, &d, err);
	time_set_offset_ms(offset);
	arena_clear(&d.arena);
	return rc;
}
