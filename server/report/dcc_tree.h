/*
 * Building the tree: elements of the two namespaces with text in them. A failed allocation is noted and asked for once,
 * at the end; every function takes a NULL parent then and does nothing.
 */
#ifndef REPORT_DCC_TREE_H
#define REPORT_DCC_TREE_H

#include <libxml/tree.h>
#include "report/certificate.h"
#include "words.h"

#define DCC_NAMESPACE "https://ptb.de/dcc"
#define SI_NAMESPACE  "https://ptb.de/si"
#define DCC_VERSION   "3.3.0"
#define DCC_TERMS_MAX 64

struct dcc {
	const struct record *r;
	const struct certificate_options *o;
	struct words *w;
	xmlDocPtr doc;
	xmlNsPtr ns, si;
	bool failed;	  /* memory was exhausted */
	xmlNodePtr terms; /* filled at the end, when it is known which of them are used */
	bool used[DCC_TERMS_MAX];
	const char *unknown; /* a unit without an expression; NULL */
};

/* A last child of the document's namespace; text may be NULL. Characters that XML cannot hold become U+FFFD. */
xmlNodePtr dcc_add(struct dcc *d, xmlNodePtr parent, const char *name, const char *text);
/* The same in the namespace of quantities. */
xmlNodePtr dcc_si(struct dcc *d, xmlNodePtr parent, const char *name, const char *text);
/* Nothing for a NULL value; a refType is noted as used. */
void dcc_attribute(struct dcc *d, xmlNodePtr node, const char *name, const char *value);
void dcc_term_used(struct dcc *d, const char *term);

/* A token: no white space at its ends and never empty; "not recorded" for NULL and "". */
xmlNodePtr dcc_token(struct dcc *d, xmlNodePtr parent, const char *name, const char *text);
/* An element with text for people: words of ours, in English, or a name in no language. */
xmlNodePtr dcc_words(struct dcc *d, xmlNodePtr parent, const char *name, const char *text);
xmlNodePtr dcc_name(struct dcc *d, xmlNodePtr parent, const char *name, const char *text);
/* Another paragraph in it. */
xmlNodePtr dcc_content(struct dcc *d, xmlNodePtr parent, const char *text);

char *dcc_date(int64_t ms, char out[WHEN_SIZE]); /* "2026-03-14" in UTC */
char *dcc_time(int64_t ms, char out[WHEN_SIZE]); /* "2026-03-14T10:42:07Z" */

/* issuer: "manufacturer", "calibrationLaboratory", "customer", "other". Nothing without a value. */
void dcc_identification(struct dcc *d, xmlNodePtr list, const char *issuer, const char *label, const char *value,
			const char *ref_type);

#endif
