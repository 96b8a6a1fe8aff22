#include "domain/standard.h"

#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/spec_json.h"
#include "register.h"

#define DUE_SOON_DAYS 30

enum standard_state standard_state(const struct standard *s, int32_t today)
{
	int32_t last;

	if (s->status[0] == 'f')
		return STANDARD_FAILED;
	if (s->status[0] == 'o')
		return STANDARD_OUT_OF_USE;
	if (!s->calibration.id || !date_from_text(s->calibration.valid_until, &last))
		return STANDARD_NONE;
	if (last < today)
		return STANDARD_EXPIRED;
	return last - today <= DUE_SOON_DAYS ? STANDARD_DUE_SOON : STANDARD_VALID;
}

const char *standard_state_word(enum standard_state s)
{
	static const char *const words[] = {"valid", "due_soon", "expired", "none", "out_of_use", "failed"};

	return words[s];
}

static void read_calibration(struct json_in *in, struct standard_calibration *out)
{
	*out = (struct standard_calibration){
		.certificate_number = json_in_text(in, "certificate_number", 60),
		.issued_by = json_in_text(in, "issued_by", 120),
		.calibrated_on = json_in_date(in, "calibrated_on"),
		.valid_until = json_in_date(in, "valid_until"),
		.low = json_in_number(in, "low", -1e9, 1e9),
		.high = json_in_number(in, "high", -1e9, 1e9),
		.unit = unit_read(in, "unit"),
		.expanded_uncertainty = json_in_number(in, "expanded_uncertainty", 0, 1e9),
		.coverage_factor = json_in_number(in, "coverage_factor", 1, 10),
		.traceability = json_in_lines(in, "traceability", 500),
	};
	if (out->valid_until && out->calibrated_on && strcmp(out->valid_until, out->calibrated_on) <= 0)
		json_in_reject(in, "valid_until", "the certificate must be valid beyond the day of calibration");
	if (out->low >= out->high)
		json_in_reject(in, "high", "the range's high end must be above its low end");
	if (out->expanded_uncertainty == 0)
		json_in_reject(in, "expanded_uncertainty", "no standard is without uncertainty: it must be above zero");
}

enum status standard_calibration_from_json(json_t *body, struct standard_calibration *out, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	read_calibration(&in, out);
	return json_in_end(&in);
}

enum status standard_from_json(json_t *body, bool change, struct standard *out, struct err *err)
{
	static const char *const statuses[] = {"in_use", "out_of_use", "failed", NULL};
	struct json_in in, at;
	int status;

	json_in_begin(&in, body, err);
	*out = (struct standard){
		.code = json_in_text(&in, "code", 20),
		.name = json_in_text(&in, "name", 120),
		.quantity = json_in_text(&in, "quantity", 60),
		.maker = json_in_text_optional(&in, "maker", 80),
		.model = json_in_text_optional(&in, "model", 80),
		.serial = json_in_text_optional(&in, "serial", 80),
		.status = "in_use",
	};
	if (change) {
		status = json_in_word(&in, "status", statuses);
		out->status = statuses[status < 0 ? 0 : status];
		out->status_reason = json_in_lines_optional(&in, "status_reason", 500);
	} else if (json_in_has(&in, "calibration") && json_in_object(&in, "calibration", &at)) {
		read_calibration(&at, &out->calibration);
		json_in_end(&at);
		json_in_join(&in, &at);
	}
	return json_in_end(&in);
}

json_t *standard_calibration_to_json(const struct standard_calibration *c)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:f, s:f, s:s, s:f, s:f, s:s}", "id", c->id, "certificate_number",
			 c->certificate_number, "issued_by", c->issued_by, "calibrated_on", c->calibrated_on,
			 "valid_until", c->valid_until, "low", c->low, "high", c->high, "unit", c->unit,
			 "expanded_uncertainty", c->expanded_uncertainty, "coverage_factor", c->coverage_factor,
			 "traceability", c->traceability);
}

json_t *standard_summary_to_json(const struct standard *s, int32_t today)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:o, s:s}", "id", s->id, "code", s->code, "name", s->name,
			 "quantity", s->quantity, "status", s->status, "calibration",
			 s->calibration.id ? standard_calibration_to_json(&s->calibration) : json_null(), "state",
			 standard_state_word(standard_state(s, today)));
}

json_t *standard_to_json(const struct standard *s, int32_t today)
{
	json_t *json = standard_summary_to_json(s, today);
	json_t *more = json_pack("{s:s?, s:s?, s:s?, s:s?, s:i}", "maker", s->maker, "model", s->model, "serial",
				 s->serial, "status_reason", s->status_reason, "version", s->version);

	if (json && json_object_update(json, more)) {
		json_decref(json);
		json = NULL;
	}
	json_decref(more);
	return json;
}

static const char *today_text(char out[DATE_TEXT_SIZE])
{
	date_to_text(date_today(), out);
	return out;
}

static const char *new_id(struct arena *a)
{
	char id[UUID_SIZE];

	uuid7(id);
	return arena_strdup(a, id);
}

enum status standard_add(struct db *db, const struct actor *actor, struct standard *s, struct arena *a, struct err *err)
{
	struct standard_calibration c = s->calibration;
	char today[DATE_TEXT_SIZE];
	enum status rc;

	s->id = new_id(a);
	s->created_at = s->updated_at = time_now_ms();
	rc = store_standard_add(db, s, err);
	if (!rc && c.certificate_number) {
		c.id = new_id(a);
		c.standard_id = s->id;
		c.created_at = s->created_at;
		rc = store_standard_calibration_add(db, &c, err);
	}
	if (!rc)
		rc = store_standard_get(db, s->id, today_text(today), a, s, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "standard", s->id, s->code, NULL, standard_to_json(s, date_today()),
			     err);
}

enum status standard_change(struct db *db, const struct actor *actor, struct standard *s, struct arena *a,
			    struct err *err)
{
	struct standard before;
	char today[DATE_TEXT_SIZE];
	enum status rc = store_standard_get(db, s->id, today_text(today), a, &before, err);

	s->updated_at = time_now_ms();
	if (!rc)
		rc = store_standard_update(db, s, err);
	if (!rc)
		rc = store_standard_get(db, before.id, today, a, s, err);
	if (rc)
		return rc;
	return register_note(db, actor, "change", "standard", s->id, s->code, standard_to_json(&before, date_today()),
			     standard_to_json(s, date_today()), err);
}

enum status standard_calibration_add(struct db *db, const struct actor *actor, struct standard_calibration *c,
				     struct arena *a, struct err *err)
{
	struct standard s;
	char today[DATE_TEXT_SIZE];
	enum status rc = store_standard_get(db, c->standard_id, today_text(today), a, &s, err);

	if (rc)
		return rc;
	c->id = new_id(a);
	c->created_at = time_now_ms();
	rc = store_standard_calibration_add(db, c, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "standard_calibration", c->id, s.code, NULL,
			     standard_calibration_to_json(c), err);
}
