/* The demo plant before its first test: people, places, procedures, standards, instruments and when they are due. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "demo_internal.h"
#include "domain/area.h"
#include "domain/demo.h"
#include "domain/instrument.h"
#include "domain/person.h"
#include "domain/procedure.h"
#include "domain/schedule.h"
#include "domain/channel.h"
#include "domain/standard.h"
#include "domain/tolerance_rule.h"
#include "metrology/characteristic.h"
#include "metrology/format.h"
#include "store/setting.h"

static const struct actor program = {.name = "Demo plant", .sign_in = ""};

static const char *demo_people_text(struct demo *d)
{
	json_t *list = json_array(), *demo;
	const char *text;

	for (int i = 0; i < DEMO_PEOPLE; i++)
		json_array_append_new(list, json_pack("{s:s, s:s, s:o}", "sign_in", demo_people[i].sign_in, "name",
						      demo_people[i].name, "roles",
						      person_roles_to_json(demo_people[i].roles)));
	demo = json_pack("{s:s, s:o}", "password", DEMO_PASSWORD, "people", list);
	text = json_canonical(demo, &d->arena);
	json_decref(demo);
	return text ? text : "null";
}

static enum status add_settings(struct demo *d)
{
	const char *const settings[][2] = {
		{"plant_name", "Brackenholm Water Works"},
		{"plant_address", "1 Intake Lane\nBrackenholm"},
		{"certificate_prefix", "BWW"},
		{"paper", "a4"},
		{"demo", demo_people_text(d)},
	};
	enum status rc = OK;

	for (size_t i = 0; i < sizeof settings / sizeof *settings && !rc; i++)
		rc = store_setting_put(d->db, settings[i][0], settings[i][1], time_now_ms(), d->err);
	return rc;
}

static enum status add_people(struct demo *d)
{
	enum status rc = OK;

	for (int i = 0; i < DEMO_PEOPLE && !rc; i++) {
		const struct demo_person *p = &demo_people[i];
		struct person row = {.sign_in = p->sign_in,
				     .name = p->name,
				     .roles = p->roles,
				     .password_hash = d->password_hash,
				     .active = true};

		rc = person_add(d->db, &program, &row, &d->arena, d->err);
		if (rc)
			break;
		memcpy(d->person[i], row.id, UUID_SIZE);
		d->actor[i] = (struct actor){
			.person_id = d->person[i], .name = p->name, .sign_in = p->sign_in, .roles = p->roles};
	}
	return rc;
}

static enum status add_areas(struct demo *d)
{
	enum status rc = OK;

	for (int i = 0; i < DEMO_AREAS && !rc; i++) {
		int parent = demo_areas[i].parent;
		struct area area = {.name = demo_areas[i].name, .parent_id = parent < 0 ? NULL : d->area[parent]};

		rc = area_add(d->db, &d->actor[DEMO_LEAD_1], &area, &d->arena, d->err);
		d->area[i] = area.id;
	}
	return rc;
}

static enum status add_rules(struct demo *d)
{
	static const char *const rules[][2] = {
		{"Control valve travel, ±3 % of span",
		 "{\"terms\":[{\"kind\":\"percent_of_span\",\"plus\":3}],\"join\":\"sum\"}"},
		{"Pressure and level, ±0.5 % of span",
		 "{\"terms\":[{\"kind\":\"percent_of_span\",\"plus\":0.5}],\"join\":\"sum\"}"},
		{"Turbidity, 2 % of reading plus 1 % of span",
		 "{\"terms\":[{\"kind\":\"percent_of_reading\",\"plus\":2},{\"kind\":\"percent_of_span\",\"plus\":1}],\"join\":\"sum\"}"},
	};
	enum status rc = OK;

	for (size_t i = 0; i < sizeof rules / sizeof *rules && !rc; i++) {
		struct tolerance_rule rule = {.name = rules[i][0], .rule_json = rules[i][1]};

		rc = tolerance_rule_add(d->db, &d->actor[DEMO_LEAD_1], &rule, &d->arena, d->err);
	}
	return rc;
}

/* Signs the draft as it stands. */
static enum status sign_draft(struct demo *d, const char *id)
{
	char hash[SHA256_HEX_SIZE];
	struct procedure_version v;
	enum status rc = store_procedure_version_in_state(d->db, id, "draft", &d->arena, &v, d->err);

