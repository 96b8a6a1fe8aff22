/* From rows and frozen documents to the whole record. Judging is record_judge.c's, what follows from it record_state.c's. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/json.h"
#include "base/text.h"
#include "base/time.h"
#include "record_internal.h"
#include "store/certificate.h"
#include "store/finding.h"
#include "store/limitation.h"
#include "store/signature.h"

static enum status no_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

enum status record_rows_read(struct db *db, const char *id, struct arena *a, struct record_rows *rows, struct err *err)
{
	enum status rc = store_record_get(db, id, a, &rows->row, err);

	if (!rc)
		rc = store_acknowledgement_list(db, id, a, &rows->answers, &rows->n_answers, err);
	if (!rc)
		rc = store_standard_use_list(db, id, a, &rows->uses, &rows->n_uses, err);
	if (!rc)
		rc = store_run_list(db, id, a, rows->runs, &rows->n_runs, err);
	for (size_t i = 0; !rc && i < rows->n_runs; i++)
		rc = store_reading_list(db, rows->runs[i].id, a, &rows->readings[i], &rows->n_readings[i], err);
	if (rc)
		return rc;
	rc = store_environment_get(db, id, &rows->environment, err);
	rows->has_environment = rc == OK;
	return rc == NOT_FOUND ? OK : rc;
}

static enum record_state state_of_word(const char *word)
{
	for (int s = RECORD_OPEN; s <= RECORD_VOID; s++)
		if (!strcmp(record_state_word((enum record_state)s), word))
			return (enum record_state)s;
	return RECORD_VOID;
}

static void take_row(struct record *r, const struct test_record *row)
{
	r->id = row->id;
	r->number = row->number;
	r->state = state_of_word(row->state);
	r->version = row->version;
	r->schedule_id = row->schedule_id;
	r->condition = row->condition;
	r->remarks = row->remarks;
	r->adjusted = row->adjusted;
	r->adjustment = row->adjustment;
	r->adjusted_by = row->adjusted_by_name;
	r->adjusted_at = row->adjusted_at;
	r->opened_by = row->opened_by_name;
	r->opened_at = row->opened_at;
	r->performed_at = row->performed_at;
}

static enum status take_documents(struct record *r, const struct test_record *row, struct arena *a, struct err *err)
{
	const struct frozen_instrument *instrument;
	const struct frozen_procedure *procedure;
	enum status rc = frozen_instrument_of(row->instrument_json, a, &instrument, &r->instrument_json, err);

	if (!rc)
		rc = frozen_procedure_of(row->procedure_json, a, &procedure, &r->procedure_json, err);
	if (rc)
		return rc;
	r->instrument = *instrument;
	r->procedure = procedure->document;
	r->procedure_code = procedure->code;
	r->procedure_approved_by = procedure->approved_by;
	r->procedure_number = procedure->number;
	r->procedure_approved_at = procedure->approved_at;
	if (record_is_switch(r))
		record_switch_at_input(&r->instrument);
	return OK;
}

static const struct acknowledgement *answer_of(const struct record_rows *rows, const char *kind, const char *key)
{
	for (size_t i = 0; i < rows->n_answers; i++)
		if (!strcmp(rows->answers[i].kind, kind) && !strcmp(rows->answers[i].key, key))
			return &rows->answers[i];
	return NULL;
}

static void add_caution(struct record *r, const struct record_rows *rows, const char *key, const char *words)
{
	const struct acknowledgement *k = answer_of(rows, "caution", key);
	struct record_caution *c = &r->cautions[r->n_cautions++];

	c->key = key;
	c->text = words;
	c->by = k ? k->name : NULL;
	c->at = k ? k->at : 0;
}

/* The procedure's cautions, then the instrument's own hazards; a dot never stands in a procedure's keys. */
static enum status take_cautions(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	size_t n = r->procedure.n_cautions + r->instrument.n_hazards;

	r->cautions = arena_alloc(a, (n ? n : 1) * sizeof *r->cautions);
	if (!r->cautions)
		return no_memory(err);
	for (size_t i = 0; i < r->procedure.n_cautions; i++)
		add_caution(r, rows, r->procedure.cautions[i].key, r->procedure.cautions[i].text);
	for (size_t i = 0; i < r->instrument.n_hazards; i++) {
		const char *key = arena_printf(a, "hazard.%zu", i + 1);

		if (!key)
			return no_memory(err);
		add_caution(r, rows, key, r->instrument.hazards[i]);
	}
	return OK;
}

static void add_check(struct record *r, const struct record_rows *rows, const struct step *step,
		      const struct check_item *item)
{
	const struct acknowledgement *k = answer_of(rows, "check", item->key);
	struct record_check *c = &r->checks[r->n_checks++];

	c->key = item->key;
	c->step_title = step->title;
	c->text = item->text;
	c->apply = isnan(item->apply) ? NAN : range_at(r->instrument.input, item->apply / 100);
	if (!k)
		return;
	c->answer = k->answer;
	c->observed = k->observed;
	c->note = k->note;
	c->by = k->name;
	c->at = k->at;
}

static enum status take_checks(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	size_t n = 0;

	for (size_t i = 0; i < r->procedure.n_steps; i++)
		n += r->procedure.steps[i].n_items;
	r->checks = arena_alloc(a, (n ? n : 1) * sizeof *r->checks);
	if (!r->checks)
		return no_memory(err);
	for (size_t i = 0; i < r->procedure.n_steps; i++)
		for (size_t k = 0; k < r->procedure.steps[i].n_items; k++)
			add_check(r, rows, &r->procedure.steps[i], &r->procedure.steps[i].items[k]);
	return OK;
}

