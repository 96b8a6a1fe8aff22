/* Certificates: looked up by number, and drawn as PDF, and written for machines, from the record each time. */
#include "api/api.h"
#include "api/handlers.h"

#include <stdio.h>
#include <string.h>

#include "domain/record.h"
#include "domain/record_summary.h"
#include "domain/setting.h"
#include "listing.h"
#include "report/certificate.h"
#include "report/dcc.h"
#include "store/certificate.h"

enum status api_certificate_get(struct request *req, struct reply *reply)
{
	struct record_summary summary;
	struct certificate c;
	enum status rc = store_certificate_get(api_db(req), req->params[0], &req->arena, &c, &reply->err);

	if (!rc)
		rc = store_record_summary(api_db(req), c.test_record_id, &req->arena, &summary, &reply->err);
	if (rc)
		return rc;
	return reply_json(reply, json_pack("{s:s, s:s, s:o, s:o, s:s}", "number", c.number, "state", c.state, "record",
					   record_summary_to_json(&summary), "issued_at",
					   json_time_or_null(c.issued_at), "issued_by", c.issued_by_name));
}

static const char *verify_address(const struct app *app, const struct settings *settings, const char *number,
				  struct arena *a)
{
	const char *base = settings->public_address;
	int length;

	if (!base || !*base)
		return arena_printf(a, "http://127.0.0.1:%u/verify/%s", app->port, number);
	length = (int)strlen(base);
	while (length > 0 && base[length - 1] == '/')
		length--;
	return arena_printf(a, "%.*s/verify/%s", length, base, number);
}

/* What a certificate says of the plant; CONFLICT while there is no certificate. */
static enum status options_of(struct request *req, const struct record *r, struct certificate_options *options,
			      struct err *err)
{
	struct app *app = req->app;
	struct settings settings;
	enum status rc;

	if (!r->certificate_number)
		return err_set(err, CONFLICT, "", "%s has no certificate yet: it is issued after the review",
			       r->number);
	rc = settings_get(api_db(req), &req->arena, &settings, err);
	if (rc)
		return rc;
	*options = (struct certificate_options){
		.plant_name = settings.plant_name,
		.plant_address = *settings.plant_address ? settings.plant_address : NULL,
		.verify_address = verify_address(app, &settings, r->certificate_number, &req->arena),
		.paper = settings.paper,
		.program = arena_printf(&req->arena, "Loopledger %s", app->version),
	};
	return OK;
}

static enum status draw(struct request *req, struct reply *reply, const struct record *r)
{
	static const char *const papers[] = {"a4", "letter", NULL};
	struct certificate_options options;
	const char *paper;
	enum status rc = listing_word(req, "paper", papers, &paper, &reply->err);

	if (!rc)
		rc = options_of(req, r, &options, &reply->err);
	if (rc)
		return rc;
	if (paper)
		options.paper = strcmp(paper, "letter") ? PAPER_A4 : PAPER_LETTER;
	snprintf(reply->file_name, sizeof reply->file_name, "%s.pdf", r->certificate_number);
	reply->content_type = "application/pdf";
	return certificate_pdf(r, &options, &reply->bytes, &reply->size, &reply->err);
}

enum status api_record_certificate_pdf(struct request *req, struct reply *reply)
{
	struct record r;
	enum status rc = record_load(api_db(req), req->params[0], &req->arena, &r, &reply->err);

	if (rc)
		return rc;
	rc = draw(req, reply, &r);
	record_clear(&r);
	return rc;
}

enum status api_record_certificate_xml(struct request *req, struct reply *reply)
{
	struct certificate_options options;
	struct record r;
	enum status rc = record_load(api_db(req), req->params[0], &req->arena, &r, &reply->err);

	if (rc)
		return rc;
	rc = options_of(req, &r, &options, &reply->err);
	if (!rc) {
		snprintf(reply->file_name, sizeof reply->file_name, "%s.xml", r.certificate_number);
		reply->content_type = "application/xml";
		rc = dcc_xml(&r, &options, &reply->bytes, &reply->size, &reply->err);
	}
	record_clear(&r);
	return rc;
}