	if (!rc)
		rc = procedure_content_sha256(&v, &d->arena, hash, d->err);
	if (!rc)
		rc = procedure_approve(d->db, &d->actor[DEMO_LEAD_1], id, hash, &d->arena, &v, d->err);
	return rc;
}

static enum status add_procedures(struct demo *d)
{
	enum status rc = OK;

	for (int i = 0; i < demo_procedures_count && !rc; i++) {
		json_t *first = demo_document(i, "before");
		json_t *body = json_pack("{s:s, s:o}", "code", demo_procedures[i].code, "document",
					 first ? first : demo_document(i, NULL));

		rc = procedure_add(d->db, &d->actor[DEMO_LEAD_2], body, &d->arena, &d->procedure[i], d->err);
		json_decref(body);
		if (!rc)
			rc = sign_draft(d, d->procedure[i]);
	}
	return rc;
}

static enum status change_draft(struct demo *d, int procedure, const char *version)
{
	json_t *document = demo_document(procedure, version);
	struct procedure_version v;
	enum status rc = procedure_draft_start(d->db, &d->actor[DEMO_LEAD_2], d->procedure[procedure], &d->arena, &v,
					       d->err);

	if (!rc)
		rc = procedure_draft_change(d->db, &d->actor[DEMO_LEAD_2], d->procedure[procedure], document, v.version,
					    &d->arena, &v, d->err);
	json_decref(document);
	return rc;
}

enum status demo_approve(struct demo *d, int procedure)
{
	enum status rc = change_draft(d, procedure, NULL);

	return rc ? rc : sign_draft(d, d->procedure[procedure]);
}

enum status demo_draft(struct demo *d, int procedure)
{
	return change_draft(d, procedure, "draft");
}

void demo_calibration(struct demo *d, int standard, int back, struct standard_calibration *out)
{
	const struct demo_standard *s = &demo_standards[standard];
	int32_t on = date_add_months(d->today - s->age, -12 * back);
	char text[DATE_TEXT_SIZE];
	struct arena *a = &d->arena;

	*out = (struct standard_calibration){
		.standard_id = d->standard[standard],
		.issued_by = DEMO_LABORATORY,
		.low = s->low,
		.high = s->high,
		.unit = s->unit,
		.expanded_uncertainty = s->expanded,
		.coverage_factor = 2,
		.traceability = s->traceability,
	};
	date_to_text(on, text);
	out->calibrated_on = arena_strdup(a, text);
	out->certificate_number = arena_printf(a, "FCL-%.4s-%04d", text, 100 + 17 * standard + back);
	date_to_text(date_add_months(on, 12), text);
	out->valid_until = arena_strdup(a, text);
}

/* Each with the certificate that was current when the history begins. */
static enum status add_standards(struct demo *d)
{
	enum status rc = OK;

	for (int i = 0; i < demo_standards_count && !rc; i++) {
		const struct demo_standard *s = &demo_standards[i];
		struct standard row = {.code = s->code,
				       .name = s->name,
				       .quantity = s->quantity,
				       .maker = "Quillstrand",
				       .model = s->model,
				       .serial = s->serial,
				       .status = "in_use"};
		int back = 0;

		while (date_add_months(d->today - s->age, -12 * back) > d->today - DEMO_DAYS)
			back++;
		demo_calibration(d, i, back, &row.calibration);
		rc = standard_add(d->db, &d->actor[DEMO_LEAD_1], &row, &d->arena, d->err);
		d->standard[i] = row.id;
	}
	return rc;
}

