#include "domain/setting.h"
#include "record_json.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include "base/json.h"
#include "base/time.h"
#include "metrology/format.h"

static json_t *who_and_when(const char *by, int64_t at)
{
	return by ? json_pack("{s:s, s:o}", "by", by, "at", json_time_or_null(at)) : json_null();
}

static json_t *cautions_json(const struct record *r)
{
	json_t *list = json_array();

	for (size_t i = 0; i < r->n_cautions; i++)
		json_array_append_new(list, json_pack("{s:s, s:s, s:o}", "key", r->cautions[i].key, "text",
						      r->cautions[i].text, "acknowledged",
						      who_and_when(r->cautions[i].by, r->cautions[i].at)));
	return list;
}

static json_t *shown_range(double low, double high, const char *unit, struct arena *a)
{
	if (!isfinite(low) || !isfinite(high) || !unit)
		return json_null();
	return json_text_or_null(record_shown_range(low, high, unit, a));
}

/* "0.004 mA (k = 2)": U with two digits at most, k as on the certificate. */
static json_t *shown_uncertainty(double u, double k, const char *unit)
{
	char value[NUMBER_TEXT_SIZE], factor[NUMBER_TEXT_SIZE];
	int decimals = decimals_for(u);

	if (!isfinite(u) || !unit)
		return json_null();
	if (decimals > 0 && round_decimals(u, decimals - 1) == round_decimals(u, decimals))
		decimals--;
	return json_sprintf("%s %s (k = %s)", format_number(u, decimals, false, value), unit,
			    format_number(k, round_decimals(k, 0) == k ? 0 : 2, false, factor));
}

static json_t *chosen_json(const struct record *r, const struct record_standard *s, struct arena *a)
{
	if (!s->chosen)
		return json_null();
	return json_pack("{s:s, s:s, s:s, s:s?, s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:s}", "id", s->id,
			 "code", s->code, "name", s->name, "serial", s->serial, "certificate_number",
			 s->certificate_number, "issued_by", s->issued_by, "calibrated_on", s->calibrated_on,
			 "valid_until", s->valid_until, "unit", s->unit, "expanded_uncertainty",
			 json_number_or_null(s->expanded_uncertainty), "coverage_factor",
			 json_number_or_null(s->coverage_factor), "reference_u",
			 json_number_or_null(record_reference(r, s->role).expanded), "shown_range",
			 shown_range(s->low, s->high, s->unit, a), "shown_uncertainty",
			 shown_uncertainty(s->expanded_uncertainty, s->coverage_factor, s->unit), "traceability",
			 s->traceability);
}

static enum status candidates_json(struct db *db, const struct record *r, enum standard_role role, struct arena *a,
				   json_t *list, struct err *err)
{
	struct standard_candidate *c;
	size_t n;
	enum status rc = record_candidates(db, r, role, a, &c, &n, err);

	for (size_t i = 0; !rc && i < n; i++)
		json_array_append_new(
			list, json_pack("{s:s, s:s, s:s, s:s?, s:o, s:o, s:b, s:s?}", "id", c[i].id, "code", c[i].code,
					"name", c[i].name, "valid_until", c[i].valid_until, "shown_range",
					shown_range(c[i].low, c[i].high, c[i].unit, a), "shown_uncertainty",
					shown_uncertainty(c[i].expanded_uncertainty, c[i].coverage_factor, c[i].unit),
					"usable", c[i].why_not == NULL, "why_not", c[i].why_not));
	return rc;
}

/* Candidates only while the choice is open: later they would be read for nothing with every reading. */
static enum status needs_json(struct db *db, const struct record *r, struct arena *a, json_t *list, struct err *err)
{
	bool open = (r->state == RECORD_OPEN || r->state == RECORD_RETURNED) && !record_has_readings(r);
	enum status rc = OK;

