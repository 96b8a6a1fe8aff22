/*
 * Finished records of the invented Brackenholm Water Works, built by hand and judged by the metrology core, for the tests
 * of the certificate. Everything lives in one struct sample, on the heap.
 */
#ifndef TESTS_CERTIFICATE_SAMPLE_H
#define TESTS_CERTIFICATE_SAMPLE_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "metrology/format.h"
#include "metrology/uncertainty.h"
#include "report/certificate.h"

#define SAMPLE_OPENED 1773478800000 /* 2026-03-14 09:00:00 UTC */
#define SAMPLE_MINUTE 60000
#define SAMPLE_VERIFY "http://127.0.0.1:8470/verify/BWW-2026-0017"

struct sample {
	struct record r;
	struct certificate_options options;
	struct record_point points[2][READINGS_MAX];
	char typed[2][READINGS_MAX][2][32];
	struct record_signature signatures[4];
	struct record_check checks[2];
};

static inline struct tolerance sample_tolerance(double percent_of_span)
{
	struct tolerance t = {.n_terms = 1, .join = JOIN_SUM};

	t.terms[0] = (struct tolerance_term){TOLERANCE_PERCENT_OF_SPAN, percent_of_span, percent_of_span};
	return t;
}

/* Judges the run's readings as the domain does: u from standards and resolution, then evaluation, diagnosis, sentences. */
static inline void sample_judge(struct sample *s, struct record_run *run)
{
	struct record *r = &s->r;
	struct test_setup setup = {.input = r->instrument.input,
				   .output = r->instrument.output,
				   .characteristic = r->instrument.characteristic,
				   .tolerance = *run->tolerance,
				   .decision = r->procedure.decision};
	static __thread struct reading readings[READINGS_MAX];
	static __thread struct judged_reading judged[READINGS_MAX];
	struct reference reference[2] = {{0, 2}, {0, 2}};
	size_t n = 0;

	for (size_t i = 0; i < r->n_standards; i++)
		if (r->standards[i].chosen)
			reference[r->standards[i].role] = (struct reference){r->standards[i].expanded_uncertainty,
									     r->standards[i].coverage_factor};
	for (size_t i = 0; i < run->n_points; i++) {
		struct record_point *q = &run->points[i];

		if (!q->read)
			continue;
		q->reading.u = reading_uncertainty(&setup.characteristic, setup.input, setup.output, q->reading.applied,
						   &reference[0], &reference[1], r->input_decimals, r->output_decimals);
		readings[n++] = q->reading;
	}
	run->n_read = n;
	run->complete = n == run->n_points;
	evaluate(&setup, readings, n, judged, &run->sum);
	diagnose(&setup, &r->procedure.adjust, &r->procedure.as_left, readings, judged, n, &run->diagnosis);
	diagnosis_sentence(&run->diagnosis, &run->sum, run->sentence);
	advice_sentence(&run->diagnosis, &setup, r->instrument.output_unit, r->output_decimals, run->advice);
	n = 0;
	for (size_t i = 0; i < run->n_points; i++)
		if (run->points[i].read)
			run->points[i].judged = judged[n++];
}

/* One reading as typed. */
static inline void sample_read(struct sample *s, int k, size_t i, double applied, double observed)
{
	struct record_point *q = &s->points[k][i];
	char *applied_text = s->typed[k][i][0], *observed_text = s->typed[k][i][1];

	snprintf(applied_text, 32, "%.*f", s->r.input_decimals, applied);
	snprintf(observed_text, 32, "%.*f", s->r.output_decimals, observed);
	q->read = true;
	q->applied_text = applied_text;
	q->observed_text = observed_text;
	q->by = "Maren Oldfield";
	q->taken_at = SAMPLE_OPENED + (70 + 60 * k + (int64_t)i) * SAMPLE_MINUTE;
	q->reading = (struct reading){.set = q->at.set,
				      .applied = strtod(applied_text, NULL),
				      .observed = strtod(observed_text, NULL),
				      .direction = q->at.direction,
				      .cycle = q->at.cycle};
}

/* A run through n points up and down, cycles times; the error in % of span is offset, growing by slope to the top, and
 * hysteresis more on the way down, with a little ripple so that no two readings are alike. */
