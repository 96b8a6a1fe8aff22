/* Which reference standards can be relied on for a test, and choosing them. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include "base/json.h"
#include "base/time.h"
#include "domain/record_edit.h"
#include "metrology/format.h"
#include "metrology/unit.h"
#include "record_internal.h"

#define PAGE 200

struct quantity {
	const char *name, *unit_symbol;
	struct range range;
	const struct unit *unit; /* NULL when the frozen symbol is not known any more */
};

static struct quantity quantity_of(const struct record *r, enum standard_role role)
{
	const struct frozen_instrument *i = &r->instrument;
	struct quantity q = {i->input_quantity, i->input_unit, i->input, NULL};

	if (role == STANDARD_OUTPUT)
		q = (struct quantity){i->output_quantity, i->output_unit, i->output, NULL};
	q.unit = unit_find(q.unit_symbol);
	return q;
}

/* The standard's range holds the instrument's, both ends in the standard's unit; a hair of rounding is no gap. */
static bool covers(const struct standard_calibration *c, const struct unit *unit, const struct quantity *q)
{
	double slack = 1e-9 * (fabs(c->low) + fabs(c->high)), low, high;

	if (!unit_convert(fmin(q->range.low, q->range.high), q->unit, unit, &low) ||
	    !unit_convert(fmax(q->range.low, q->range.high), q->unit, unit, &high))
		return false;
	return low >= c->low - slack && high <= c->high + slack;
}

const char *record_shown_range(double low, double high, const char *unit, struct arena *a)
{
	char from[NUMBER_TEXT_SIZE], to[NUMBER_TEXT_SIZE];
	int most = decimals_for((high - low) / 1000), decimals = 0;

	while (decimals < most && (round_decimals(low, decimals) != low || round_decimals(high, decimals) != high))
		decimals++;
	return arena_printf(a, "%s to %s %s", format_number(low, decimals, false, from),
			    format_number(high, decimals, false, to), unit);
}

static const char *unfit_range(const struct standard_calibration *c, const struct quantity *q, struct arena *a)
{
	return arena_printf(a, "its range %s does not cover %s", record_shown_range(c->low, c->high, c->unit, a),
			    record_shown_range(q->range.low, q->range.high, q->unit_symbol, a));
}

static const char *status_refusal(const struct standard *s, struct arena *a)
{
	const char *what = !strcmp(s->status, "failed") ? "it failed" : "it is out of use";

	if (s->status_reason && *s->status_reason)
		return arena_printf(a, "%s: %s", what, s->status_reason);
	return what;
}

const char *record_standard_refusal(const struct record *r, enum standard_role role, const struct standard *s,
				    struct arena *a)
{
	struct quantity q = quantity_of(r, role);
	const struct standard_calibration *c = &s->calibration;
	const struct unit *unit = c->id ? unit_find(c->unit) : NULL;
	int32_t valid_until;

	if (strcmp(s->status, "in_use") != 0)
		return status_refusal(s, a);
	if (!c->id)
		return "it has no calibration certificate";
	if (!unit || !q.unit || strcmp(unit->dimension, q.unit->dimension) != 0)
		return arena_printf(a, "it measures %s, not %s", unit ? unit->dimension : s->quantity,
				    q.unit ? q.unit->dimension : q.name);
	if (!date_from_text(c->valid_until, &valid_until) || valid_until < date_today())
		return arena_printf(a, "its calibration ran out on %s", c->valid_until);
	if (!covers(c, unit, &q))
		return unfit_range(c, &q, a);
	return NULL;
}

/* Of the right dimension; without a calibration the name of the quantity has to do. */
static bool concerns(const struct standard *s, const struct quantity *q)
{
	const struct unit *unit = s->calibration.id ? unit_find(s->calibration.unit) : NULL;

	if (unit && q->unit)
		return !strcmp(unit->dimension, q->unit->dimension);
	return !strcasecmp(s->quantity, q->name);
}

static struct standard_candidate candidate_of(const struct record *r, enum standard_role role, const struct standard *s,
					      struct arena *a)
{
	const struct standard_calibration *c = &s->calibration;
	struct standard_candidate out = {.id = s->id,
					 .code = s->code,
					 .name = s->name,
					 .low = NAN,
					 .high = NAN,
					 .expanded_uncertainty = NAN,
					 .coverage_factor = NAN,
					 .why_not = record_standard_refusal(r, role, s, a)};

	if (!c->id)
		return out;
	out.valid_until = c->valid_until;
	out.unit = c->unit;
	out.low = c->low;
	out.high = c->high;
	out.expanded_uncertainty = c->expanded_uncertainty;
	out.coverage_factor = c->coverage_factor;
	return out;
}

/* All standards, by code. */
static enum status all_standards(struct db *db, const char *after, struct arena *a, struct standard **list, size_t *n,
				 struct err *err)
{
	char today[DATE_TEXT_SIZE];
	enum status rc;

	date_to_text(date_today(), today);
	rc = store_standard_list(db, NULL, after, PAGE, today, a, list, n, err);
	return rc;
}