	for (size_t i = 0; !rc && i < r->n_standards; i++) {
		const struct record_standard *s = &r->standards[i];
		bool input = s->role == STANDARD_INPUT;
		json_t *candidates = json_array();

		json_array_append_new(
			list, json_pack("{s:s, s:s, s:b, s:s, s:s, s:o, s:o}", "role", standard_role_word(s->role),
					"text", s->need, "optional", s->optional, "quantity",
					input ? r->instrument.input_quantity : r->instrument.output_quantity, "unit",
					input ? r->instrument.input_unit : r->instrument.output_unit, "chosen",
					chosen_json(r, s, a), "candidates", candidates));
		if (open)
			rc = candidates_json(db, r, s->role, a, candidates, err);
	}
	return rc;
}

static json_t *environment_json(const struct record *r)
{
	if (!r->has_environment)
		return json_null();
	return json_pack("{s:o, s:o, s:o}", "temperature_c", json_number_or_null(r->temperature_c), "humidity_percent",
			 json_number_or_null(r->humidity_percent), "pressure_hpa",
			 json_number_or_null(r->pressure_hpa));
}

static json_t *loop_json(const struct record *r, const struct wiring *w)
{
	const struct frozen_instrument *i = &r->instrument;

	if (!i->has_loop)
		return json_null();
	return json_pack("{s:f, s:f, s:f, s:f, s:o, s:o, s:b, s:b, s:s}", "supply_v", i->loop.supply_v, "device_v",
			 i->loop.device_v, "series_ohm", i->loop.series_ohm, "cable_ohm", i->loop.cable_ohm, "left_v",
			 json_number_or_null(w->budget.left_v), "most_ma", json_number_or_null(w->budget.most_ma),
			 "drives", w->budget.drives, "hart", i->hart, "sentence", w->sentence ? w->sentence : "");
}

static json_t *wiring_json(const struct record *r, struct arena *a)
{
	struct wiring w;
	json_t *list = json_array();

	record_wiring(r, a, &w);
	for (size_t i = 0; i < w.n_wires; i++)
		json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "from", w.wires[i].from, "to", w.wires[i].to,
						      "note", w.wires[i].note));
	return json_pack("{s:s, s:o, s:o}", "source", w.source, "connections", list, "loop", loop_json(r, &w));
}

static json_t *answer_json(const struct record_check *c)
{
	if (!c->answer)
		return json_null();
	return json_pack("{s:s, s:s?, s:s?, s:s, s:o}", "answer", c->answer, "observed", c->observed, "note", c->note,
			 "by", c->by, "at", json_time_or_null(c->at));
}

static json_t *checks_json(const struct record *r)
{
	json_t *list = json_array();

	for (size_t i = 0; i < r->n_checks; i++) {
		const struct record_check *c = &r->checks[i];

		json_array_append_new(
			list, json_pack("{s:s, s:s, s:s, s:o, s:o, s:o}", "key", c->key, "step_title", c->step_title,
					"text", c->text, "apply", json_number_or_null(c->apply), "shown_apply",
					shown_quantity(c->apply, r->input_decimals, r->instrument.input_unit), "answer",
					answer_json(c)));
	}
	return list;
}

static json_t *adjustment_json(const struct record *r)
{
	if (r->adjusted < 0)
		return json_null();
	return json_pack("{s:b, s:s, s:s?, s:o}", "made", r->adjusted, "text", r->adjustment, "by", r->adjusted_by,
			 "at", json_time_or_null(r->adjusted_at));
}

static json_t *signatures_json(const struct record *r)
{
	json_t *list = json_array();

	for (size_t i = 0; i < r->n_signatures; i++) {
		const struct record_signature *s = &r->signatures[i];

		json_array_append_new(list,
				      json_pack("{s:s, s:s, s:s, s:o, s:s}", "meaning", s->meaning, "name", s->name,
						"role", s->role, "at", json_time_or_null(s->at), "reason", s->reason));
	}
	return list;
}

static json_t *certificate_json(const struct record *r)
{
	if (!r->certificate_number)
		return json_null();
	return json_pack("{s:s, s:o, s:s, s:s, s:b, s:o, s:o}", "number", r->certificate_number, "issued_at",
			 json_time_or_null(r->certificate_at), "issued_by", r->certificate_by, "state",
			 r->certificate_state, "sealed", r->certificate_sealed, "reason",
			 json_text_or_null(r->certificate_reason), "replaced_by",
			 json_text_or_null(r->certificate_replaced_by));
}