static inline struct record_run *sample_run(struct sample *s, enum run_kind kind, size_t n, int cycles, double offset,
					    double slope, double hysteresis)
{
	static const double five[] = {0, 25, 50, 75, 100}, eleven[] = {0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100};
	struct record *r = &s->r;
	struct record_run *run = &r->runs[r->n_runs];
	struct test_point at[READINGS_MAX];
	int k = (int)r->n_runs++;

	*run = (struct record_run){.kind = kind,
				   .attempt = 1,
				   .id = "run",
				   .started_by = "Maren Oldfield",
				   .points = s->points[k],
				   .tolerance = kind == RUN_AS_FOUND ? &r->procedure.as_found : &r->procedure.as_left};
	run->n_points = points_generate(n == 5 ? five : eleven, n, PATTERN_UP_DOWN, cycles, r->instrument.input, at,
					READINGS_MAX);
	for (size_t i = 0; i < run->n_points; i++) {
		double fraction = at[i].percent / 100, expected, error;

		s->points[k][i].at = at[i];
		expected = characteristic_forward(&r->instrument.characteristic, r->instrument.input,
						  r->instrument.output, at[i].set);
		error = offset + slope * fraction +
			(at[i].direction == FALLING ? hysteresis * sin(M_PI * fraction) : 0) +
			0.04 * sin(2.3 * (double)i) * fabs(offset + hysteresis);
		sample_read(s, k, i, at[i].set, expected + error / 100 * range_span(r->instrument.output));
	}
	sample_judge(s, run);
	return run;
}

/* A dead band sought at 10 and 50 % of 4 to 20 mA, at most 0.25 % of 16 mA = 0.04 mA: 0.01 mA, and 0.05 mA = 0.3125 % outside. */
static inline void sample_dead_band(struct sample *s)
{
	static struct record_dead_place places[2];
	static struct record_dead_band band;
	struct record_run *run = &s->r.runs[0];

	places[0] = (struct record_dead_place){.percent = 10,
					       .set = 5.6,
					       .read = true,
					       .reading = {5.61, 5.60},
					       .rising_text = "5.61",
					       .falling_text = "5.60",
					       .by = "Maren Oldfield",
					       .at = run->points[0].taken_at,
					       .decimals = 2,
					       .value = 0.01,
					       .value_percent = 0.0625,
					       .verdict = VERDICT_PASS};
	places[1] = (struct record_dead_place){.percent = 50,
					       .set = 12,
					       .read = true,
					       .reading = {12.02, 11.97},
					       .rising_text = "12.02",
					       .falling_text = "11.97",
					       .by = "Maren Oldfield",
					       .at = run->points[0].taken_at,
					       .decimals = 2,
					       .value = 0.05,
					       .value_percent = 0.3125,
					       .verdict = VERDICT_FAIL};
	band = (struct record_dead_band){.places = places,
					 .n = 2,
					 .n_read = 2,
					 .limit = 0.04,
					 .limit_percent = 0.25,
					 .worst = &places[1],
					 .verdict = VERDICT_FAIL,
					 .hysteresis_alone = NAN};
	run->dead_band = &band;
	run->sum.verdict = VERDICT_FAIL;
}

static inline void sample_standards(struct record *r)
{
	r->standards[0] = (struct record_standard){
		.role = STANDARD_INPUT,
		.need = "current source 0 to 24 mA",
		.chosen = true,
		.id = "s1",
		.code = "REF-011",
		.name = "Loop calibrator",
		.maker = "Tarnwell",
		.model = "LC-3",
		.serial = "40712",
		.certificate_number = "HML-25-3381",
		.issued_by = "Harrow Moor Metrology Laboratory",
		.calibrated_on = "2025-09-02",
		.valid_until = "2026-09-01",
		.traceability =
			"to the SI through the national standard of direct current; accredited to ISO/IEC 17025",
		.unit = "mA",
		.low = 0,
		.high = 24,
		.expanded_uncertainty = 0.004,
		.coverage_factor = 2};
	r->standards[1] = (struct record_standard){
		.role = STANDARD_OUTPUT,
		.need = "travel scale",
		.optional = true,
		.chosen = true,
		.id = "s2",
		.code = "REF-027",
		.name = "Digital travel gauge",
		.maker = "Skell & Rowe",
		.model = "TG 100",
		.serial = "0093-B",
		.certificate_number = "HML-25-2904",
		.issued_by = "Harrow Moor Metrology Laboratory",
		.calibrated_on = "2025-06-20",
		.valid_until = "2026-06-19",
		.traceability = "to the SI through the national standard of length; accredited to ISO/IEC 17025",
		.unit = "%",
		.low = 0,
		.high = 100,
		.expanded_uncertainty = 0.1,
		.coverage_factor = 2};
	r->n_standards = 2;
}

