/* Three years at the demo plant, day by day: what happened when, in order. */
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "demo_internal.h"
#include "demo_test.h"
#include "domain/certificate.h"
#include "domain/finding.h"
#include "domain/record_sign.h"
#include "domain/standard.h"
#include "store/finding.h"

#define SECOND_VERSION_DAYS 400 /* since when the second version of a procedure holds */
#define DRAFT_DAYS	    5
#define CLOSING_DAYS	    12 /* from a finding to its closing */
#define EVENTS_MAX	    (DEMO_INSTRUMENTS_MAX * (3 * DEMO_TESTS_MAX + 1) + 5 * DEMO_STANDARDS_MAX + 20)

enum event_kind {
	EVENT_CALIBRATION,
	EVENT_STANDARD_FAILS,
	EVENT_VERSION,
	EVENT_DRAFT,
	EVENT_TEST,
	EVENT_REVIEW,
	EVENT_CLOSING,
	EVENT_OPENING
};

struct event {
	int32_t day;
	double hour;
	enum event_kind kind;
	int which, number; /* index of the instrument, standard or procedure; number of the test or years back */
};

struct story {
	struct demo *d;
	struct event *events;
	size_t n;
	char record[DEMO_INSTRUMENTS_MAX][DEMO_TESTS_MAX][UUID_SIZE];
};

static void add(struct story *s, int32_t day, double hour, enum event_kind kind, int which, int number)
{
	s->events[s->n++] = (struct event){day, hour, kind, which, number};
}

/* The two that wait for a review have none of their last test; the finding of the last jump but one is still looked into. */
static void plan_instrument(struct story *s, int i)
{
	const struct demo_instrument *in = &demo_instruments[i];
	struct demo_chance c = demo_chance_of(in->tag, 4);
	int32_t days[DEMO_TESTS_MAX], due, today = s->d->today, review;
	int n = demo_test_days(in, today, days, &due);

	for (int t = 0; t < n; t++) {
		bool last = t == n - 1;

		add(s, days[t], demo_uniform(&c, 8, 14), EVENT_TEST, i, t);
		review = days[t] + 1 + (int)demo_uniform(&c, 0, 3);
		if (!(last && in->group == G_REVIEW))
			add(s, review < today ? review : today - 1, demo_uniform(&c, 15.5, 16.5), EVENT_REVIEW, i, t);
		if (!(last && in->group == G_REST && in->jump == 1) && days[t] + CLOSING_DAYS < today)
			add(s, days[t] + CLOSING_DAYS, demo_uniform(&c, 9, 16), EVENT_CLOSING, i, t);
	}
	if (in->group == G_OPEN)
		add(s, today - 1, 14.5, EVENT_OPENING, i, 0);
}

static void plan_standards(struct story *s)
{
	int32_t today = s->d->today;

	for (int i = 0; i < demo_standards_count; i++) {
		for (int back = 0; date_add_months(today - demo_standards[i].age, -12 * back) > today - DEMO_DAYS;
		     back++)
			add(s, date_add_months(today - demo_standards[i].age, -12 * back), 7, EVENT_CALIBRATION, i,
			    back);
		if (demo_standards[i].failed)
			add(s, today - DEMO_FAILED_DAYS, 11, EVENT_STANDARD_FAILS, i, 0);
	}
}

static void plan_procedures(struct story *s)
{
	for (int i = 0; i < demo_procedures_count; i++) {
		json_t *before = demo_document(i, "before"), *draft = demo_document(i, "draft");

		if (before)
			add(s, s->d->today - SECOND_VERSION_DAYS, 10, EVENT_VERSION, i, 0);
		if (draft)
			add(s, s->d->today - DRAFT_DAYS, 10, EVENT_DRAFT, i, 0);
		json_decref(before);
		json_decref(draft);
	}
}

static int in_time(const void *va, const void *vb)
{
	const struct event *a = va, *b = vb;

	if (a->day != b->day)
		return a->day < b->day ? -1 : 1;
	if (a->hour < b->hour || a->hour > b->hour)
		return a->hour < b->hour ? -1 : 1;
	return a->which != b->which ? a->which - b->which : a->number - b->number;
}

