/* Instrument labels of records whose certificate stands. */
#include "api/api.h"
#include "api/handlers.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/record.h"
#include "listing.h"
#include "report/label.h"
#include "store/certificate.h"
#include "store/schedule.h"
#include "store/test_record.h"

#define LABELS_MAX 50
#define ID_LENGTH  36

static const char *const papers[] = {"a4", "letter", "roll-62x29", "roll-89x36", NULL};
static const char *const kinds[] = {"ordinary", "do-not-use", "limited", NULL};

struct wish {
	const char *kind, *author, *program;
	enum label_paper paper;
	int start;
};

static enum status read_start(struct request *req, struct wish *w, struct err *err)
{
	const char *text = listing_query(req, "start");

	w->start = !text ? 1 : strlen(text) <= 2 && strspn(text, "0123456789") == strlen(text) ? atoi(text) : 0;
	if (w->start < 1 || w->start > LABELS_PER_SHEET)
		return err_set(err, INVALID, "start", "start must be a whole number from 1 to %d", LABELS_PER_SHEET);
	return OK;
}

static enum status read_wish(struct request *req, struct wish *w, struct err *err)
{
	const char *paper;
	enum status rc = listing_word(req, "paper", papers, &paper, err);

	if (!rc)
		rc = listing_word(req, "kind", kinds, &w->kind, err);
	if (!rc)
		rc = read_start(req, w, err);
	if (rc)
		return rc;
	for (int i = 0; paper && papers[i]; i++)
		if (!strcmp(papers[i], paper))
			w->paper = (enum label_paper)i;
	return OK;
}

/* What the test ended with: as left when there is such a run, as found otherwise. */
static bool ended_outside(const struct record *r)
{
	enum verdict v = r->n_runs ? r->runs[r->n_runs - 1].sum.verdict : VERDICT_NOT_JUDGED;

	return v == VERDICT_FAIL || v == VERDICT_CONDITIONAL_FAIL;
}

static enum status choose_kind(const struct record *r, const struct wish *w, struct label *l, struct err *err)
{
	bool outside = ended_outside(r);

	if (!r->certificate_state || strcmp(r->certificate_state, "current") != 0)
		return err_set(err, CONFLICT, "records", "record %s has no certificate that stands", r->number);
	if (!w->kind)
		l->kind = r->limitation ? LABEL_LIMITED : outside ? LABEL_DO_NOT_USE : LABEL_ORDINARY;
	else if (!strcmp(w->kind, "limited"))
		l->kind = LABEL_LIMITED;
	else
		l->kind = strcmp(w->kind, "ordinary") ? LABEL_DO_NOT_USE : LABEL_ORDINARY;
	if (l->kind == LABEL_LIMITED && !r->limitation)
		return err_set(err, CONFLICT, "kind", "nobody has stated a limitation for %s yet: a lead does so on %s",
			       r->instrument.tag, r->number);
	if (l->kind == LABEL_ORDINARY && r->limitation)
		return err_set(err, CONFLICT, "kind", "%s is for limited use: %s", r->instrument.tag, r->limitation);
	if (l->kind == LABEL_ORDINARY && outside)
		return err_set(err, CONFLICT, "kind", "%s ended its test outside the limits: no ordinary label",
			       r->instrument.tag);
	return OK;
}

static enum status fill_label(struct request *req, const struct record *r, struct wish *w, struct label *l,
			      struct err *err)
{
	const struct app *app = req->app;
	struct certificate_options options;
	struct first_test test; /* an amendment was signed later than it was tested */
	struct schedule schedule;
	struct err none;
	char day[DATE_TEXT_SIZE];
	int64_t newer = 0;
	enum status rc = choose_kind(r, w, l, err);

	if (!rc)
		rc = store_certificate_newer(api_db(req), r->id, &newer, err);
	if (!rc && newer)
		rc = err_set(err, CONFLICT, "records",
			     "%s has been tested since: print the label of its newest certificate", r->instrument.tag);

	if (!rc)
		rc = store_record_first_test(api_db(req), r->id, &req->arena, &test, err);
	if (!rc)
		rc = issuer_options(app->issuer, api_db(req), r, &req->arena, &options, err);
	if (rc)
		return rc;
	date_to_text(date_of_time(test.performed_at), day);
	l->tag = arena_strdup(&req->arena, r->instrument.tag);
	l->service = arena_strdup(&req->arena, r->instrument.service);
	l->tested_on = arena_strdup(&req->arena, day);
	if (test.schedule_id && !store_schedule_get(api_db(req), test.schedule_id, &req->arena, &schedule, &none))
		l->due_on = schedule.due_on;
	l->by = test.performed_by;
	l->certificate = r->certificate_number;
	l->verify_address = options.verify_address;
	l->limitation = r->limitation;
	l->at = r->certificate_at;
	w->author = options.plant_name;
	w->program = options.program;
	return OK;
}

static enum status take_record(struct request *req, const char *id, struct wish *w, struct label *l, struct err *err)
{
	struct record r;
	enum status rc;

	if (!uuid_is_valid(id))
		return err_set(err, INVALID, "records", "records must be ids, separated by commas");
	rc = record_load(api_db(req), id, &req->arena, &r, err);
	if (rc)
		return rc;
	return fill_label(req, &r, w, l, err);
}

enum status api_labels(struct request *req, struct reply *reply)
{
	const char *at = listing_query(req, "records");
	struct label labels[LABELS_MAX] = {0};
	struct wish w = {0};
	size_t n = 0;
	enum status rc = read_wish(req, &w, &reply->err);

	if (!rc && !at)
		rc = err_set(&reply->err, INVALID, "records", "records must name 1 to %d records", LABELS_MAX);
	while (!rc && at) {
		size_t length = strcspn(at, ",");
		char id[ID_LENGTH + 1] = "";

		if (n == LABELS_MAX)
			return err_set(&reply->err, INVALID, "records", "records must name 1 to %d records",
				       LABELS_MAX);
		if (length == ID_LENGTH)
			memcpy(id, at, length);
		rc = take_record(req, id, &w, &labels[n++], &reply->err);
		at = at[length] ? at + length + 1 : NULL;
	}
	if (!rc)
		rc = label_pdf(labels, n, w.paper, w.start, w.author, w.program, &reply->bytes, &reply->size,
			       &reply->err);
	if (!rc) {
		strcpy(reply->file_name, "labels.pdf");
		reply->content_type = "application/pdf";
	}
	return rc;
}
