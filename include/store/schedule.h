/* Rows of table schedule: instrument x procedure x interval x due date. */
#ifndef STORE_SCHEDULE_H
#define STORE_SCHEDULE_H

#include "store/db.h"

struct schedule {
	const char *id;
	const char *instrument_id, *procedure_id; /* the pair is unique */
	int interval_months;			  /* 1..120 */
	const char *due_on;			  /* date */
	const char *assigned_to;		  /* person id; NULL */
	const char *evidence;			  /* what the interval rests on; "" */
	bool active;
	int version;
	int64_t created_at, updated_at;
	/* Read only, joined: */
	const char *tag, *service, *area_id, *area;   /* area is its name */
	const char *procedure_code, *procedure_title; /* title of the approved version, or of the draft */
	bool runnable;				      /* an approved version exists and the instrument is not retired */
	const char *assigned_name;
	const char *open_record_id, *open_record_number, *open_record_state; /* state open or returned; NULL without */
};

enum status store_schedule_add(struct db *db, const struct schedule *s, struct err *err); /* CONFLICT /procedure_id */
/* Interval, due date, person, evidence, active, and raises the version; STALE when it is no longer s->version. */
enum status store_schedule_update(struct db *db, const struct schedule *s, struct err *err);
enum status store_schedule_get(struct db *db, const char *id, struct arena *a, struct schedule *out, struct err *err);
/* Moves the due date only (after a signed test) and raises the version. */
enum status store_schedule_set_due(struct db *db, const char *id, const char *due_on, int64_t at, struct err *err);

/* All of one instrument, by due date. */
enum status store_schedule_of_instrument(struct db *db, const char *instrument_id, struct arena *a,
					 struct schedule **out, size_t *n, struct err *err);
/* By due date, then id, up to limit + 1 of them. after_due and after_id name the last one of the page before; NULL: from the start. */
enum status store_schedule_list(struct db *db, const char *after_due, const char *after_id, int limit, struct arena *a,
				struct schedule **out, size_t *n, struct err *err);

struct due_filter {
	const char *area_id;   /* this area and those in it; NULL: all */
	const char *person_id; /* assigned to; NULL: anybody */
};

/* Active schedules of instruments not retired, due up to and including last_day, by due date. At most limit. */
enum status store_schedule_due(struct db *db, const struct due_filter *filter, const char *last_day, int limit,
			       struct arena *a, struct schedule **out, size_t *n, struct err *err);
/* How many of them, of whatever date. The days are dates; first_month is "2026-11" and months[0]'s. */
struct due_days {
	const char *today, *week_last, *within_last, *first_month;
};
#define DUE_MONTHS 12
struct due_counts {
	int64_t overdue;	    /* before today */
	int64_t this_week, within;  /* today up to and including the last day */
	int64_t months[DUE_MONTHS]; /* whole months */
};
enum status store_schedule_due_counts(struct db *db, const struct due_filter *filter, const struct due_days *days,
				      struct due_counts *out, struct err *err);

#endif
