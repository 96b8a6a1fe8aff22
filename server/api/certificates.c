/* Certificates: looked up by number; the sealed files as they were issued, or drawn from the record. */
#include "api/api.h"
#include "api/handlers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "domain/record.h"
#include "domain/record_summary.h"
#include "listing.h"
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

/* A certificate that no longer stands is shown with that written across it; as it was issued on request. */
static bool wants_issued(struct request *req, const struct record *r)
{
	const char *as = listing_query(req, "as");

	return !strcmp(r->certificate_state, "current") || (as && !strcmp(as, "issued"));
}

/* NOT_FOUND when it is to be drawn. */
static enum status take_issued(struct request *req, struct reply *reply, const struct record *r, const char *paper,
			       bool xml)
{
	struct certificate_file file;
	enum status rc;

	if (!r->certificate_number || !r->certificate_sealed || !wants_issued(req, r))
		return NOT_FOUND;
	rc = store_certificate_file_get(api_db(req), r->certificate_number, &req->arena, &file, &reply->err);
	if (rc)
		return rc;
	if (paper && strcmp(paper, file.paper) != 0)
		return NOT_FOUND;
	reply->size = xml ? file.xml_size : file.pdf_size;
	reply->bytes = malloc(reply->size);
	if (!reply->bytes)
		return err_set(&reply->err, NO_MEMORY, "", "out of memory");
	memcpy(reply->bytes, xml ? file.xml : file.pdf, reply->size);
	return OK;
}

static enum status draw(struct request *req, struct reply *reply, const struct record *r, const char *paper, bool xml)
{
	const struct app *app = req->app;
	struct certificate_options options;
	enum status rc = issuer_options(app->issuer, api_db(req), r, &req->arena, &options, &reply->err);

	if (rc)
		return rc;
	if (paper)
		options.paper = strcmp(paper, "letter") ? PAPER_A4 : PAPER_LETTER;
	return xml ? dcc_xml(r, &options, &reply->bytes, &reply->size, &reply->err) :
		     certificate_pdf(r, &options, &reply->bytes, &reply->size, &reply->err);
}

static enum status give(struct request *req, struct reply *reply, bool xml)
{
	static const char *const papers[] = {"a4", "letter", NULL}, *const forms[] = {"issued", NULL};
	const char *paper, *as;
	struct record r;
	enum status rc = listing_word(req, "paper", papers, &paper, &reply->err);

	if (!rc)
		rc = listing_word(req, "as", forms, &as, &reply->err);
	if (!rc)
		rc = record_load(api_db(req), req->params[0], &req->arena, &r, &reply->err);
	if (rc)
		return rc;
	rc = take_issued(req, reply, &r, paper, xml);
	if (rc == NOT_FOUND)
		rc = draw(req, reply, &r, paper, xml);
	if (!rc) {
		snprintf(reply->file_name, sizeof reply->file_name, "%s.%s", r.certificate_number, xml ? "xml" : "pdf");
		reply->content_type = xml ? "application/xml" : "application/pdf";
	}
	return rc;
}

enum status api_record_certificate_pdf(struct request *req, struct reply *reply)
{
	return give(req, reply, false);
}

enum status api_record_certificate_xml(struct request *req, struct reply *reply)
{
	return give(req, reply, true);
}
