/* From a reviewed record to the sealed files, outside the writer; then into the plant's file in one transaction. */
#include "report/issue.h"

#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/time.h"
#include "domain/record_view.h"
#include "domain/setting.h"
#include "issuer_internal.h"
#include "report/dcc.h"
#include "report/seal.h"
#include "words.h"

/* What is being made. Bytes are malloc'ed. */
struct making {
	struct issuer *issuer;
	struct seal_key *key;
	struct settings settings;
	struct record *r;
	enum issue_step step; /* that is being taken */
	int64_t sealed_at;    /* claimed in the signatures */
	struct certificate_options options;
	struct arena *a;
	struct err *err;
	char *xml, *pdf;
	size_t xml_size, pdf_size;
};

/* ---- what stands on it ---- */

static const char *verify_address(const struct issuer *i, const struct settings *s, const char *number, struct arena *a)
{
	const char *base = s->public_address;
	int length = (int)strlen(base);

	if (!length)
		return arena_printf(a, "http://127.0.0.1:%u/verify/%s", i->port, number);
	while (length > 0 && base[length - 1] == '/')
		length--;
	return arena_printf(a, "%.*s/verify/%s", length, base, number);
}

static struct certificate_options options_of(const struct issuer *i, const struct settings *s, const char *number,
					     struct arena *a)
{
	return (struct certificate_options){
		.plant_name = s->plant_name,
		.plant_address = *s->plant_address ? s->plant_address : NULL,
		.verify_address = verify_address(i, s, number, a),
		.paper = s->paper,
		.program = i->program,
		.country = *s->country ? s->country : NULL,
	};
}

enum status issuer_options(struct issuer *i, struct db *db, const struct record *r, struct arena *a,
			   struct certificate_options *options, struct err *err)
{
	struct settings settings;
	enum status rc;

	if (!r->certificate_number)
		return err_set(err, CONFLICT, "", "%s has no certificate yet: it is issued after the review",
			       r->number);
	rc = settings_get(db, a, &settings, err);
	if (!rc)
		*options = options_of(i, &settings, r->certificate_number, a);
	return rc;
}

/* ---- the files ---- */

static enum status write_xml(struct making *m)
{
	char *plain = NULL;
	size_t size;
	enum status rc = dcc_xml(m->r, &m->options, &plain, &size, m->err);

	if (!rc)
		rc = dcc_sign(m->key, plain, size, m->sealed_at, &m->xml, &m->xml_size, m->err);
	free(plain);
	return rc;
}

/* Nobody sees the fields: what they would show stands on the page. Those of people come first, the plant's last. */
struct revision {
	const char *field, *hint, *name, *reason;
};

#define STEPS_MAX 4

static void add_step(struct making *m, struct revision *steps, size_t *n, const struct record_signature *s,
		     const char *field, const char *hint, const char *did)
{
	char when[TIME_TEXT_SIZE];

	if (!s)
		return;
	time_to_text(s->at, when);
	steps[(*n)++] = (struct revision){field, hint, s->name,
					  arena_printf(m->a, "%s, signed in the record at %s", did, when)};
}

static size_t lay_out_steps(struct making *m, struct revision steps[STEPS_MAX])
{
	size_t n = 0;

	if (m->settings.seal_each) {
		add_step(m, steps, &n, record_performer(m->r), "performed", "Signature of who performed the test",
			 words_performed(m->r));
		add_step(m, steps, &n, record_reviewer(m->r), "reviewed", "Signature of who reviewed the record",
			 words_reviewed());
		add_step(m, steps, &n, record_approver(m->r), "approved", "Signature of who approved the certificate",
			 "Approved the certificate");
	}
	steps[n++] = (struct revision){"seal", "Seal of the plant", m->settings.plant_name,
				       arena_printf(m->a, "Seal of certificate %s", m->r->certificate_number)};
	return n;
}

