/* The parts of the document, in its order. */
#ifndef REPORT_DCC_INTERNAL_H
#define REPORT_DCC_INTERNAL_H

#include "dcc_quantity.h"

#define ID_ITEM		   "item"
#define ID_PROCEDURE	   "procedure"
#define ID_UNCERTAINTY	   "uncertainty"
#define ID_DECISION	   "decision"
#define ID_STANDARD_INPUT  "standard_input"
#define ID_STANDARD_OUTPUT "standard_output"

void dcc_administrative(struct dcc *d, xmlNodePtr root);
void dcc_statements(struct dcc *d, xmlNodePtr administrative);
void dcc_measurements(struct dcc *d, xmlNodePtr root);
void dcc_equipment(struct dcc *d, xmlNodePtr measurements);
/* One run: its readings, what they say together, its verdict. */
void dcc_run(struct dcc *d, xmlNodePtr measurements, const struct record_run *run);

/* dcc_switch.c: of a switch in place of readings and summary. */
void dcc_actuations(struct dcc *d, xmlNodePtr results, const struct record_run *run);
/* What the data sheet says of it, among the item's quantities. */
void dcc_switch_points(struct dcc *d, xmlNodePtr quantities);

/* dcc_dead_band.c: beside readings and summary, where the procedure sought it. */
void dcc_dead_band(struct dcc *d, xmlNodePtr results, const struct record_run *run);

/* The word of the schema; NULL for what is not judged. */
const char *dcc_conformity(enum verdict v);
/* The standard of a role that was used; NULL. */
const struct record_standard *dcc_standard(const struct record *r, enum standard_role role);

#endif
