/* The map of the server: what can be asked for, who may, and what the handler needs from the store. */
#include "api/api.h"
#include "api/handlers.h"

const struct route api_routes[] = {
	/* plant and sign-in */
	{"GET", "/api/v1/plant", PERM_PUBLIC, ROUTE_READ, false, api_plant_get},
	{"POST", "/api/v1/setup", PERM_PUBLIC, ROUTE_PLAIN, false, api_setup},
	{"POST", "/api/v1/session", PERM_PUBLIC, ROUTE_PLAIN, false, api_session_open},
	{"GET", "/api/v1/session", PERM_SIGNED_IN, ROUTE_READ, false, api_session_get},
	{"DELETE", "/api/v1/session", PERM_SIGNED_IN, ROUTE_WRITE, false, api_session_close},
	{"POST", "/api/v1/session/password", PERM_SIGNED_IN, ROUTE_PLAIN, true, api_session_password},
	{"GET", "/api/v1/settings", PERM_VIEW, ROUTE_READ, false, api_settings_get},
	{"PUT", "/api/v1/settings", PERM_ADMINISTER, ROUTE_WRITE, false, api_settings_change},

	/* people */
	{"GET", "/api/v1/people", PERM_VIEW, ROUTE_READ, false, api_people_list},
	{"POST", "/api/v1/people", PERM_ADMINISTER, ROUTE_PLAIN, false, api_people_add},
	{"GET", "/api/v1/people/{id}", PERM_VIEW, ROUTE_READ, false, api_people_get},
	{"PUT", "/api/v1/people/{id}", PERM_ADMINISTER, ROUTE_WRITE, false, api_people_change},
	{"POST", "/api/v1/people/{id}/password", PERM_ADMINISTER, ROUTE_PLAIN, false, api_people_password},

	/* register */
	{"GET", "/api/v1/areas", PERM_VIEW, ROUTE_READ, false, api_area_list},
	{"POST", "/api/v1/areas", PERM_MANAGE, ROUTE_WRITE, false, api_area_add},
	{"PUT", "/api/v1/areas/{id}", PERM_MANAGE, ROUTE_WRITE, false, api_area_change},
	{"GET", "/api/v1/units", PERM_VIEW, ROUTE_PLAIN, false, api_unit_list},
	{"GET", "/api/v1/instruments", PERM_VIEW, ROUTE_READ, false, api_instrument_list},
	{"POST", "/api/v1/instruments", PERM_MANAGE, ROUTE_WRITE, false, api_instrument_add},
	{"GET", "/api/v1/instruments/{id}", PERM_VIEW, ROUTE_READ, false, api_instrument_get},
	{"PUT", "/api/v1/instruments/{id}", PERM_MANAGE, ROUTE_WRITE, false, api_instrument_change},
	{"GET", "/api/v1/tolerance-rules", PERM_VIEW, ROUTE_READ, false, api_tolerance_rule_list},
	{"POST", "/api/v1/tolerance-rules", PERM_MANAGE, ROUTE_WRITE, false, api_tolerance_rule_add},
	{"PUT", "/api/v1/tolerance-rules/{id}", PERM_MANAGE, ROUTE_WRITE, false, api_tolerance_rule_change},
	{"GET", "/api/v1/tolerance-classes", PERM_VIEW, ROUTE_PLAIN, false, api_tolerance_class_list},
	{"GET", "/api/v1/procedures", PERM_VIEW, ROUTE_READ, false, api_procedure_list},
	{"POST", "/api/v1/procedures", PERM_MANAGE, ROUTE_WRITE, false, api_procedure_add},
	{"POST", "/api/v1/procedures/example", PERM_VIEW, ROUTE_READ, false, api_procedure_example},
	{"GET", "/api/v1/procedures/{id}", PERM_VIEW, ROUTE_READ, false, api_procedure_get},
	{"POST", "/api/v1/procedures/{id}/draft", PERM_MANAGE, ROUTE_WRITE, false, api_procedure_draft_start},
	{"PUT", "/api/v1/procedures/{id}/draft", PERM_MANAGE, ROUTE_WRITE, false, api_procedure_draft_change},
	{"DELETE", "/api/v1/procedures/{id}/draft", PERM_MANAGE, ROUTE_WRITE, false, api_procedure_draft_remove},
	{"POST", "/api/v1/procedures/{id}/approve", PERM_MANAGE, ROUTE_WRITE, true, api_procedure_approve},
	{"GET", "/api/v1/procedure-versions/{id}", PERM_VIEW, ROUTE_READ, false, api_procedure_version_get},
	{"GET", "/api/v1/standards", PERM_VIEW, ROUTE_READ, false, api_standard_list},
	{"POST", "/api/v1/standards", PERM_MANAGE, ROUTE_WRITE, false, api_standard_add},
	{"GET", "/api/v1/standards/{id}", PERM_VIEW, ROUTE_READ, false, api_standard_get},
	{"PUT", "/api/v1/standards/{id}", PERM_MANAGE, ROUTE_WRITE, false, api_standard_change},
	{"POST", "/api/v1/standards/{id}/calibrations", PERM_MANAGE, ROUTE_WRITE, false, api_standard_calibration_add},
	{"GET", "/api/v1/schedules", PERM_VIEW, ROUTE_READ, false, api_schedule_list},
	{"POST", "/api/v1/schedules", PERM_MANAGE, ROUTE_WRITE, false, api_schedule_add},
	{"PUT", "/api/v1/schedules/{id}", PERM_MANAGE, ROUTE_WRITE, false, api_schedule_change},
	{"GET", "/api/v1/due", PERM_VIEW, ROUTE_READ, false, api_due_get},

	/* test records */
	{"GET", "/api/v1/test-records", PERM_VIEW, ROUTE_READ, false, api_record_list},
	{"POST", "/api/v1/test-records", PERM_TEST, ROUTE_WRITE, false, api_record_open},
	{"GET", "/api/v1/test-records/{id}", PERM_VIEW, ROUTE_READ, false, api_record_get},
	{"PUT", "/api/v1/test-records/{id}/cautions/{key}", PERM_TEST, ROUTE_WRITE, false, api_record_acknowledge},
	{"PUT", "/api/v1/test-records/{id}/standards", PERM_TEST, ROUTE_WRITE, false, api_record_standards},
	{"PUT", "/api/v1/test-records/{id}/environment", PERM_TEST, ROUTE_WRITE, false, api_record_environment},
	{"PUT", "/api/v1/test-records/{id}/notes", PERM_TEST, ROUTE_WRITE, false, api_record_notes},
	{"PUT", "/api/v1/test-records/{id}/checks/{key}", PERM_TEST, ROUTE_WRITE, false, api_record_check},
	{"POST", "/api/v1/test-records/{id}/readings", PERM_TEST, ROUTE_PLAIN, false, api_reading_add},
	{"DELETE", "/api/v1/test-records/{id}/readings/{reading}", PERM_TEST, ROUTE_WRITE, false, api_reading_undo},
	{"PUT", "/api/v1/test-records/{id}/dead-band/{place}", PERM_TEST, ROUTE_WRITE, false, api_record_dead_band},
	{"PUT", "/api/v1/test-records/{id}/adjustment", PERM_TEST, ROUTE_WRITE, false, api_record_adjustment},
	{"POST", "/api/v1/test-records/{id}/as-left", PERM_TEST, ROUTE_WRITE, false, api_record_as_left},
	{"POST", "/api/v1/test-records/{id}/sign", PERM_VIEW, ROUTE_WRITE, true,
	 api_record_sign}, /* by its meaning: test or review */
	{"POST", "/api/v1/test-records/{id}/return", PERM_REVIEW, ROUTE_WRITE, true, api_record_return},
	{"POST", "/api/v1/test-records/{id}/void", PERM_MANAGE, ROUTE_WRITE, true, api_record_void},
	{"POST", "/api/v1/test-records/{id}/limitation", PERM_REVIEW, ROUTE_WRITE, false, api_record_limit},
	{"POST", "/api/v1/test-records/{id}/amend", PERM_REVIEW, ROUTE_WRITE, true, api_record_amend},
	{"POST", "/api/v1/test-records/{id}/certificate", PERM_REVIEW, ROUTE_PLAIN, false, api_record_issue},
	{"GET", "/api/v1/test-records/{id}/certificate.pdf", PERM_VIEW, ROUTE_DRAW, false, api_record_certificate_pdf},
	{"GET", "/api/v1/test-records/{id}/certificate.xml", PERM_VIEW, ROUTE_DRAW, false, api_record_certificate_xml},
	{"GET", "/api/v1/labels", PERM_VIEW, ROUTE_DRAW, false, api_labels},
	{"POST", "/api/v1/certificate-batches", PERM_VIEW, ROUTE_PLAIN, false, api_batch_add},
	{"GET", "/api/v1/certificate-batches/{id}", PERM_VIEW, ROUTE_PLAIN, false, api_batch_get},
	{"DELETE", "/api/v1/certificate-batches/{id}", PERM_VIEW, ROUTE_PLAIN, false, api_batch_cancel},
	{"GET", "/api/v1/certificate-batches/{id}/file", PERM_VIEW, ROUTE_PLAIN, false, api_batch_file},
	{"GET", "/api/v1/verify/{number}", PERM_VERIFY, ROUTE_READ, false, api_verify_number},
	{"POST", "/api/v1/verify", PERM_VERIFY, ROUTE_FILE, false, api_verify_file},
	{"GET", "/api/v1/certificates/{number}", PERM_VIEW, ROUTE_READ, false, api_certificate_get},
	{"GET", "/api/v1/findings", PERM_VIEW, ROUTE_READ, false, api_finding_list},
	{"POST", "/api/v1/findings/{id}/close", PERM_REVIEW, ROUTE_WRITE, true, api_finding_close},

	/* ledger */
	{"GET", "/api/v1/ledger", PERM_VIEW, ROUTE_READ, false, api_ledger_list},
	{"GET", "/api/v1/ledger/export", PERM_VIEW, ROUTE_DRAW, false, api_ledger_export},
	{"GET", "/api/v1/ledger/check", PERM_VIEW, ROUTE_DRAW, false, api_ledger_check},

	/* computation */
	{"POST", "/api/v1/compute/{kind}", PERM_VIEW, ROUTE_PLAIN, false, api_compute},
	{"GET", "/api/v1/uncertainty-models", PERM_VIEW, ROUTE_PLAIN, false, api_uncertainty_models},

	/* the API's own description, and the pages */
	{"GET", "/api/v1/openapi.json", PERM_PUBLIC, ROUTE_PLAIN, false, api_openapi},
	{"GET", "*", PERM_PUBLIC, ROUTE_PLAIN, false, api_page},
	{NULL, NULL, PERM_PUBLIC, ROUTE_PLAIN, false, NULL},
};
