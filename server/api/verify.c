/* Verification: what is on file of a certificate, and what a file that somebody holds is worth. Shows no more than the certificate
 * itself says, for whoever asks may be a stranger. */
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>

#include "api/api.h"
#include "api/handlers.h"
#include "base/log.h"
#include "domain/record.h"
#include "domain/setting.h"
#include "listing.h"
#include "report/check.h"
#include "store/test_record.h"

#define CHECKS_AT_ONCE 4

static json_t *signatures_json(const struct record *r)
{
	json_t *list = json_array();

	for (size_t i = 0; i < r->n_signatures; i++) {
		const struct record_signature *s = &r->signatures[i];

		if (strcmp(s->meaning, "performed") != 0 && strcmp(s->meaning, "reviewed") != 0 &&
		    strcmp(s->meaning, "approved") != 0)
			continue;
		json_array_append_new(list, json_pack("{s:s, s:s, s:o}", "meaning", s->meaning, "name", s->name, "at",
						      json_time_or_null(s->at)));
	}
	return list;
}

static const char *verdict_of(const struct record *r, enum run_kind kind)
{
	for (size_t i = 0; i < r->n_runs; i++)
		if (r->runs[i].kind == kind)
			return verdict_word(r->runs[i].sum.verdict);
	return NULL;
}

static json_t *certificate_json(const struct certificate *c, const struct record *r, int64_t tested_at,
				const char *plant)
{
	char sentence[CHECK_SENTENCE_SIZE];

	certificate_state_sentence(c, sentence, sizeof sentence);
	return json_pack("{s:s, s:s, s:s, s:s?, s:s?, s:s?, s:b, s:s?, s:s?, s:s, s:s, s:s, s:o, s:o, s:s?, s:s?, s:o}",
			 "number", c->number, "state", c->state, "sentence", sentence, "reason",
			 c->reason && *c->reason ? c->reason : NULL, "replaced_by", c->replaced_by, "amends", r->amends,
			 "sealed", c->sealed, "pdf_sha256", c->pdf_sha256, "xml_sha256", c->xml_sha256, "plant", plant,
			 "tag", r->instrument.tag, "service", r->instrument.service, "tested_at",
			 json_time_or_null(tested_at), "issued_at", json_time_or_null(c->issued_at), "as_found",
			 verdict_of(r, RUN_AS_FOUND), "as_left", verdict_of(r, RUN_AS_LEFT), "signatures",
			 signatures_json(r));
}

static enum status describe(struct request *req, struct db *db, const struct certificate *c, json_t **out,
			    struct err *err)
{
	struct first_test test; /* an amendment was signed later than it was tested */
	struct settings settings;
	struct record r;
	enum status rc = record_load(db, c->test_record_id, &req->arena, &r, err);

	if (!rc)
		rc = store_record_first_test(db, r.id, &req->arena, &test, err);
	if (!rc)
		rc = settings_get(db, &req->arena, &settings, err);
	if (rc)
		return rc;
	*out = certificate_json(c, &r, test.performed_at, settings.plant_name);
	return *out ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status api_verify_number(struct request *req, struct reply *reply)
{
	struct certificate c;
	enum status rc = store_certificate_get(api_db(req), req->params[0], &req->arena, &c, &reply->err);

	return rc ? rc : describe(req, api_db(req), &c, &reply->json, &reply->err);
}

static json_t *seals_json(const struct file_check *c)
{
	json_t *list = json_array();

	if (c->xml && c->document.signer[0])
		json_array_append_new(list, json_pack("{s:s, s:n, s:n, s:o, s:b, s:b}", "signer", c->document.signer,
						      "name", "meaning", "at", json_time_or_null(c->document.at_ms),
						      "stamped", false, "intact", c->document.sound));
	for (size_t i = 0; !c->xml && i < c->pdf.count; i++) {
		const struct seal_signature *s = &c->pdf.signature[i];

		json_array_append_new(list, json_pack("{s:s, s:o, s:o, s:o, s:b, s:b}", "signer", s->signer, "name",
						      json_text_or_null(s->name), "meaning",
						      json_text_or_null(s->reason), "at", json_time_or_null(s->at_ms),
						      "stamped", s->time == SEAL_TIME_STAMPED, "intact", s->intact));
	}
	return list;
}

static json_t *answer_json(const struct file_check *c, json_t *certificate)
{
	char sentences[CHECK_SENTENCES][CHECK_SENTENCE_SIZE];
	size_t n = check_sentences(c, true, sentences);
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, json_string(sentences[i]));
	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:o}", "verdict", check_verdict_word(c->verdict), "kind",
			 c->xml ? "xml" : "pdf", "sha256", c->sha256, "sentences", list, "seals", seals_json(c),
			 "certificate", certificate);
}

static enum status check(struct request *req, struct reply *reply)
{
	const struct app *app = req->app;
	struct check_roots roots = {0};
	struct db *db = store_read_begin(app->store);
	json_t *certificate = NULL;
	struct file_check c;
	enum status rc = issuer_roots(app->issuer, app->store, &roots.seal, &reply->err);

	if (rc) {
		log_error("a file cannot be looked at: %s", reply->err.message);
		rc = issuer_hide_places(app->issuer, &reply->err);
	}
	roots.stamp = issuer_stamp_roots(app->issuer);
	if (!rc)
		rc = check_file(db, &roots, req->body_text, req->body_size, &req->arena, &c, &reply->err);
	if (!rc && c.on_file)
		rc = describe(req, db, &c.certificate, &certificate, &reply->err);
	store_read_end(app->store, db);
	if (rc)
		return rc;
	return reply_json(reply, answer_json(&c, certificate ? certificate : json_null()));
}

enum status api_verify_file(struct request *req, struct reply *reply)
{
	static _Atomic int at_once;
	enum status rc = BUSY;

	if (atomic_fetch_add(&at_once, 1) < CHECKS_AT_ONCE)
		rc = check(req, reply);
	else
		err_set(&reply->err, BUSY, "", "several files are being looked at; try again shortly");
	atomic_fetch_sub(&at_once, 1);
	return rc;
}