static const char *hazards_of(struct demo *d, const struct demo_instrument *in)
{
	const struct demo_model *m = &demo_models[in->model];
	json_t *list = json_array();
	const char *text;

	for (int i = 0; i < 3 && m->hazards[i]; i++)
		json_array_append_new(list, json_string(m->hazards[i]));
	if (!strcmp(demo_areas[in->area].name, "Chlorine store"))
		json_array_append_new(
			list,
			json_string(
				"Chlorine may be present: prove the gas alarm, wear the escape mask, and never go in alone."));
	text = json_canonical(list, &d->arena);
	json_decref(list);
	return text;
}

static struct range output_of(const struct demo_instrument *in, const struct demo_model *m)
{
	static const struct range any = {0, 1};
	struct characteristic c = {.kind = CHARACTERISTIC_RTD, .r0 = 100};

	if (m->output_low != m->output_high)
		return (struct range){m->output_low, m->output_high};
	if (in->model != M_TE && in->model != M_TK)
		return (struct range){in->low, in->high};
	if (in->model == M_TK)
		c = (struct characteristic){.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_K};
	return (struct range){round_decimals(characteristic_forward(&c, any, any, in->low), 3),
			      round_decimals(characteristic_forward(&c, any, any, in->high), 3)};
}

static enum status add_instrument(struct demo *d, int i)
{
	static const char *const places[] = {
		"On the pipe at head height", "Instrument stand by the stair", "Behind the pump",
		"Panel by the door",	      "On the walkway, east side",     "In the chamber, lid 2"};
	const struct demo_instrument *in = &demo_instruments[i];
	const struct demo_model *m = &demo_models[in->model];
	struct demo_chance c = demo_chance_of(in->tag, 3);
	struct instrument row = {
		.tag = in->tag,
		.service = in->service,
		.kind = m->kind,
		.area_id = d->area[in->area],
		.maker = m->maker,
		.model = m->model,
		.location = places[(int)demo_uniform(&c, 0, 6)],
		.input_quantity = m->input_quantity,
		.input_unit = m->input_unit,
		.output_quantity = m->output_quantity,
		.output_unit = m->output_unit,
		.input = {in->low, in->high},
		.output = output_of(in, m),
		.characteristic_json = m->characteristic,
		.has_loop = m->device_v > 0,
		.hart = m->device_v > 0,
		.loop = {24, m->device_v, 250, floor(demo_uniform(&c, 3, 19))},
		.hazards_json = hazards_of(d, in),
		.status = "in_service",
	};
	const struct demo_switch *s = demo_switch_of(in->tag);
	enum status rc;

	row.has_switch = s != NULL;
	if (s)
		row.switch_points = s->points;
	row.serial = arena_printf(&d->arena, "%02d-%05d", (int)demo_uniform(&c, 14, 24),
				  (int)demo_uniform(&c, 10000, 99999));
	rc = instrument_add(d->db, &d->actor[DEMO_LEAD_1], &row, &d->arena, d->err);
	d->instrument[i] = row.id;
	return rc;
}

static const char *evidence(int months)
{
	if (months <= 3)
		return "Drifts within weeks: three months keep the error inside its limits. Looked at every year.";
	if (months <= 6)
		return "Tests as found show about half the limit used up in six months.";
	if (months <= 12)
		return "Three tests in a row inside the adjust limits at twelve months.";
	return "An element that was never found outside; bearing alarms would show a break at once.";
}

static enum status add_schedule(struct demo *d, int i)
{
	const struct demo_instrument *in = &demo_instruments[i];
	int procedure = demo_procedure_index(demo_models[in->model].procedure);
	struct schedule row = {.instrument_id = d->instrument[i],
			       .procedure_id = d->procedure[procedure],
			       .interval_months = in->interval_months,
			       .evidence = evidence(in->interval_months),
			       .active = true};
	int32_t days[DEMO_TESTS_MAX], due;
	char text[DATE_TEXT_SIZE];
	enum status rc;

