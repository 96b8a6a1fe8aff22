/* The document as a whole, and its administrative part. */
#include "report/dcc.h"

#include <libxml/parser.h>
#include <libxml/xmlsave.h>
#include <stdlib.h>
#include <string.h>
#include "certificate_internal.h"
#include "dcc_internal.h"
#include "dcc_xml.h"
#include "domain/record_view.h"

/* ISO 3166-1 keeps ZZ for its users; here it says that the plant has not named its country. */
#define NO_COUNTRY "ZZ"

static void software(struct dcc *d, xmlNodePtr administrative)
{
	xmlNodePtr node = dcc_add(d, dcc_add(d, administrative, "dccSoftware", NULL), "software", NULL);
	const char *program = d->o->program ? d->o->program : "", *release = strrchr(program, ' ');
	int name = release ? (int)(release - program) : (int)strlen(program);

	dcc_name(d, node, "name", words_say(d->w, "%.*s", name, program));
	dcc_token(d, node, "release", release);
	dcc_add(d, node, "type", "application");
}

/* The first and last day of the test, as the PDF has them: of its readings, else when it was signed or opened. */
static void test_days(struct dcc *d, xmlNodePtr core)
{
	int64_t first, last;
	char day[WHEN_SIZE];

	if (!tested_between(d->r, &first, &last))
		first = last = d->r->performed_at ? d->r->performed_at : d->r->opened_at;
	dcc_add(d, core, "beginPerformanceDate", dcc_date(first, day));
	dcc_add(d, core, "endPerformanceDate", dcc_date(last, day));
}

static void core_data(struct dcc *d, xmlNodePtr administrative)
{
	const struct record *r = d->r;
	xmlNodePtr core = dcc_add(d, administrative, "coreData", NULL), ids;
	char day[WHEN_SIZE];

	dcc_add(d, core, "countryCodeISO3166_1", d->o->country ? d->o->country : NO_COUNTRY);
	dcc_add(d, core, "usedLangCodeISO639_1", "en");
	dcc_add(d, core, "mandatoryLangCodeISO639_1", "en");
	dcc_token(d, core, "uniqueIdentifier", r->certificate_number);
	ids = dcc_add(d, core, "identifications", NULL);
	dcc_identification(d, ids, "calibrationLaboratory", "Test record", r->number, NULL);
	dcc_identification(d, ids, "calibrationLaboratory", "SHA-256 of what was signed", r->content_sha256,
			   TERM("contentHash"));
	dcc_identification(d, ids, "calibrationLaboratory", "Verify", d->o->verify_address, TERM("verification"));
	dcc_add(d, core, "receiptDate", dcc_date(r->opened_at, day));
	test_days(d, core);
	/* a round tests instruments where they stand; the plant is its own customer */
	dcc_add(d, core, "performanceLocation", "customer");
	dcc_add(d, core, "issueDate", dcc_date(r->certificate_at, day));
}

static void range(struct dcc *d, xmlNodePtr quantities, const char *side, const char *of, const char *unit,
		  const struct range *range)
{
	struct dcc_value what = {.ref_type = TERM("rangeLow"), .of = of, .unit = unit};
	int decimals = words_decimals(range->low, 6), high = words_decimals(range->high, 6);

	what.name = words_say(d->w, "Start of the %s range", side);
	dcc_one(d, quantities, "itemQuantity", &what, range->low, decimals);
	what.name = words_say(d->w, "End of the %s range", side);
	what.ref_type = TERM("rangeHigh");
	dcc_one(d, quantities, "itemQuantity", &what, range->high, high);
}

static void item(struct dcc *d, xmlNodePtr administrative)
{
	const struct frozen_instrument *i = &d->r->instrument;
	xmlNodePtr node = dcc_add(d, dcc_add(d, administrative, "items", NULL), "item", NULL), part;
	bool is_switch = d->r->runs[0].switched != NULL;

	dcc_attribute(d, node, "id", ID_ITEM);
	dcc_name(d, node, "name", words_joined(d->w, i->tag, ", ", i->service));
	part = dcc_words(d, node, "description", words_kind(d->w, i->kind));
	if (is_switch) {
		dcc_content(d, part, words_say(d->w, "Range: %s", words_input_range(d->w, i)));
		dcc_content(d, part, words_say(d->w, "Set point: %s", words_switch(d->w, i)));
	} else {
		dcc_content(d, part, words_say(d->w, "Range: %s", words_ranges(d->w, i)));
		dcc_content(d, part,
			    words_say(d->w, "Characteristic: %s", words_characteristic(d->w, &i->characteristic)));
	}
	dcc_content(d, part, words_joined(d->w, words_joined(d->w, "Place: ", "", i->area), ", ", i->location));
	dcc_attribute(d,
		      dcc_content(d, part,
				  words_say(d->w, "As received: %s",
					    d->r->condition && *d->r->condition ? d->r->condition : "not recorded")),
		      "refType", TERM("condition"));
	if (i->maker && *i->maker)
		dcc_name(d, dcc_add(d, node, "manufacturer", NULL), "name", i->maker);
	if (i->model && *i->model)
		dcc_token(d, node, "model", i->model);
	part = dcc_add(d, node, "identifications", NULL);
	dcc_identification(d, part, "customer", "Tag", i->tag, NULL);
	dcc_identification(d, part, "manufacturer", "Serial number", i->serial, NULL);
	part = dcc_add(d, node, "itemQuantities", NULL);
	range(d, part, "input", i->input_quantity, i->input_unit, &i->input);
	if (is_switch)
		dcc_switch_points(d, part);
	else
		range(d, part, "output", i->output_quantity, i->output_unit, &i->output);
}