static json_t *amends_json(const struct record *r)
{
	if (!r->amends)
		return json_null();
	return json_pack("{s:s, s:s, s:s}", "record_id", r->amends_record, "certificate", r->amends, "reason",
			 r->amendment_reason);
}

static json_t *limitation_json(const struct record *r)
{
	if (!r->limitation)
		return json_null();
	return json_pack("{s:s, s:s, s:o}", "text", r->limitation, "by", r->limitation_by, "at",
			 json_time_or_null(r->limitation_at));
}

static json_t *amended_by_json(const struct record *r)
{
	return r->amended_by ? json_pack("{s:s, s:s}", "record_id", r->amended_by, "number", r->amended_by_number) :
			       json_null();
}

static json_t *finding_json(const struct record *r)
{
	if (!r->finding_id)
		return json_null();
	return json_pack("{s:s, s:s, s:s}", "id", r->finding_id, "state", r->finding_state, "sentence",
			 r->finding_sentence);
}

static json_t *to_do_json(const struct record *r)
{
	struct record_todo todo[RECORD_TODO_MAX];
	size_t n = record_to_do(r, todo);
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(
			list, json_pack("{s:s, s:s}", "phase", record_phase_word(todo[i].phase), "text", todo[i].text));
	return list;
}

/* Where the plant asks for no approval none is offered; where it does, issuing waits for it. */
static json_t *may_json(const struct record *r, const struct actor *actor, bool approval)
{
	enum record_act not_now = !approval ? ACT_SIGN_APPROVED : record_approver(r) ? RECORD_ACTS : ACT_ISSUE;
	json_t *list = json_array();

	for (int act = 0; act < RECORD_ACTS; act++)
		if (act != (int)not_now && record_may(r, actor, (enum record_act)act))
			json_array_append_new(list, json_string(record_act_word((enum record_act)act)));
	return list;
}

static json_t *runs_json(const struct record *r)
{
	json_t *list = json_array();

	for (size_t i = 0; i < r->n_runs; i++)
		json_array_append_new(list, run_to_json(r, &r->runs[i]));
	return list;
}

/* Members in the order of docs/api.md, in two halves: what the test is, and how far it has come. */
static json_t *about_json(const struct record *r, json_t *needs)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:i, s:o, s:s, s:o, s:s, s:O, s:s?, s:O, s:o, s:o, s:o, s:b, s:s, s:s}",
			 "id", r->id, "number", r->number, "state", record_state_word(r->state), "phase",
			 record_phase_word(r->phase), "version", r->version, "opened_at",
			 json_time_or_null(r->opened_at), "opened_by", r->opened_by, "performed_at",
			 json_time_or_null(r->performed_at), "content_sha256", r->content_sha256, "instrument",
			 r->instrument_json, "schedule_id", r->schedule_id, "procedure", r->procedure_json, "cautions",
			 cautions_json(r), "needs", needs, "environment", environment_json(r), "environment_required",
			 r->procedure.environment, "condition", r->condition, "remarks", r->remarks);
}

static json_t *progress_json(const struct record *r, const struct actor *actor, bool approval, struct arena *a)
{
	return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "wiring", wiring_json(r, a),
			 "checks", checks_json(r), "runs", runs_json(r), "adjustment", adjustment_json(r), "signatures",
			 signatures_json(r), "certificate", certificate_json(r), "amends", amends_json(r), "amended_by",
			 amended_by_json(r), "limitation", limitation_json(r), "finding", finding_json(r), "to_do",
			 to_do_json(r), "may", may_json(r, actor, approval));
}

enum status record_to_json(struct db *db, const struct record *r, const struct actor *actor, struct arena *a,
			   json_t **out, struct err *err)
{
	json_t *needs = json_array(), *progress;
	struct settings settings;
	enum status rc = needs_json(db, r, a, needs, err);

	if (!rc)
		rc = settings_get(db, a, &settings, err);
	if (rc) {
		json_decref(needs);
		return rc;
	}
	*out = about_json(r, needs);
	progress = progress_json(r, actor, settings.approval, a);
	if (!*out || !progress || json_object_update(*out, progress)) {
		json_decref(*out);
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	}
	json_decref(progress);
	return rc;
}
