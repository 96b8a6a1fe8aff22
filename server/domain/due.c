#include "domain/due.h"

#include <string.h>

#include "base/time.h"
#include "domain/area.h"
#include "domain/record_summary.h"
#include "domain/schedule.h"
#include "store/due.h"

#define ITEMS_MAX   5000
#define RECORDS_MAX 200
#define WEEK_DAYS   7

static enum status out_of_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static enum status count(struct db *db, const struct due_filter *filter, int within, int32_t today,
			 struct due_counts *out, struct err *err)
{
	char text[3][DATE_TEXT_SIZE], month[8];
	struct due_days days = {text[0], text[1], text[2], month};

	date_to_text(today, text[0]);
	date_to_text(today + WEEK_DAYS, text[1]);
	date_to_text(today + within, text[2]);
	memcpy(month, text[0], 7);
	month[7] = '\0';
	return store_schedule_due_counts(db, filter, &days, out, err);
}

static enum status counts_to_json(struct db *db, const struct due_counts *c, json_t **out, struct err *err)
{
	int64_t in_progress = 0, waiting = 0;
	enum status rc = store_records_in_hand(db, &in_progress, &waiting, err);

	if (rc)
		return rc;
	*out = json_pack("{s:I, s:I, s:I, s:I, s:I}", "overdue", (json_int_t)c->overdue, "this_week",
			 (json_int_t)c->this_week, "within", (json_int_t)c->within, "in_progress",
			 (json_int_t)in_progress, "waiting_for_review", (json_int_t)waiting);
	return *out ? OK : out_of_memory(err);
}

/* One group an area, in the order of a round; schedules come by due date and stay so within a group. */
static enum status by_area(struct db *db, const struct due_filter *filter, int within, int32_t today, struct arena *a,
			   json_t **out, struct err *err)
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
			json_array_append_new(groups, json_pack("{s:s, s:s, s:o}", "area_id", areas[i].id, "area",
								areas[i].name, "items", items));
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
static enum status months_to_json(struct db *db, const struct due_counts *c, int32_t today, json_t **out,
				  struct err *err)
{
	char text[DATE_TEXT_SIZE];
	json_t *list = json_array();
	int64_t done;
	int32_t first;
	enum status rc;

	date_to_text(today, text);
	text[8] = '0';
	text[9] = '1';
	date_from_text(text, &first);
	rc = store_records_performed(db, first, date_add_months(first, 1) - 1, &done, err);
	for (int i = 0; i < DUE_MONTHS && !rc; i++) {
		date_to_text(date_add_months(first, i), text);
		json_array_append_new(list,
				      json_pack("{s:s%, s:I, s:I}", "month", text, (size_t)7, "due",
						(json_int_t)c->months[i], "done", (json_int_t)(i == 0 ? done : 0)));
	}
	if (rc)
		json_decref(list);
	else
		*out = list;
	return rc;
}

static enum status records(struct db *db, bool waiting, struct arena *a, json_t **out, struct err *err)
{
	struct record_summary *list;
	const char **ids;
	size_t n;
	enum status rc = store_record_ids_in_hand(db, waiting, RECORDS_MAX, a, &ids, &n, err);

	if (rc)
		return rc;
	list = arena_alloc(a, (n + 1) * sizeof *list);
	if (!list)
		return out_of_memory(err);
	for (size_t i = 0; i < n && !rc; i++)
		rc = store_record_summary(db, ids[i], a, &list[i], err);
	if (rc)
		return rc;
	*out = record_summaries_to_json(list, n);
	return *out ? OK : out_of_memory(err);
}

enum status due_to_json(struct db *db, const struct due_filter *filter, int within, int32_t today, struct arena *a,
			json_t **out, struct err *err)
{
	json_t *part[5] = {NULL};
	char text[DATE_TEXT_SIZE];
	struct due_counts c;
	enum status rc = count(db, filter, within, today, &c, err);

	if (!rc)
		rc = counts_to_json(db, &c, &part[0], err);
	if (!rc)
		rc = by_area(db, filter, within, today, a, &part[1], err);
	if (!rc)
		rc = months_to_json(db, &c, today, &part[2], err);
	if (!rc)
		rc = records(db, false, a, &part[3], err);
	if (!rc)
		rc = records(db, true, a, &part[4], err);
	if (rc) {
		for (size_t i = 0; i < 5; i++)
			json_decref(part[i]);
		return rc;
	}
	date_to_text(today, text);
	*out = json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "today", text, "counts", part[0], "areas", part[1], "months",
			 part[2], "in_progress", part[3], "reviews", part[4]);
	return *out ? OK : out_of_memory(err);
}