/* Name and address; the schema wants a place of everybody, so one that is not recorded is said to be. */
static void contact(struct dcc *d, xmlNodePtr parent, const char *name, const char *further)
{
	xmlNodePtr place;
	const char *lines = d->o->plant_address;

	dcc_name(d, parent, "name", name);
	place = dcc_add(d, parent, "location", NULL);
	if (d->o->country)
		dcc_add(d, place, "countryCode", d->o->country);
	place = dcc_add(d, place, "further", NULL);
	if (!lines || !*lines)
		dcc_content(d, place, "address not recorded");
	while (lines && *lines) {
		size_t length = strcspn(lines, "\n");

		dcc_add(d, place, "content", words_say(d->w, "%.*s", (int)length, lines));
		lines += length + (lines[length] == '\n');
	}
	if (further)
		dcc_content(d, place, further);
}

static void laboratory(struct dcc *d, xmlNodePtr administrative)
{
	xmlNodePtr node = dcc_add(d, administrative, "calibrationLaboratory", NULL);

	contact(d, dcc_add(d, node, "contact", NULL), d->o->plant_name, NULL);
	dcc_add(d, node, DCC_SEAL_MARK, "false");
}

static void person(struct dcc *d, xmlNodePtr list, const char *deed, const char *name, const char *role, int64_t at,
		   const char *term, bool main)
{
	xmlNodePtr node = dcc_add(d, list, "respPerson", NULL), text;
	char when[WHEN_SIZE];

	dcc_name(d, dcc_add(d, node, "person", NULL), "name", name);
	text = dcc_words(d, node, "description", words_say(d->w, "%s, %s", deed, words_time(at, when)));
	if (term)
		dcc_attribute(d, dcc_add(d, text, "content", dcc_time(at, when)), "refType", term);
	if (role && *role)
		dcc_token(d, node, "role", role);
	dcc_add(d, node, "mainSigner", main ? "true" : "false");
}

static void signer(struct dcc *d, xmlNodePtr list, const char *deed, const struct record_signature *s, bool main)
{
	if (s)
		person(d, list, deed, s->name, s->role, s->at, TERM("signedAt"), main);
}

/* Of each meaning the signature that stands after a return. The main signer is who approved; without an approval who issued. */
static void persons(struct dcc *d, xmlNodePtr administrative)
{
	xmlNodePtr list = dcc_add(d, administrative, "respPersons", NULL);

	signer(d, list, words_performed(d->r), record_performer(d->r), false);
	signer(d, list, words_reviewed(), record_reviewer(d->r), false);
	signer(d, list, words_approved(), record_approver(d->r), true);
	person(d, list, words_issued(), d->r->certificate_by, NULL, d->r->certificate_at, NULL, !record_approver(d->r));
	signer(d, list, words_voided(), record_voider(d->r), false);
}

void dcc_administrative(struct dcc *d, xmlNodePtr root)
{
	xmlNodePtr node = dcc_add(d, root, "administrativeData", NULL);

	software(d, node);
	d->terms = dcc_add(d, node, "refTypeDefinitions", NULL);
	core_data(d, node);
	item(d, node);
	laboratory(d, node);
	persons(d, node);
	contact(d, dcc_add(d, node, "customer", NULL), d->o->plant_name,
		words_joined(d->w, "area ", "", d->r->instrument.area));
	dcc_statements(d, node);
}

static void document(struct dcc *d)
{
	xmlNodePtr root, note;

	d->doc = xmlNewDoc(BAD_CAST "1.0");
	root = d->doc ? xmlNewNode(NULL, BAD_CAST "digitalCalibrationCertificate") : NULL;
	note = d->doc ? xmlNewDocComment(d->doc, BAD_CAST DCC_UNSEALED) : NULL;
	if (!root || !note) {
		xmlFreeNode(root);
		xmlFreeNode(note);
		d->failed = true;
		return;
	}
	xmlDocSetRootElement(d->doc, root);
	xmlAddPrevSibling(root, note);
	d->ns = xmlNewNs(root, BAD_CAST DCC_NAMESPACE, BAD_CAST "dcc");
	d->si = xmlNewNs(root, BAD_CAST SI_NAMESPACE, BAD_CAST "si");
	xmlSetNs(root, d->ns);
	dcc_attribute(d, root, "schemaVersion", DCC_VERSION);
	dcc_administrative(d, root);
	dcc_measurements(d, root);
	dcc_terms(d, d->terms);
}

enum status dcc_xml(const struct record *r, const struct certificate_options *options, char **bytes, size_t *size,
		    struct err *err)
{
	struct words w = {0};
	struct dcc d = {.r = r, .o = options, .w = &w};
	enum status rc = OK;

	*bytes = NULL;
	*size = 0;
	if (!r->certificate_number)
		return err_set(err, CONFLICT, "", "a certificate is written only once it has a number");
	dcc_xml_begin();
	document(&d);
	if (d.unknown)
		rc = err_set(err, INVALID, "", "the record holds the unit %s, which is not known here", d.unknown);
	else if (d.failed || w.failed)
		rc = err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
	else
		rc = dcc_xml_bytes(d.doc, true, bytes, size, err);
	xmlFreeDoc(d.doc);
	arena_clear(&w.arena);
	return rc;
}
