#include "dcc_quantity.h"

#include <math.h>
#include <string.h>
#include "dcc_unit.h"

#define COVERAGE_FACTOR	     "2"
#define COVERAGE_PROBABILITY "0.95"

static struct dcc_unit unit_of(struct dcc *d, const struct dcc_value *what)
{
	struct dcc_unit u;

	if (dcc_unit_find(what->unit, what->difference, &u))
		return u;
	d->unknown = what->unit;
	return (struct dcc_unit){.si = "\\one", .factor = 1, .symbol = ""};
}

/* Name and, for people, what is measured and the unit as the trade writes it. */
static xmlNodePtr quantity(struct dcc *d, xmlNodePtr parent, const char *element, const struct dcc_value *what,
			   const struct dcc_unit *u)
{
	xmlNodePtr node = dcc_add(d, parent, element, NULL);

	dcc_attribute(d, node, "refType", what->ref_type);
	dcc_attribute(d, node, "refId", what->ref_id);
	dcc_words(d, node, "name", what->name);
	dcc_words(d, node, "description",
		  words_say(d->w, "%s%s%s%s", what->difference ? "difference of " : "", what->of ? what->of : "value",
			    strcmp(u->symbol, "1") == 0 ? "" : " in ", strcmp(u->symbol, "1") == 0 ? "" : u->symbol));
	return node;
}

static void real(struct dcc *d, xmlNodePtr parent, const char *value, const char *unit)
{
	xmlNodePtr node = dcc_si(d, parent, "real", NULL);

	dcc_si(d, node, "value", value);
	dcc_si(d, node, "unit", unit);
}

/* What no machine can know of a unit: in the metadata where there is room for them, else in the description. */
static void define(struct dcc *d, xmlNodePtr node, const struct dcc_unit *u, bool metadata)
{
	xmlNodePtr meta;

	if (!u->defined && !u->no_si)
		return;
	if (!metadata) {
		for (meta = node ? node->children : NULL; meta; meta = meta->next)
			if (xmlStrEqual(meta->name, BAD_CAST "description"))
				dcc_content(d, meta, dcc_unit_definition(d->w, u));
		return;
	}
	meta = dcc_meta(d, node, NULL);
	dcc_token(d, meta, "nonSIDefinition", dcc_unit_definition(d->w, u));
	dcc_token(d, meta, "nonSIUnit", u->symbol);
}

void dcc_one(struct dcc *d, xmlNodePtr parent, const char *element, const struct dcc_value *what, double value,
	     int decimals)
{
	struct dcc_unit u;
	xmlNodePtr node, hybrid;

	if (!isfinite(value))
		return;
	u = unit_of(d, what);
	node = quantity(d, parent, element, what, &u);
	hybrid = u.beside ? dcc_si(d, node, "hybrid", NULL) : node;
	real(d, hybrid, dcc_number_si(d->w, &u, value, decimals), u.si);
	if (u.beside)
		real(d, hybrid, dcc_number(d->w, value, decimals), u.beside);
	define(d, node, &u, strcmp(element, "quantity") == 0);
}

/* The values one after the other, in the SI unit or as read. */
static void list_values(struct dcc *d, xmlNodePtr parent, const char *name, const struct dcc_column *c,
			const struct dcc_unit *u, bool si)
{
	xmlBufferPtr text = xmlBufferCreate();

	for (size_t i = 0; text && i < c->n; i++) {
		if (i > 0)
			xmlBufferCat(text, BAD_CAST " ");
		xmlBufferCat(text, BAD_CAST(si ? dcc_number_si(d->w, u, c->value[i], c->decimals[i]) :
						 dcc_number(d->w, c->value[i], c->decimals[i])));
	}
	if (!text)
		d->failed = true;
	else
		dcc_si(d, parent, name, (const char *)xmlBufferContent(text));
	xmlBufferFree(text);
}

static void list(struct dcc *d, xmlNodePtr parent, const struct dcc_column *c, const struct dcc_column *uncertainty,
		 const struct dcc_unit *u, bool si)
{
	xmlNodePtr node = dcc_si(d, parent, "realListXMLList", NULL), mu;

	list_values(d, node, "valueXMLList", c, u, si);
	dcc_si(d, node, "unitXMLList", si ? u->si : u->beside);
	if (!uncertainty)
		return;
	mu = dcc_si(d, dcc_si(d, node, "measurementUncertaintyUnivariateXMLList", NULL), "expandedMUXMLList", NULL);
	list_values(d, mu, "valueExpandedMUXMLList", uncertainty, u, si);
	dcc_si(d, mu, "coverageFactorXMLList", COVERAGE_FACTOR);
	dcc_si(d, mu, "coverageProbabilityXMLList", COVERAGE_PROBABILITY);
	dcc_si(d, mu, "distributionXMLList", "normal");
}

xmlNodePtr dcc_column(struct dcc *d, xmlNodePtr parent, const struct dcc_column *c, const struct dcc_column *u)
{
	struct dcc_unit unit = unit_of(d, &c->what);
	xmlNodePtr node = quantity(d, parent, "quantity", &c->what, &unit),
		   hybrid = unit.beside ? dcc_si(d, node, "hybrid", NULL) : node;

	list(d, hybrid, c, u, &unit, true);
	if (unit.beside)
		list(d, hybrid, c, u, &unit, false);
	define(d, node, &unit, true);
	return node;
}

xmlNodePtr dcc_column_words(struct dcc *d, xmlNodePtr parent, const char *name, const char *ref_type, const char *words)
{
	xmlNodePtr node = dcc_add(d, parent, "quantity", NULL);

	dcc_attribute(d, node, "refType", ref_type);
	dcc_words(d, node, "name", name);
	dcc_add(d, node, "charsXMLList", words);
	return node;
}

xmlNodePtr dcc_meta(struct dcc *d, xmlNodePtr node, const char *ref_type)
{
	xmlNodePtr all = node ? node->last : NULL;

	if (!all || !xmlStrEqual(all->name, BAD_CAST "measurementMetaData"))
		all = dcc_add(d, node, "measurementMetaData", NULL);
	all = dcc_add(d, all, "metaData", NULL);
	dcc_attribute(d, all, "refType", ref_type);
	return all;
}