static enum status calibrate(struct story *s, const struct event *e)
{
	struct standard_calibration c;

	demo_calibration(s->d, e->which, e->number, &c);
	return standard_calibration_add(s->d->db, &s->d->actor[DEMO_LEAD_1], &c, &s->d->arena, s->d->err);
}

static enum status fail_standard(struct story *s, const struct event *e)
{
	char today[DATE_TEXT_SIZE];
	struct standard row;
	enum status rc;

	date_to_text(date_today(), today);
	rc = store_standard_get(s->d->db, s->d->standard[e->which], today, &s->d->arena, &row, s->d->err);
	if (rc)
		return rc;
	row.status = "failed";
	row.status_reason = demo_standards[e->which].failed;
	return standard_change(s->d->db, &s->d->actor[DEMO_LEAD_1], &row, &s->d->arena, s->d->err);
}

static enum status review(struct story *s, const struct event *e)
{
	struct demo *d = s->d;
	const struct actor *lead = &d->actor[(e->which + e->number) % 3 ? DEMO_LEAD_1 : DEMO_LEAD_2];
	const char *id = s->record[e->which][e->number];
	struct arena scratch = {0};
	struct record r;
	enum status rc = record_load(d->db, id, &scratch, &r, d->err);

	if (!rc)
		rc = record_sign_reviewed(d->db, lead, id, r.content_sha256, NULL, &scratch, d->err);
	if (!rc)
		rc = certificate_issue_unsealed(d->db, lead, id, &scratch, d->err);
	arena_clear(&scratch);
	return rc;
}

static enum status close_finding(struct story *s, const struct event *e)
{
	static const char *const words[] = {
		"Readings since the test before were looked through with the control room: no dose and no limit was touched. Nothing to repeat.",
		"Compared with the neighbouring instrument: the process was inside its limits all the time. The interval stays, looked at after the next test.",
		"The archive was corrected for the days concerned and the shift leader told. The cause was found and mended; see the record.",
	};
	struct demo *d = s->d;
	struct arena scratch = {0};
	struct finding f;
	enum status rc = store_finding_of(d->db, s->record[e->which][e->number], &scratch, &f, d->err);

	if (rc == NOT_FOUND || (!rc && strcmp(f.state, "open") != 0))
		rc = OK;
	else if (!rc)
		rc = finding_close(d->db, &d->actor[DEMO_LEAD_2], f.id, words[(e->which + e->number) % 3], &scratch,
				   d->err);
	arena_clear(&scratch);
	return rc;
}

static enum status happen(struct story *s, const struct event *e)
{
	demo_clock(s->d, e->day, e->hour);
	switch (e->kind) {
	case EVENT_CALIBRATION:
		return calibrate(s, e);
	case EVENT_STANDARD_FAILS:
		return fail_standard(s, e);
	case EVENT_VERSION:
		return demo_approve(s->d, e->which);
	case EVENT_DRAFT:
		return demo_draft(s->d, e->which);
	case EVENT_TEST:
		return demo_test(s->d, e->which, e->number, e->day, e->hour, s->record[e->which][e->number]);
	case EVENT_REVIEW:
		return review(s, e);
	case EVENT_CLOSING:
		return close_finding(s, e);
	default:
		return demo_test_begun(s->d, e->which);
	}
}

enum status demo_history(struct demo *d)
{
	struct story *s = arena_alloc(&d->arena, sizeof *s);
	enum status rc = OK;

	if (s)
		s->events = arena_alloc(&d->arena, EVENTS_MAX * sizeof *s->events);
	if (!s || !s->events)
		return err_set(d->err, NO_MEMORY, "", "out of memory");
	s->d = d;
	for (int i = 0; i < demo_instruments_count; i++)
		plan_instrument(s, i);
	plan_standards(s);
	plan_procedures(s);
	qsort(s->events, s->n, sizeof *s->events, in_time);
	for (size_t i = 0; i < s->n && !rc; i++)
		rc = happen(s, &s->events[i]);
	return rc;
}
