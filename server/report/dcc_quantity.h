/* Quantities: one value, or a column of a table, by the rule of dcc_unit.h. */
#ifndef REPORT_DCC_QUANTITY_H
#define REPORT_DCC_QUANTITY_H

#include "dcc_tree.h"
#include "metrology/evaluation.h"

/* Terms of our own: each is told in the document itself (refTypeDefinitions). */
#define TERM(name) "loopledger_" name

struct dcc_value {
	const char *name, *ref_type; /* ref_type and ref_id may be NULL */
	const char *ref_id;
	const char *of; /* what is measured, for people: "travel"; NULL */
	const char *unit;
	bool difference;
};

/* One value in an element: "quantity", "itemQuantity", "measuringEquipmentQuantity". Nothing when it is not finite. */
void dcc_one(struct dcc *d, xmlNodePtr parent, const char *element, const struct dcc_value *what, double value,
	     int decimals);

struct dcc_column {
	struct dcc_value what;
	size_t n;
	double value[READINGS_MAX];
	int decimals[READINGS_MAX];
};

/* A column; U beside it (k = 2, about 95 %), NULL without. Returns the quantity, for dcc_meta. */
xmlNodePtr dcc_column(struct dcc *d, xmlNodePtr list, const struct dcc_column *c, const struct dcc_column *u);
/* A column of words without white space: "rising falling". */
xmlNodePtr dcc_column_words(struct dcc *d, xmlNodePtr list, const char *name, const char *ref_type, const char *words);

/* An entry of measurementMetaData in node, which gets that list when it has none yet. */
xmlNodePtr dcc_meta(struct dcc *d, xmlNodePtr node, const char *ref_type);

/* The definitions of those of our own terms that the document has used by now. */
void dcc_terms(struct dcc *d, xmlNodePtr list);

#endif