/* Usable ones to the front, each part in the order it had. */
static void usable_first(struct standard_candidate *list, size_t n, struct standard_candidate *out)
{
	size_t k = 0;

	for (size_t i = 0; i < n; i++)
		if (!list[i].why_not)
			out[k++] = list[i];
	for (size_t i = 0; i < n; i++)
		if (list[i].why_not)
			out[k++] = list[i];
}

enum status record_candidates(struct db *db, const struct record *r, enum standard_role role, struct arena *a,
			      struct standard_candidate **out, size_t *n, struct err *err)
{
	struct quantity q = quantity_of(r, role);
	struct standard_candidate *list;
	struct standard *all;
	size_t n_all, k = 0;
	enum status rc = all_standards(db, NULL, a, &all, &n_all, err);

	if (rc)
		return rc;
	list = arena_alloc(a, (n_all + 1) * sizeof *list);
	*out = arena_alloc(a, (n_all + 1) * sizeof **out);
	if (!list || !*out)
		return err_set(err, NO_MEMORY, "", "out of memory");
	for (size_t i = 0; i < n_all; i++)
		if (concerns(&all[i], &q))
			list[k++] = candidate_of(r, role, &all[i], a);
	usable_first(list, k, *out);
	*n = k;
	return OK;
}

struct choosing {
	struct db *db;
	const struct record *r;
	struct arena *a;
	struct err *err;
	struct standard_use uses[STANDARD_ROLES];
	size_t n;
};

static bool asked_for(const struct record *r, enum standard_role role)
{
	for (size_t i = 0; i < r->n_standards; i++)
		if (r->standards[i].role == role)
			return true;
	return false;
}

static enum status choose_one(struct choosing *c, const struct standard_choice *choice, size_t index)
{
	char pointer[64], today[DATE_TEXT_SIZE];
	const char *role = standard_role_word(choice->role), *why_not;
	struct standard_use *use = &c->uses[c->n];
	struct standard s;
	json_t *frozen;
	enum status rc;

	snprintf(pointer, sizeof pointer, "/standards/%zu/role", index);
	if (!asked_for(c->r, choice->role))
		return err_set(c->err, INVALID, pointer, "the procedure asks for no standard at the %s", role);
	for (size_t i = 0; i < c->n; i++)
		if (!strcmp(c->uses[i].role, role))
			return err_set(c->err, INVALID, pointer, "the %s is named twice", role);
	date_to_text(date_today(), today);
	snprintf(pointer, sizeof pointer, "/standards/%zu/standard_id", index);
	rc = store_standard_get(c->db, choice->standard_id, today, c->a, &s, c->err);
	if (rc)
		return rc == NOT_FOUND ? err_set(c->err, INVALID, pointer, "there is no such reference standard") : rc;
	why_not = record_standard_refusal(c->r, choice->role, &s, c->a);
	if (why_not)
		return err_set(c->err, INVALID, pointer, "%s cannot be used: %s", s.code, why_not);
	frozen = frozen_standard(&s);
	*use = (struct standard_use){.role = role,
				     .standard_id = s.id,
				     .calibration_id = s.calibration.id,
				     .standard_json = frozen ? json_canonical(frozen, c->a) : NULL,
				     .at = time_now_ms()};
	json_decref(frozen);
	c->n++;
	return use->standard_json ? OK : err_set(c->err, NO_MEMORY, "", "out of memory");
}

static json_t *chosen_before(const struct record *r)
{
	json_t *o = json_object();

	for (size_t i = 0; i < r->n_standards; i++)
		if (r->standards[i].chosen)
			json_object_set_new(o, standard_role_word(r->standards[i].role),
					    json_string(r->standards[i].code));
	return o;
}

static json_t *chosen_now(const struct choosing *c)
{
	json_t *o = json_object();

	for (size_t i = 0; i < c->n; i++)
		json_object_set_new(o, c->uses[i].role, json_loads(c->uses[i].standard_json, 0, NULL));
	return o;
}

static enum status choose(struct choosing *c, const struct actor *actor, const struct standard_choice *choices,
			  size_t n)
{
	enum status rc = record_must_be_open(c->r, c->err);

	if (!rc && record_has_readings(c->r) && !c->r->amends)
		rc = err_set(c->err, CONFLICT, "",
			     "the readings rest on the standards chosen: they stay for this test");
	for (size_t i = 0; !rc && i < n; i++)
		rc = choose_one(c, &choices[i], i);
	if (!rc)
		rc = store_standard_use_replace(c->db, c->r->id, c->uses, c->n, c->err);
	if (!rc)
		rc = store_record_touch(c->db, c->r->id, c->err);
	if (!rc)
		rc = record_note(c->db, actor, c->r, "choose", "", chosen_before(c->r), chosen_now(c), c->err);
	return rc;
}

enum status record_choose_standards(struct db *db, const struct actor *actor, const char *id,
				    const struct standard_choice *choices, size_t n, struct arena *a, struct err *err)
{
	struct record r;
	struct choosing c = {.db = db, .r = &r, .a = a, .err = err};
	enum status rc = record_load_for_edit(db, id, a, &r, err);

	if (rc)
		return rc;
	rc = choose(&c, actor, choices, n);
	return rc;
}
