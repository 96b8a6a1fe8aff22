/* Statements on the certificate as a whole, each with the clause of ISO/IEC 17025 that asks for it. */
#include "dcc_internal.h"

#include <string.h>
#include "certificate_internal.h"

#define ISO_17025 "ISO/IEC 17025:2017"

/* The schema orders the members: convention, traceable, norm, reference, declaration, valid, date, conformity. */
struct statement {
	const char *ref_type, *name, *convention, *clause, *text, *conformity;
	const char *traceable, *valid, *date;
};

static void state(struct dcc *d, xmlNodePtr list, const struct statement *s)
{
	xmlNodePtr node;

	if (!s->text || !*s->text)
		return;
	node = dcc_add(d, list, "statement", NULL);
	dcc_attribute(d, node, "refType", s->ref_type);
	dcc_words(d, node, "name", s->name);
	if (s->convention)
		dcc_add(d, node, "convention", s->convention);
	if (s->traceable)
		dcc_add(d, node, "traceable", s->traceable);
	if (s->clause) {
		dcc_add(d, node, "norm", ISO_17025);
		dcc_add(d, node, "reference", s->clause);
	}
	dcc_words(d, node, "declaration", s->text);
	if (s->valid)
		dcc_add(d, node, "valid", s->valid);
	if (s->date)
		dcc_add(d, node, "date", s->date);
	if (s->conformity)
		dcc_add(d, node, "conformity", s->conformity);
}

static void conformity(struct dcc *d, xmlNodePtr list)
{
	const struct record *r = d->r;

	for (size_t k = 0; k < r->n_runs; k++) {
		const struct record_run *run = &r->runs[k];

		if (!run_stands(run))
			continue;
		state(d, list,
		      &(struct statement){
			      .ref_type = "basic_conformity",
			      .name = run->kind == RUN_AS_FOUND ? "Conformity as found" : "Conformity as left",
			      .clause = "7.8.6.2",
			      .text = words_say(d->w, "%s: %s. %s Limits %s: %s.",
						run->kind == RUN_AS_FOUND ? "As found" : "As left",
						words_verdict(run->sum.verdict), words_outcome(d->w, r, run),
						words_run(run->kind),
						words_tolerance(d->w, run->tolerance, r->instrument.output_unit)),
			      .conformity = dcc_conformity(run->sum.verdict)});
	}
}

/* Traced when each standard that was used says how, and was valid on the day of the test. */
static void traceability(struct dcc *d, xmlNodePtr list)
{
	const struct record *r = d->r;
	const char *text = "";
	bool traced = true;

	for (size_t i = 0; i < r->n_standards; i++) {
		const struct record_standard *s = &r->standards[i];

		if (!s->chosen)
			continue;
		text = words_joined(d->w, text, "; ",
				    words_say(d->w, "%s: %s", s->code,
					      s->traceability && *s->traceability ? s->traceability : "not recorded"));
		traced = traced && s->traceability && *s->traceability && !standard_expired(r, s);
	}
	state(d, list,
	      &(struct statement){.name = "Traceability",
				  .clause = "7.8.4.1 c",
				  .text = *text ? text : "No reference standard is recorded for this test.",
				  .traceable = *text && traced ? "true" : NULL});
}

/* A certificate that no longer stands. */
static void withdrawn(struct dcc *d, xmlNodePtr list)
{
	const struct record *r = d->r;
	const struct record_signature *voided = NULL;
	bool is_void = r->state == RECORD_VOID || (r->certificate_state && strcmp(r->certificate_state, "void") == 0),
	     amended = r->certificate_state && strcmp(r->certificate_state, "amended") == 0;
	char day[WHEN_SIZE];

	for (size_t i = 0; i < r->n_signatures; i++)
		if (strcmp(r->signatures[i].meaning, "voided") == 0)
			voided = &r->signatures[i];
	if (!is_void && !amended)
		return;
	state(d, list,
	      &(struct statement){
		      .ref_type = TERM("withdrawn"),
		      .name = is_void ? "Withdrawn" : "Amended",
		      .clause = "7.8.8",
		      .text = is_void ? words_joined(d->w,
						     "VOID: this certificate has been withdrawn and must not be used",
						     ". ", voided ? voided->reason : NULL) :
					"AMENDED: a later certificate takes the place of this one",
		      .valid = "false",
		      .date = is_void && voided ? dcc_date(voided->at, day) : NULL});
}

void dcc_statements(struct dcc *d, xmlNodePtr administrative)
{
	const struct record *r = d->r;
	xmlNodePtr list = dcc_add(d, administrative, "statements", NULL);
	const struct statement rest[] = {
		{.ref_type = TERM("decisionRule"),
		 .name = "Decision rule",
		 .convention = "ILAC-G8:09/2019",
		 .clause = "7.8.6.1",
		 .text = words_joined(d->w, words_limits(d->w, r), " ", words_decision(d->w, &r->procedure.decision))},
		{.name = "Scope",
		 .clause = "7.8.2.1 l",
		 .text = "Results relate only to the instrument named, at the time and under the conditions of the test."},
		{.name = "Reproduction",
		 .clause = "7.8.2.1",
		 .text = "To be reproduced only whole, unless the plant agrees in writing."},
		{.ref_type = TERM("deviations"),
		 .name = "Deviations",
		 .clause = "7.8.2.1 n",
		 .text = words_deviations(d->w, r)},
		{.name = "Adjustment", .clause = "7.8.4.1 d", .text = words_adjustment(d->w, r)},
		{.ref_type = TERM("interpretation"), .name = "Finding", .clause = "7.8.7", .text = r->finding_sentence},
		{.ref_type = TERM("amendment"),
		 .name = "Amendment",
		 .clause = "7.8.8.2",
		 .text = r->amends ? words_joined(d->w, words_say(d->w, "Amendment of certificate %s", r->amends), ": ",
						  r->amendment_reason) :
				     NULL},
		{.name = "Tested by", .clause = "7.8.2.1", .text = words_testers(d->w, r)},
		{.ref_type = TERM("remarks"), .name = "Remarks", .text = r->remarks},
		{.name = "Times", .text = "Dates and times are UTC."},
	};

	withdrawn(d, list);
	conformity(d, list);
	traceability(d, list);
	for (size_t i = 0; i < sizeof rest / sizeof rest[0]; i++)
		state(d, list, &rest[i]);
}