/* FCV-2107, a control valve with positioner; no run yet. The caller frees it. */
static inline struct sample *sample_new(void)
{
	struct sample *s = calloc(1, sizeof *s);
	struct record *r = &s->r;

	r->id = "r1";
	r->number = "T-2026-0042";
	r->state = RECORD_CERTIFIED;
	r->phase = PHASE_DONE;
	r->instrument = (struct frozen_instrument){.id = "i1",
						   .tag = "FCV-2107",
						   .service = "Filter 2 outlet flow control valve",
						   .kind = "control valve with positioner",
						   .area = "Filters",
						   .location = "Filter gallery, bay 2",
						   .maker = "Aldercote",
						   .model = "DV-40",
						   .serial = "A-19-20773",
						   .input_quantity = "current",
						   .input_unit = "mA",
						   .output_quantity = "travel",
						   .output_unit = "%",
						   .input = {4, 20},
						   .output = {0, 100},
						   .characteristic = {.kind = CHARACTERISTIC_LINEAR}};
	r->procedure_code = "P-VALVE";
	r->procedure_number = 3;
	r->procedure_approved_by = "Ines Halloran";
	r->procedure_approved_at = 1767614400000; /* 2026-01-05 12:00 UTC */
	r->procedure.title = "Control valve: travel over signal, up and down";
	r->procedure.as_found = sample_tolerance(1);
	r->procedure.adjust = sample_tolerance(0.5);
	r->procedure.as_left = sample_tolerance(0.5);
	r->procedure.decision.kind = DECISION_SIMPLE;
	sample_standards(r);
	r->has_environment = true;
	r->temperature_c = 17.5;
	r->humidity_percent = 61;
	r->pressure_hpa = NAN;
	r->condition = "Clean, positioner cover tight, no leak at the stem.";
	r->remarks = "Tested on the bypass with the consent of the control room.";
	r->adjusted = -1;
	r->input_decimals = 2;
	r->output_decimals = 1;
	s->signatures[0] = (struct record_signature){
		"performed", "Maren Oldfield", "technician", "", "p1", SAMPLE_OPENED + 160 * SAMPLE_MINUTE + 7000};
	s->signatures[1] = (struct record_signature){
		"reviewed", "Ines Halloran", "metrology lead", "", "p2", SAMPLE_OPENED + 1490 * SAMPLE_MINUTE + 31000};
	r->signatures = s->signatures;
	r->n_signatures = 2;
	r->opened_by = "Maren Oldfield";
	r->opened_at = SAMPLE_OPENED;
	r->performed_at = s->signatures[0].at;
	r->certificate_number = "BWW-2026-0017";
	r->certificate_by = "Tomas Verrin";
	r->certificate_state = "current";
	r->certificate_at = SAMPLE_OPENED + 1500 * SAMPLE_MINUTE; /* 2026-03-15 10:00 UTC */
	memset(r->content_sha256, 'a', 64);
	s->options = (struct certificate_options){.plant_name = "Brackenholm Water Works",
						  .plant_address = "Weir Lane 1\nBrackenholm",
						  .verify_address = SAMPLE_VERIFY,
						  .paper = PAPER_A4,
						  .program = "Loopledger 0.1.0"};
	return s;
}

/* The zero was 1.2 % of span high; it was adjusted, and every reading is inside afterwards. 9 + 9 readings. */
static inline struct sample *sample_adjusted(void)
{
	struct sample *s = sample_new();

	sample_run(s, RUN_AS_FOUND, 5, 1, 1.2, 0, 0.2);
	sample_run(s, RUN_AS_LEFT, 5, 1, 0.1, -0.1, 0.2);
	s->r.adjusted = 1;
	s->r.adjustment = "Zero of the positioner lowered by 1.2 % of span.";
	s->r.adjusted_by = "Maren Oldfield";
	s->r.adjusted_at = SAMPLE_OPENED + 100 * SAMPLE_MINUTE;
	return s;
}

#endif