	demo_test_days(in, d->today, days, &due);
	date_to_text(days[0], text);
	row.due_on = text;
	if (in->group != G_REST || i % 2)
		row.assigned_to = d->person[i % 4 < 2 ? DEMO_TECHNICIAN_1 : DEMO_TECHNICIAN_2];
	rc = schedule_add(d->db, &d->actor[DEMO_LEAD_1], &row, &d->arena, d->err);
	d->schedule[i] = row.id;
	return rc;
}

/* Where `loopledger field simulate` answers by itself: the source that drives the sticky valve, and devices of the plant. */
#define SIM_PORT 9500

static enum status add_channel(struct demo *d, const char *instrument, const char *standard, int port,
			       const char *source)
{
	struct channel c = {.instrument_id = instrument, .standard_id = standard, .side = "output", .period_ms = 500};

	c.source_json = arena_printf(&d->arena, "{\"host\":\"127.0.0.1\",\"port\":%d,%s}", port, source);
	if (!c.source_json)
		return err_set(d->err, NO_MEMORY, "", "out of memory");
	return channel_add(d->db, &d->actor[DEMO_LEAD_1], &c, &d->arena, d->err);
}

static enum status add_channels(struct demo *d)
{
	static const char *const tags[] = {"FCV-2107", "PT-4101", "PT-2109", "TT-4111", "LT-1103"};
	static const char *const units[] = {"%", "bar", "mA", "°C", "kPa"};
	enum status rc = OK;

	for (int i = 0; i < 5 && !rc; i++)
		for (int k = 0; k < demo_instruments_count && !rc; k++)
			if (!strcmp(demo_instruments[k].tag, tags[i]))
				rc = add_channel(
					d, d->instrument[k], NULL, SIM_PORT + i,
					arena_printf(&d->arena,
						     "\"protocol\":\"hart_ip_udp\",\"unit\":\"%s\",\"variable\":\"%s\"",
						     units[i], strcmp(units[i], "mA") ? "pv" : "current"));
	for (int i = 0; i < 2 && !rc; i++)
		rc = add_channel(
			d, NULL, d->standard[demo_standard_index(i ? "MA-02" : "MA-01")], SIM_PORT + 5 + i,
			"\"protocol\":\"scpi\",\"query\":\"MEAS:CURR:DC?\",\"read_factor\":1000,\"unit\":\"mA\","
			"\"set\":\"SOUR:CURR %s\",\"set_factor\":0.001,\"drive\":{\"low\":3.8,\"high\":20.5,\"safe\":4}");
	/* What presses on PT-2109, whose loop current answers: a driven run of a transmitter. */
	return rc ? rc :
		    add_channel(d, NULL, d->standard[demo_standard_index("PL-01")], SIM_PORT + 7,
				"\"protocol\":\"modbus_tcp\",\"address\":17,\"registers\":\"input\",\"register\":0,"
				"\"format\":\"f32-abcd\",\"set_register\":0,\"unit\":\"kPa\","
				"\"drive\":{\"low\":0,\"high\":100,\"safe\":0}");
}

enum status demo_register(struct demo *d)
{
	enum status rc;

	demo_clock(d, d->today - DEMO_DAYS, 9);
	rc = add_settings(d);
	if (!rc)
		rc = add_people(d);
	if (!rc)
		rc = add_areas(d);
	if (!rc)
		rc = add_rules(d);
	if (!rc)
		rc = add_procedures(d);
	if (!rc)
		rc = add_standards(d);
	for (int i = 0; i < demo_instruments_count && !rc; i++) {
		rc = add_instrument(d, i);
		if (!rc)
			rc = add_schedule(d, i);
	}
	return rc ? rc : add_channels(d);
}
