/* The handlers that the route table names, resource by resource. */
#ifndef API_HANDLERS_H
#define API_HANDLERS_H

#include "http/http.h"

/* plant, session, people, settings, ledger: server/api/session.c, people.c, settings.c, ledger.c */
enum status api_plant_get(struct request *req, struct reply *reply);
enum status api_setup(struct request *req, struct reply *reply);
enum status api_session_open(struct request *req, struct reply *reply);
enum status api_session_get(struct request *req, struct reply *reply);
enum status api_session_close(struct request *req, struct reply *reply);
enum status api_session_password(struct request *req, struct reply *reply);
enum status api_people_list(struct request *req, struct reply *reply);
enum status api_people_add(struct request *req, struct reply *reply);
enum status api_people_get(struct request *req, struct reply *reply);
enum status api_people_change(struct request *req, struct reply *reply);
enum status api_people_password(struct request *req, struct reply *reply);
enum status api_settings_get(struct request *req, struct reply *reply);
enum status api_settings_change(struct request *req, struct reply *reply);
enum status api_ledger_list(struct request *req, struct reply *reply);
enum status api_ledger_export(struct request *req, struct reply *reply);
enum status api_ledger_check(struct request *req, struct reply *reply);

/* register: server/api/areas.c, instruments.c, units.c, tolerance_rules.c, procedures.c, standards.c, schedules.c, due.c */
enum status api_area_list(struct request *req, struct reply *reply);
enum status api_area_add(struct request *req, struct reply *reply);
enum status api_area_change(struct request *req, struct reply *reply);
enum status api_unit_list(struct request *req, struct reply *reply);
enum status api_instrument_list(struct request *req, struct reply *reply);
enum status api_instrument_add(struct request *req, struct reply *reply);
enum status api_instrument_get(struct request *req, struct reply *reply);
enum status api_instrument_change(struct request *req, struct reply *reply);
enum status api_tolerance_rule_list(struct request *req, struct reply *reply);
enum status api_tolerance_rule_add(struct request *req, struct reply *reply);
enum status api_tolerance_rule_change(struct request *req, struct reply *reply);
enum status api_tolerance_class_list(struct request *req, struct reply *reply);
enum status api_procedure_list(struct request *req, struct reply *reply);
enum status api_procedure_add(struct request *req, struct reply *reply);
enum status api_procedure_get(struct request *req, struct reply *reply);
enum status api_procedure_version_get(struct request *req, struct reply *reply);
enum status api_procedure_draft_start(struct request *req, struct reply *reply);
enum status api_procedure_draft_change(struct request *req, struct reply *reply);
enum status api_procedure_draft_remove(struct request *req, struct reply *reply);
enum status api_procedure_approve(struct request *req, struct reply *reply);
enum status api_procedure_example(struct request *req, struct reply *reply);
enum status api_standard_list(struct request *req, struct reply *reply);
enum status api_standard_add(struct request *req, struct reply *reply);
enum status api_standard_get(struct request *req, struct reply *reply);
enum status api_standard_change(struct request *req, struct reply *reply);
enum status api_standard_calibration_add(struct request *req, struct reply *reply);
enum status api_schedule_list(struct request *req, struct reply *reply);
enum status api_schedule_add(struct request *req, struct reply *reply);
enum status api_schedule_change(struct request *req, struct reply *reply);
enum status api_due_get(struct request *req, struct reply *reply);

/* test records: server/api/test_records.c, test_records_run.c, test_records_sign.c, certificates.c, findings.c */
enum status api_record_list(struct request *req, struct reply *reply);
enum status api_record_open(struct request *req, struct reply *reply);
enum status api_record_get(struct request *req, struct reply *reply);
enum status api_record_acknowledge(struct request *req, struct reply *reply);
enum status api_record_standards(struct request *req, struct reply *reply);
enum status api_record_environment(struct request *req, struct reply *reply);
enum status api_record_notes(struct request *req, struct reply *reply);
enum status api_record_check(struct request *req, struct reply *reply);
enum status api_reading_add(struct request *req, struct reply *reply);
enum status api_reading_undo(struct request *req, struct reply *reply);
enum status api_record_dead_band(struct request *req, struct reply *reply);
enum status api_record_adjustment(struct request *req, struct reply *reply);
enum status api_record_as_left(struct request *req, struct reply *reply);
enum status api_record_sign(struct request *req, struct reply *reply);
enum status api_record_return(struct request *req, struct reply *reply);
enum status api_record_void(struct request *req, struct reply *reply);
enum status api_record_limit(struct request *req, struct reply *reply);
enum status api_record_lift_limitation(struct request *req, struct reply *reply);
enum status api_record_amend(struct request *req, struct reply *reply);
enum status api_record_issue(struct request *req, struct reply *reply);
enum status api_record_certificate_pdf(struct request *req, struct reply *reply);
enum status api_record_certificate_xml(struct request *req, struct reply *reply);
enum status api_labels(struct request *req, struct reply *reply); /* labels.c */
enum status api_certificate_get(struct request *req, struct reply *reply);

/* server/api/channels.c, live.c */
enum status api_channel_list(struct request *req, struct reply *reply);
enum status api_channel_add(struct request *req, struct reply *reply);
enum status api_channel_change(struct request *req, struct reply *reply);
enum status api_channel_remove(struct request *req, struct reply *reply);
enum status api_channel_ask(struct request *req, struct reply *reply);
enum status api_channel_confirm(struct request *req, struct reply *reply);
enum status api_live_stream(struct request *req, struct reply *reply);
/* server/api/channel_frames.c */
enum status api_channel_push(struct request *req, struct reply *reply);
enum status api_channel_detach(struct request *req, struct reply *reply);

/* server/api/live_runs.c */
enum status api_live_run_get(struct request *req, struct reply *reply);
enum status api_live_run_begin(struct request *req, struct reply *reply);
enum status api_live_run_start(struct request *req, struct reply *reply);
enum status api_live_run_alive(struct request *req, struct reply *reply);
enum status api_live_run_stop(struct request *req, struct reply *reply);
enum status api_live_runs_list(struct request *req, struct reply *reply);
enum status api_live_runs_stop(struct request *req, struct reply *reply);
enum status api_trace_list(struct request *req, struct reply *reply);
enum status api_trace_csv(struct request *req, struct reply *reply);

/* server/api/batches.c */
enum status api_batch_add(struct request *req, struct reply *reply);
enum status api_batch_get(struct request *req, struct reply *reply);
enum status api_batch_cancel(struct request *req, struct reply *reply);
enum status api_batch_file(struct request *req, struct reply *reply);

/* server/api/verify.c */
enum status api_verify_number(struct request *req, struct reply *reply);
enum status api_verify_file(struct request *req, struct reply *reply);
enum status api_finding_list(struct request *req, struct reply *reply);
enum status api_finding_close(struct request *req, struct reply *reply);

/* computation: server/api/computation.c */
enum status api_compute(struct request *req, struct reply *reply);
enum status api_uncertainty_models(struct request *req, struct reply *reply);

/* pages and the API's own description: server/api/page.c */
enum status api_openapi(struct request *req, struct reply *reply);
enum status api_page(struct request *req, struct reply *reply);

#endif
