#include "domain/due.h"

#include <string.h>

#include "base/time.h"
#include "domain/area.h"
#include "domain/record_summary.h"
#include "domain/schedule.h"
#include "store/due.h"

#define ITEMS_MAX 5000
#define RECORDS_MAX 200
#define WEEK_DAYS 7
#define MONTHS 12

static enum status out_of_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status count_days(struct db *db, const struct due_filter *filter, int32_t first, int32_t last, int64_t *count, struct err *err)
{
	char from[DATE_TEXT_SIZE], to[DATE_TEXT_SIZE];

	date_to_text(first, from);
	date_to_text(last, to);
	return store_schedule_due_count(db, filter, from, to, count, err);
}

static enum status counts(struct db *db, const struct due_filter *filter, int within, int32_t today, json_t **out, struct err *err)
{
	int64_t overdue = 0, week = 0, in_within = 0, in_progress = 0, waiting = 0;
	char yesterday[DATE_TEXT_SIZE];
	enum status rc;

	date_to_text(today - 1, yesterday);
	rc = store_schedule_due_count(db, filter, NULL, yesterday, &overdue, err);
	if (!rc)
		rc = count_days(db, filter, today, today + WEEK_DAYS, &week, err);
	if (!rc)
		rc = count_days(db, filter, today, today + within, &in_within, err);
	if (!rc)
		rc = store_records_in_hand(db, &in_progress, &waiting, err);
	if (rc)
		return rc;
	*out = json_pack("{s:I, s:I, s:I, s:I, s:I}", "overdue", (json_int_t)overdue, "this_week", (json_int_t)week, "within",
			 (json_int_t)in_within, "in_progress", (json_int_t)in_progress, "waiting_for_review", (json_int_t)waiting);
	return *out ? OK : out_of_memory(err);
}

/* One group an area, in the order of a round; schedules come by due date and stay so within a group. */
static enum status by_area(struct db *db, const struct due_filter *filter, int within, int32_t today, struct arena *a, json_t **out,
			   struct err *err)
{
	char last_day[DATE_TEXT_SIZE];
	struct schedule *due = NULL;
	struct area *areas = NULL;
	size_t n_due = 0, n_areas = 0;
	json_t *groups = json_array(), *items;
	enum status rc;

	date_to_text(today + within, last_day);
	rc = store_schedule_due(db, filter, last_day, ITEMS_MAX, a, &due, &n_due, err);
	if (!rc)
		rc = area_list(db, a, &areas, &n_areas, err);
	for (size_t i = 0; i < n_areas && !rc; i++) {
		items = json_array();
		for (size_t k = 0; k < n_due; k++) {
			if (!strcmp(due[k].area_id, areas[i].id))
				json_array_append_new(items, schedule_to_json(&due[k], today));
		}
		if (json_array_size(items))
			json_array_append_new(groups, json_pack("{s:s, s:s, s:o}", "area_id", areas[i].id, "area", areas[i].name, "items",
								items));
		else
			json_decref(items);
	}
	if (rc)
		json_decref(groups);
	else
		*out = groups;
	return rc;
}

/* This month and the next eleven: how many tests fall due, how many are done. */
static enum status months(struct db *db, const struct due_filter *filter, int32_t today, json_t **out, struct err *err)
{
	char text[DATE_TEXT_SIZE];
	json_t *list = json_array();
	int32_t first, from, to;
	enum status rc = OK;

	date_to_text(today, text);
	memcpy(text + 8, "01", 2);
	date_from_text(text, &first);
	for (int i = 0; i < MONTHS && !rc; i++) {
		int64_t due = 0, done = 0;

		from = date_add_months(first, i);
		to = date_add_months(first, i + 1) - 1;
		rc = count_days(db, filter, from, to, &due, err);
		if (!rc && i == 0)
			rc = store_records_performed(db, from, to, &done, err);
		date_to_text(from, text);
		json_array_append_new(list, json_pack("{s:s%, s:I, s:I}", "month", text, (size_t)7, "due", (json_int_t)due, "done",
						      (json_int_t)done));
	}
	if (rc)
		json_decref(list);
	else
		*out = list;
	return rc;
}

static enum status records(struct db *db, const char *state, struct arena *a, json_t **out, struct err *err)
{
	struct record_filter filter = {.state = state, .limit = RECORDS_MAX};
	struct record_summary *list;
	char next[RECORD_CURSOR_SIZE];
	size_t n;
	enum status rc = store_record_list(db, &filter, a, &list, &n, next, err);

	if (rc)
		return rc;
	*out = record_summaries_to_json(list, n);
	return *out ? OK : out_of_memory(err);
}

enum status due_to_json(struct db *db, const struct due_filter *filter, int within, int32_t today, struct arena *a, json_t **out,
			struct err *err)
{
	json_t *part[5] = {NULL};
	char text[DATE_TEXT_SIZE];
	enum status rc = counts(db, filter, within, today, &part[0], err);

	if (!rc)
		rc = by_area(db, filter, within, today, a, &part[1], err);
	if (!rc)
		rc = months(db, filter, today, &part[2], err);
	if (!rc)
		rc = records(db, "in_progress", a, &part[3], err);
	if (!rc)
		rc = records(db, "performed", a, &part[4], err);
	if (rc) {
		for (size_t i = 0; i < 5; i++)
			json_decref(part[i]);
		return rc;
	}
	date_to_text(today, text);
	*out = json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "today", text, "counts", part[0], "areas", part[1], "months", part[2],
			 "in_progress", part[3], "reviews", part[4]);
	return *out ? OK : out_of_memory(err);
}