static enum status finish(struct making *m, const char *drawn, size_t drawn_size, const struct revision *steps,
			  size_t n)
{
	struct seal_field fields[STEPS_MAX];
	struct seal_attachment xml = {.name = arena_printf(m->a, "%s.xml", m->r->certificate_number),
				      .mime = "text/xml",
				      .description = "The certificate for machines (DCC)",
				      .bytes = m->xml,
				      .size = m->xml_size,
				      .modified_ms = m->r->certificate_at};
	const char *alternatives[CERTIFICATE_FIGURES_MAX];
	struct seal_finish_options options = {.language = "en",
					      .fields = fields,
					      .field_count = n,
					      .attachments = &xml,
					      .attachment_count = 1,
					      .alternatives = alternatives};
	enum status rc = certificate_alternatives(m->r, &m->options, m->a, alternatives, &options.alternative_count,
						  m->err);

	if (rc)
		return rc;
	for (size_t i = 0; i < n; i++)
		fields[i] = (struct seal_field){.name = steps[i].field, .hint = steps[i].hint, .page = 1};
	return seal_finish(drawn, drawn_size, &options, &m->pdf, &m->pdf_size, m->err);
}

static enum status sign_step(struct making *m, const struct revision *step, const struct seal_stamp_authority *stamp)
{
	struct seal_sign_options options = {.field = step->field,
					    .name = step->name,
					    .reason = step->reason,
					    .at_ms = m->sealed_at,
					    .stamp = stamp};
	char *next = NULL;
	size_t size;
	enum status rc = seal_sign(m->key, m->pdf, m->pdf_size, &options, &next, &size, m->err);

	if (rc)
		return rc;
	free(m->pdf);
	m->pdf = next;
	m->pdf_size = size;
	return OK;
}

static enum status sign_all(struct making *m, const struct revision *steps, size_t n)
{
	struct seal_stamp_authority authority = {.url = m->settings.time_stamp, .roots = issuer_stamp_roots(m->issuer)};
	enum status rc = OK;

	m->step = *m->settings.time_stamp ? ISSUE_STAMP : ISSUE_KEY;
	if (*m->settings.time_stamp && !authority.roots)
		return err_set(
			m->err, INVALID, "",
			"a time stamp authority is set, but none is trusted: start the program with --stamp-roots");
	for (size_t i = 0; i < n && !rc; i++)
		rc = sign_step(m, &steps[i], *m->settings.time_stamp ? &authority : NULL);
	return rc;
}

static enum status write_pdf(struct making *m)
{
	struct revision steps[STEPS_MAX];
	size_t n = lay_out_steps(m, steps), drawn_size;
	char *drawn = NULL;
	enum status rc = certificate_pdf(m->r, &m->options, &drawn, &drawn_size, m->err);

	if (!rc)
		rc = finish(m, drawn, drawn_size, steps, n);
	free(drawn);
	return rc ? rc : sign_all(m, steps, n);
}

static enum status make_files(struct making *m)
{
	struct seal_key_facts facts;
	enum status rc;

	m->step = ISSUE_DATES;
	rc = seal_key_check(m->key, m->sealed_at, m->err);
	if (rc)
		return rc;
	m->step = ISSUE_DRAW;
	seal_key_facts(m->key, &facts);
	m->options = options_of(m->issuer, &m->settings, m->r->certificate_number, m->a);
	m->options.sealed = true;
	m->options.root_fingerprint = *facts.root_fingerprint ? arena_strdup(m->a, facts.root_fingerprint) : NULL;
	rc = write_xml(m);
	return rc ? rc : write_pdf(m);
}

static void drop_files(struct making *m)
{
	free(m->xml);
	free(m->pdf);
}

/* ---- issuing ---- */

struct issuing {
	const struct actor *actor;
	const char *record_id;
	enum issue_step step;
	struct certificate_reservation reservation;
	int64_t at;
	const struct certificate_file *files;
	struct arena *a;
};

static enum status reserve(struct db *db, void *context, struct err *err)
{
	struct issuing *g = context;

	return certificate_reserve(db, g->actor, g->record_id, g->a, &g->reservation, err);
}

static enum status take_in(struct db *db, void *context, struct err *err)
{
	const struct issuing *g = context;

	return certificate_issue(db, g->actor, g->record_id, &g->reservation, g->at, g->files, g->a, err);
}

static enum status read_for_making(struct store *store, const char *record_id, struct making *m)
{
	struct db *db = store_read_begin(store);
	enum status rc = settings_get(db, m->a, &m->settings, m->err);

	if (!rc)
		rc = record_load(db, record_id, m->a, m->r, m->err);
	store_read_end(store, db);
	return rc;
}

static enum status make_and_take_in(struct issuing *g, struct making *m, struct store *store)
{
	struct certificate_file files;
	enum status rc;