static const char *chosen_text(const struct record_rows *rows, enum standard_role role)
{
	for (size_t i = 0; i < rows->n_uses; i++)
		if (!strcmp(rows->uses[i].role, standard_role_word(role)))
			return rows->uses[i].standard_json;
	return NULL;
}

static enum status take_standards(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	for (size_t i = 0; i < r->procedure.n_needs; i++) {
		const struct need *need = &r->procedure.needs[i];
		struct record_standard *s = &r->standards[r->n_standards++];
		const char *text = chosen_text(rows, need->role);
		const struct record_standard *chosen;
		enum status rc = text ? frozen_standard_of(text, a, &chosen, err) : OK;

		if (rc)
			return rc;
		if (text)
			*s = *chosen;
		else
			s->low = s->high = s->expanded_uncertainty = s->coverage_factor = NAN;
		s->role = need->role;
		s->need = need->text;
		s->optional = need->optional;
	}
	return OK;
}

static enum status take_signatures(struct db *db, struct record *r, struct arena *a, struct err *err)
{
	struct signature *list;
	enum status rc = store_signature_list(db, r->id, a, &list, &r->n_signatures, err);

	if (rc)
		return rc;
	r->signatures = arena_alloc(a, (r->n_signatures + 1) * sizeof *r->signatures);
	if (!r->signatures)
		return no_memory(err);
	for (size_t i = 0; i < r->n_signatures; i++)
		r->signatures[i] = (struct record_signature){.meaning = list[i].meaning,
							     .name = list[i].name,
							     .role = list[i].role,
							     .reason = list[i].reason,
							     .person_id = list[i].person_id,
							     .at = list[i].at};
	return OK;
}

static enum status take_what_follows(struct db *db, struct record *r, struct arena *a, struct err *err)
{
	struct limitation l;
	struct certificate c;
	struct finding f;
	enum status rc = store_certificate_of(db, r->id, a, &c, err);

	if (!rc) {
		r->certificate_number = c.number;
		r->certificate_by = c.issued_by_name;
		r->certificate_state = c.state;
		r->certificate_at = c.issued_at;
		r->certificate_sealed = c.sealed;
		r->certificate_reason = c.reason && *c.reason ? c.reason : NULL;
		r->certificate_replaced_by = c.replaced_by;
	} else if (rc != NOT_FOUND) {
		return rc;
	}
	rc = store_limitation_of(db, r->id, a, &l, err);
	if (!rc) {
		r->limitation = l.text;
		r->limitation_by = l.name;
		r->limitation_at = l.at;
	} else if (rc != NOT_FOUND) {
		return rc;
	}
	rc = store_finding_of(db, r->id, a, &f, err);
	if (!rc) {
		r->finding_id = f.id;
		r->finding_state = f.state;
		r->finding_sentence = f.sentence;
	}
	return rc == NOT_FOUND ? OK : rc;
}

/* What it amends, and what amends it. */
static enum status take_amendments(struct db *db, struct record *r, const struct test_record *row, struct arena *a,
				   struct err *err)
{
	struct amendment by;
	struct certificate c;
	enum status rc = store_record_amendment(db, r->id, a, &by, err);

	if (rc && rc != NOT_FOUND)
		return rc;
	if (!rc) {
		r->amended_by = by.id;
		r->amended_by_number = by.number;
	}
	if (!row->supersedes_id)
		return OK;
	rc = store_certificate_of(db, row->supersedes_id, a, &c, err);
	if (rc)
		return rc == NOT_FOUND ? err_set(err, FAILED, "", "%s amends what has no certificate", r->number) : rc;
	r->amends = c.number;
	r->amends_record = row->supersedes_id;
	r->amendment_reason = row->amendment_reason;
	return OK;
}

static void take_environment(struct record *r, const struct record_rows *rows)
{
	r->has_environment = rows->has_environment;
	r->temperature_c = rows->has_environment ? rows->environment.temperature_c : NAN;
	r->humidity_percent = rows->has_environment ? rows->environment.humidity_percent : NAN;
	r->pressure_hpa = rows->has_environment ? rows->environment.pressure_hpa : NAN;
}

static enum status load(struct db *db, const char *id, bool shown, struct arena *a, struct record *r, struct err *err)
{
	struct record_rows rows = {0};
	enum status rc = record_rows_read(db, id, a, &rows, err);

	*r = (struct record){0};
	if (rc)
		return rc;
	take_row(r, &rows.row);
	take_environment(r, &rows);
	rc = take_documents(r, &rows.row, a, err);
	if (!rc)
		rc = take_cautions(r, &rows, a, err);
	if (!rc)
		rc = take_checks(r, &rows, a, err);
	if (!rc)
		rc = take_standards(r, &rows, a, err);
	if (!rc)
		rc = take_signatures(db, r, a, err);
	if (!rc && (shown || r->state != RECORD_OPEN))
		rc = take_what_follows(db, r, a, err);
	if (!rc)
		rc = record_dead_band_rows(db, r, &rows, a, err);
	if (!rc)
		rc = take_amendments(db, r, &rows.row, a, err);
	if (!rc)
		rc = record_lay_out(r, &rows, a, err);
	if (!rc && shown)
		rc = record_judge(r, a, err);
	if (!rc && shown)
		rc = record_content_hash(r, &rows, a, err);
	if (!rc)
		r->phase = record_phase_of(r);
	return rc;
}

enum status record_load(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err)
{
	return load(db, id, true, a, out, err);
}

enum status record_load_for_edit(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err)
{
	return load(db, id, false, a, out, err);
}
