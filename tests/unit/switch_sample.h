/* A finished record of a switch. */
#ifndef TESTS_SWITCH_SAMPLE_H
#define TESTS_SWITCH_SAMPLE_H

#include "support/check.h"
#include "unit/certificate_sample.h"

/*
 * A pressure switch, 0 to 20 bar, that acts at 16 bar rising with a dead band of 0.5 to 2 bar; limits 1 % of span, 0.2 bar.
 * It acted at 16.07, 15.98 and 16.25 bar and went back at 14.96, 14.90 and 15.00 bar.
 */
static inline struct sample *sample_switch(void)
{
	static const double acted[] = {16.07, 15.98, 16.25}, back[] = {14.96, 14.90, 15.00};
	static struct record_switch s; /* one sample at a time */
	static struct actuation actuations[3];
	static struct judged_actuation judged[3];
	struct sample *sample = sample_new();
	struct record *r = &sample->r;
	struct record_run *run = &r->runs[r->n_runs++];

	r->instrument.input_quantity = r->instrument.output_quantity = "gauge pressure";
	r->instrument.input_unit = r->instrument.output_unit = "bar(g)";
	r->instrument.input = r->instrument.output = (struct range){0, 20};
	r->instrument.has_switch = true;
	r->instrument.switch_points = (struct switch_points){16, NAN, RISING, {0.5, 2}};
	r->standards[0].unit = "bar(g)";
	r->n_standards = 1;
	r->input_decimals = r->output_decimals = 2;
	*run = (struct record_run){.kind = RUN_AS_FOUND,
				   .attempt = 1,
				   .complete = true,
				   .tolerance = &r->procedure.as_found,
				   .points = sample->points[0],
				   .n_points = 6,
				   .n_read = 6,
				   .switched = &s};
	s = (struct record_switch){.spec = {.input = r->instrument.input, .tolerance = r->procedure.as_found},
				   .reads_reset = true,
				   .per_cycle = 2,
				   .wanted = 3,
				   .actuations = actuations,
				   .judged = judged,
				   .n = 3};
	switch_points_take(&r->instrument.switch_points, &s.spec);
	for (size_t i = 0; i < 6; i++) {
		sample->points[0][i].at = (struct test_point){
			.set = 16, .direction = i % 2 ? FALLING : RISING, .cycle = (int)i / 2 + 1};
		sample_read(sample, 0, i, i % 2 ? back[i / 2] : acted[i / 2], i % 2 ? back[i / 2] : acted[i / 2]);
		sample->points[0][i].reading.u = 0.01;
		actuations[i / 2] = (struct actuation){acted[i / 2], back[i / 2]};
	}
	assert_true(switch_evaluate(&s.spec, actuations, 3, judged, &s.sum));
	for (size_t i = 0; i < 3; i++)
		sample->points[0][2 * i].judged = (struct judged_reading){.error = judged[i].set_error,
									  .limits = s.sum.limits,
									  .acceptance = s.sum.limits,
									  .verdict = judged[i].set_verdict};
	run->sum.verdict = s.sum.verdict;
	return sample;
}

#endif