	m->r->certificate_number = g->reservation.number;
	m->r->certificate_by = g->actor->name;
	m->r->certificate_state = "current";
	m->r->certificate_at = m->sealed_at = g->at;
	rc = make_files(m);
	if (rc)
		return rc;
	files = (struct certificate_file){.number = g->reservation.number,
					  .paper = paper_word(m->options.paper),
					  .pdf = m->pdf,
					  .pdf_size = m->pdf_size,
					  .xml = m->xml,
					  .xml_size = m->xml_size};
	g->files = &files;
	m->step = ISSUE_KEEP;
	return store_write(store, take_in, g, m->err);
}

static enum status issue_sealed(struct issuing *g, struct issuer *issuer, struct store *store, struct err *err)
{
	struct record r;
	struct making m = {.issuer = issuer, .r = &r, .step = ISSUE_KEY, .a = g->a, .err = err};
	enum status rc = issuer_key(issuer, store, &m.key, err);

	if (rc)
		log_error("a certificate could not be sealed: %s", err->message);
	if (!rc)
		rc = read_for_making(store, g->record_id, &m);
	if (!rc)
		rc = make_and_take_in(g, &m, store);
	drop_files(&m);
	g->step = m.step;
	return rc;
}

enum status issuer_issue(struct issuer *issuer, struct store *store, const struct actor *actor, const char *record_id,
			 struct err *err)
{
	struct arena a = {0};
	struct issuing g = {.actor = actor, .record_id = record_id, .at = time_now_ms(), .a = &a};
	enum status rc = store_write(store, reserve, &g, err);

	if (!rc && issuer->unsealed)
		g.step = ISSUE_KEEP;
	if (!rc)
		rc = issuer->unsealed ? store_write(store, take_in, &g, err) : issue_sealed(&g, issuer, store, err);
	issuer_note(issuer, record_id, g.step, rc, err);
	if (rc && g.step == ISSUE_KEY)
		rc = issuer_hide_places(issuer, err);
	if (!rc && !issuer->unsealed)
		rc = ledger_checkpoint(store, issuer_ledger_seal(issuer, store), "certificate", NULL, err);
	arena_clear(&a);
	return rc;
}

/* ---- sealing what was issued before ---- */

struct sealing {
	const struct actor *actor;
	const struct certificate_file *files;
	struct arena *a;
};

static enum status take_seal(struct db *db, void *context, struct err *err)
{
	const struct sealing *s = context;

	return certificate_seal(db, s->actor, s->files, s->a, err);
}

static enum status seal_record(struct making *m, struct store *store, const struct actor *actor)
{
	struct certificate_file files;
	struct sealing s = {actor, &files, m->a};
	enum status rc;

	m->sealed_at = m->r->certificate_at;
	m->r->certificate_state = "current"; /* as when it was issued */
	rc = make_files(m);
	if (rc)
		return rc;
	files = (struct certificate_file){.number = m->r->certificate_number,
					  .paper = paper_word(m->options.paper),
					  .pdf = m->pdf,
					  .pdf_size = m->pdf_size,
					  .xml = m->xml,
					  .xml_size = m->xml_size};
	return store_write(store, take_seal, &s, m->err);
}

static enum status seal_one(struct issuer *issuer, struct store *store, const struct actor *actor, const char *number,
			    struct err *err)
{
	struct arena a = {0};
	struct record r;
	struct making m = {.issuer = issuer, .r = &r, .a = &a, .err = err};
	struct certificate c;
	struct db *db = store_read_begin(store);
	enum status rc = store_certificate_get(db, number, &a, &c, err);

	store_read_end(store, db);
	if (!rc)
		rc = issuer_key(issuer, store, &m.key, err);
	if (!rc)
		rc = read_for_making(store, c.test_record_id, &m);
	if (!rc) {
		rc = seal_record(&m, store, actor);
		drop_files(&m);
	}
	arena_clear(&a);
	return rc;
}

enum status issuer_seal_all(struct issuer *issuer, struct store *store, const struct actor *actor, size_t *n,
			    struct err *err)
{
	struct arena a = {0};
	const char **numbers;
	struct db *db = store_read_begin(store);
	enum status rc = store_certificate_unsealed(db, &a, &numbers, n, err);

	store_read_end(store, db);
	for (size_t i = 0; i < *n && !rc; i++)
		rc = seal_one(issuer, store, actor, numbers[i], err);
	arena_clear(&a);
	return rc;
}
