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

/* approved_at is a time in words or in milliseconds, as the document has it. */
static int64_t time_member(const json_t *o, const char *name)
{
	const json_t *v = json_object_get(o, name);
	int64_t ms = 0;

	if (json_is_integer(v))
		return json_integer_value(v);
	if (json_is_string(v) && time_from_text(json_string_value(v), &ms))
		return ms;
	return 0;
}

static enum status take_documents(struct record *r, const struct test_record *row, struct arena *a, struct err *err)
{
	enum status rc;

	r->instrument_json = json_parse(row->instrument_json, strlen(row->instrument_json), err);
	if (!r->instrument_json)
		return FAILED;
	r->procedure_json = json_parse(row->procedure_json, strlen(row->procedure_json), err);
	if (!r->procedure_json)
		return FAILED;
	rc = frozen_instrument_read(r->instrument_json, a, &r->instrument, err);
	if (!rc)
		rc = procedure_document_read(json_object_get(r->procedure_json, "document"), a, &r->procedure, err);
	if (rc)
		return rc == NO_MEMORY ? rc : FAILED;
	if (record_is_switch(r))
		record_switch_at_input(&r->instrument);
	r->procedure_code = arena_strdup(a, json_string_value(json_object_get(r->procedure_json, "code")));
	r->procedure_approved_by = arena_strdup(a,
						json_string_value(json_object_get(r->procedure_json, "approved_by")));
	r->procedure_number = (int)json_integer_value(json_object_get(r->procedure_json, "number"));
	r->procedure_approved_at = time_member(r->procedure_json, "approved_at");
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

static enum status take_standards(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	for (size_t i = 0; i < r->procedure.n_needs; i++) {
		struct record_standard *s = &r->standards[r->n_standards++];

		s->role = r->procedure.needs[i].role;
		s->need = r->procedure.needs[i].text;
		s->optional = r->procedure.needs[i].optional;
		s->low = s->high = s->expanded_uncertainty = s->coverage_factor = NAN;
		for (size_t k = 0; k < rows->n_uses; k++) {
			const char *json = rows->uses[k].standard_json;
			json_t *frozen;

			if (strcmp(rows->uses[k].role, standard_role_word(s->role)) != 0)
				continue;
			frozen = json_parse(json, strlen(json), err);
			if (!frozen)
				return FAILED;
			frozen_standard_read(frozen, a, s);
			json_decref(frozen);
		}
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

static enum status take_certificate_and_finding(struct db *db, struct record *r, struct arena *a, struct err *err)
{
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
	rc = store_finding_of(db, r->id, a, &f, err);
	if (!rc) {
		r->finding_id = f.id;
		r->finding_state = f.state;
		r->finding_sentence = f.sentence;
	}
	return rc == NOT_FOUND ? OK : rc;
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
	if (!rc)
		rc = take_certificate_and_finding(db, r, a, err);
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

static enum status load_or_clear(struct db *db, const char *id, bool shown, struct arena *a, struct record *out,
				 struct err *err)
{
	enum status rc;

	*out = (struct record){0};
	rc = load(db, id, shown, a, out, err);
	if (rc)
		record_clear(out);
	return rc;
}

enum status record_load(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err)
{
	return load_or_clear(db, id, true, a, out, err);
}

enum status record_load_for_edit(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err)
{
	return load_or_clear(db, id, false, a, out, err);
}

void record_clear(struct record *r)
{
	json_decref(r->instrument_json);
	json_decref(r->procedure_json);
	r->instrument_json = r->procedure_json = NULL;
}
