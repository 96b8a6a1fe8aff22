/*
 * What a signature stands for: everything a person saw of the test, without what came later (signatures, state,
 * certificate). People appear by id, so that a changed name changes no old hash; numbers as typed; frozen documents, which
 * are stored in canonical form, by the SHA-256 of that text.
 */
#include <string.h>
#include "base/json.h"
#include "base/text.h"
#include "record_internal.h"

static json_t *answers(const struct record_rows *rows)
{
	json_t *list = json_array();

	for (size_t i = 0; i < rows->n_answers; i++) {
		const struct acknowledgement *k = &rows->answers[i];

		json_array_append_new(
			list, json_pack("{s:s, s:s, s:s, s:o, s:o, s:s, s:I}", "kind", k->kind, "key", k->key, "answer",
					k->answer, "observed", json_text_or_null(k->observed), "note",
					json_text_or_null(k->note), "by", k->person_id, "at", (json_int_t)k->at));
	}
	return list;
}

static json_t *hash_of(const char *text)
{
	char hash[SHA256_HEX_SIZE];

	sha256_hex(text, strlen(text), hash);
	return json_string(hash);
}

static json_t *standards(const struct record_rows *rows)
{
	json_t *list = json_array();

	for (size_t i = 0; i < rows->n_uses; i++)
		json_array_append_new(list, json_pack("{s:s, s:o}", "role", rows->uses[i].role, "standard",
						      hash_of(rows->uses[i].standard_json)));
	return list;
}

static json_t *readings(const struct stored_reading *d, size_t n)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list,
				      json_pack("{s:i, s:f, s:s, s:i, s:s, s:s, s:I, s:s, s:o*}", "point", d[i].point,
						"set", d[i].set, "direction", d[i].direction, "cycle", d[i].cycle,
						"applied", d[i].applied_text, "observed", d[i].observed_text,
						"taken_at", (json_int_t)d[i].taken_at, "by", d[i].person_id, "captured",
						d[i].captured_json ? hash_of(d[i].captured_json) : NULL));
	return list;
}

static json_t *dead_bands(const struct stored_dead_band *d, size_t n)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, json_pack("{s:i, s:s, s:s, s:s, s:I}", "place", d[i].place, "rising",
						      d[i].rising_text, "falling", d[i].falling_text, "by",
						      d[i].person_id, "at", (json_int_t)d[i].at));
	return list;
}

static json_t *runs(const struct record_rows *rows)
{
	json_t *list = json_array();

	for (size_t i = 0; i < rows->n_runs; i++) {
		json_t *run;

		if (rows->n_readings[i] == 0)
			continue;
		run = json_pack("{s:s, s:i, s:o}", "kind", rows->runs[i].kind, "attempt", rows->runs[i].attempt,
				"readings", readings(rows->readings[i], rows->n_readings[i]));
		if (rows->n_dead_bands[i])
			json_object_set_new(run, "dead_band", dead_bands(rows->dead_bands[i], rows->n_dead_bands[i]));
		json_array_append_new(list, run);
	}
	return list;
}

static json_t *environment(const struct record_rows *rows)
{
	if (!rows->has_environment)
		return json_null();
	return json_pack("{s:f, s:o, s:o}", "temperature_c", rows->environment.temperature_c, "humidity_percent",
			 json_number_or_null(rows->environment.humidity_percent), "pressure_hpa",
			 json_number_or_null(rows->environment.pressure_hpa));
}

static json_t *adjustment(const struct test_record *row)
{
	if (row->adjusted < 0)
		return json_null();
	return json_pack("{s:b, s:s, s:o, s:I}", "made", row->adjusted, "text", row->adjustment, "by",
			 json_text_or_null(row->adjusted_by), "at", (json_int_t)row->adjusted_at);
}

enum status record_content_hash(struct record *r, const struct record_rows *rows, struct arena *a, struct err *err)
{
	const struct test_record *row = &rows->row;
	json_t *all = json_pack("{s:s, s:o, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "number", row->number,
				"instrument", hash_of(row->instrument_json), "procedure", hash_of(row->procedure_json),
				"condition", row->condition, "remarks", row->remarks, "answers", answers(rows),
				"standards", standards(rows), "environment", environment(rows), "runs", runs(rows),
				"adjustment", adjustment(row));
	char *canonical;

	if (all && row->supersedes_id)
		json_object_set_new(
			all, "amends",
			json_pack("{s:s, s:s}", "record_id", row->supersedes_id, "reason", row->amendment_reason));
	canonical = all ? json_canonical(all, a) : NULL;

	json_decref(all);
	if (!canonical)
		return err_set(err, NO_MEMORY, "", "out of memory");
	sha256_hex(canonical, strlen(canonical), r->content_sha256);
	return OK;
}
