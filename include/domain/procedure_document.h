/*
 * What an approved procedure says, as a struct: read from and written to the JSON document of docs/api.md.
 * All text and arrays are allocated from the arena given to the reader.
 */
#ifndef DOMAIN_PROCEDURE_DOCUMENT_H
#define DOMAIN_PROCEDURE_DOCUMENT_H

#include "base/arena.h"
#include "base/json.h"
#include "metrology/evaluation.h"
#include "metrology/points.h"

#define DEAD_BAND_PLACES_MAX 9

enum step_kind { STEP_CHECKLIST, STEP_POINTS, STEP_SWITCH };
enum standard_role { STANDARD_INPUT, STANDARD_OUTPUT, STANDARD_ROLES };

struct caution {
	const char *key, *text;
};

struct need {
	enum standard_role role;
	const char *text;
	bool optional;
};

struct check_item {
	const char *key, *text;
	double apply; /* input in % of its span; NaN when nothing is applied */
};

struct step {
	enum step_kind kind;
	const char *title;
	struct check_item *items; /* checklist */
	size_t n_items;
	double *percent; /* points: % of the input span, ascending */
	size_t n_percent;
	enum point_pattern pattern;
	int cycles;
	bool within_signal; /* points beyond what a 4-20 mA signal can say (NAMUR NE 43) are drawn in */
	enum error_at error_at;
	double *dead_band_percent; /* points: where the dead band is sought too, % of the input span, ascending */
	size_t n_dead_band;
	double dead_band_limit; /* the most allowed, % of the input span; NaN: none is set */
	int actuations;		/* switch: how often it is made to act */
	bool reads_reset;	/* and where it goes back is read too */
	int settle_s;		/* points and switch: before a reading; the pause between actuations */
};

struct procedure_document {
	const char *title, *purpose;
	const char **kinds; /* instrument kinds it is for */
	size_t n_kinds;
	const char **preparation;
	size_t n_preparation;
	struct caution *cautions;
	size_t n_cautions;
	struct need needs[STANDARD_ROLES];
	size_t n_needs;
	struct step *steps;
	size_t n_steps;
	struct tolerance as_found, adjust, as_left; /* n_terms 0 where the document says null */
	struct decision_rule decision;
	bool environment; /* ambient conditions must be recorded */
	const char *adjustment;
};

/* INVALID with a pointer from the document's root ("/steps/1/percent/2") when it breaks a rule. */
enum status procedure_document_read(json_t *json, struct arena *a, struct procedure_document *out, struct err *err);
/* The step that is judged, of kind points or switch; there is exactly one. */
const struct step *procedure_judged_step(const struct procedure_document *d);

#endif
