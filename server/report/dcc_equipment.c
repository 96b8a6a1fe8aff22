/* The reference standards that were used, and how each is traced. */
#include "dcc_internal.h"

#include <math.h>
#include "certificate_internal.h"

const struct record_standard *dcc_standard(const struct record *r, enum standard_role role)
{
	for (size_t i = 0; i < r->n_standards; i++)
		if (r->standards[i].chosen && r->standards[i].role == role)
			return &r->standards[i];
	return NULL;
}

/*
 * The schema's own place for a certificate demands a hash of the certificate's file, which the plant does not have; its
 * number, issuer and dates stand among the identifications instead.
 */
static void identifications(struct dcc *d, xmlNodePtr node, const struct record_standard *s)
{
	xmlNodePtr list = dcc_add(d, node, "identifications", NULL);

	dcc_identification(d, list, "customer", "Plant's code", s->code, NULL);
	dcc_identification(d, list, "manufacturer", "Serial number", s->serial, NULL);
	dcc_identification(d, list, "calibrationLaboratory", "Certificate number", s->certificate_number,
			   TERM("certificateNumber"));
	dcc_identification(d, list, "other", "Issued by", s->issued_by, TERM("issuedBy"));
	dcc_identification(d, list, "calibrationLaboratory", "Calibrated on", s->calibrated_on, TERM("calibratedOn"));
	dcc_identification(d, list, "customer", "Valid until", s->valid_until, TERM("validUntil"));
}

static void quantities(struct dcc *d, xmlNodePtr node, const struct record_standard *s)
{
	xmlNodePtr list = dcc_add(d, node, "measuringEquipmentQuantities", NULL);
	struct dcc_value what = {.unit = s->unit, .of = "value"};

	what.name = "Start of the range";
	what.ref_type = TERM("rangeLow");
	dcc_one(d, list, "measuringEquipmentQuantity", &what, s->low, words_decimals(s->low, 6));
	what.name = "End of the range";
	what.ref_type = TERM("rangeHigh");
	dcc_one(d, list, "measuringEquipmentQuantity", &what, s->high, words_decimals(s->high, 6));
	what.name = "Expanded uncertainty";
	what.ref_type = TERM("expandedUncertainty");
	what.difference = true;
	dcc_one(d, list, "measuringEquipmentQuantity", &what, s->expanded_uncertainty,
		words_decimals(s->expanded_uncertainty, 9));
	dcc_one(d, list, "measuringEquipmentQuantity",
		&(struct dcc_value){
			.name = "Coverage factor", .ref_type = TERM("coverageFactor"), .of = "number", .unit = "1"},
		s->coverage_factor, words_decimals(s->coverage_factor, 2));
}

void dcc_equipment(struct dcc *d, xmlNodePtr measurements)
{
	xmlNodePtr list = NULL, node, text;

	for (enum standard_role role = 0; role < STANDARD_ROLES; role++) {
		const struct record_standard *s = dcc_standard(d->r, role);

		if (!s)
			continue;
		if (!list)
			list = dcc_add(d, measurements, "measuringEquipments", NULL);
		node = dcc_add(d, list, "measuringEquipment", NULL);
		dcc_attribute(d, node, "id", role == STANDARD_INPUT ? ID_STANDARD_INPUT : ID_STANDARD_OUTPUT);
		dcc_attribute(d, node, "refType", "basic_normalUsed");
		dcc_name(d, node, "name", words_joined(d->w, s->code, ", ", s->name));
		text = dcc_words(d, node, "description",
				 role == STANDARD_INPUT ? "Reference standard for the input" :
							  "Reference standard for the output");
		if (s->traceability && *s->traceability)
			dcc_content(d, text, words_say(d->w, "Traceability: %s", s->traceability));
		if (standard_expired(d->r, s))
			dcc_content(d, text, "Its validity had run out on the day of the test.");
		if (s->maker && *s->maker)
			dcc_name(d, dcc_add(d, node, "manufacturer", NULL), "name", s->maker);
		if (s->model && *s->model)
			dcc_token(d, node, "model", s->model);
		identifications(d, node, s);
		quantities(d, node, s);
	}
}
