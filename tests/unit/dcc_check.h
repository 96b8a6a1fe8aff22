/*
 * Checks on a machine-readable certificate, made from the rules in docs/machine-readable.md and not from the schema's file:
 * which members each element has and in which order, that every unit can be read, every reference resolves, every column of
 * a table has the same length. With LOOPLEDGER_DCC_SCHEMA naming the published schema (dcc.xsd, version 3.3.0, what it
 * imports beside it), every document is validated against that as well.
 */
#ifndef TESTS_DCC_CHECK_H
#define TESTS_DCC_CHECK_H

#include <libxml/parser.h>
#include <libxml/tree.h>
#include <libxml/xmlschemas.h>
#include <libxml/xpath.h>
#include <libxml/xpathInternals.h>
#include "support/check.h"
#include "support/dsi.h"
#include "unit/certificate_sample.h"

/* Members in their order: "a" once, "a?" at most once, "a*" any number, "a+" once or more. The first row that fits the
 * element's name and, where given, its parent's. */
static const struct {
	const char *parent, *element, *members;
} dcc_rules[] = {
	{NULL, "digitalCalibrationCertificate", "administrativeData measurementResults Signature?"},
	{NULL, "administrativeData",
	 "dccSoftware refTypeDefinitions coreData items calibrationLaboratory respPersons customer statements"},
	{NULL, "dccSoftware", "software+"},
	{NULL, "software", "name release type"},
	{NULL, "refTypeDefinitions", "refTypeDefinition+"},
	{NULL, "refTypeDefinition", "name description namespace link"},
	{NULL, "coreData",
	 "countryCodeISO3166_1 usedLangCodeISO639_1 mandatoryLangCodeISO639_1 uniqueIdentifier identifications receiptDate "
	 "beginPerformanceDate endPerformanceDate performanceLocation issueDate"},
	{NULL, "identifications", "identification+"},
	{NULL, "identification", "issuer value name"},
	{NULL, "items", "item"},
	{NULL, "item", "name description manufacturer? model? identifications itemQuantities"},
	{NULL, "manufacturer", "name"},
	{NULL, "itemQuantities", "itemQuantity+"},
	{NULL, "itemQuantity", "name description real|hybrid"},
	{NULL, "calibrationLaboratory", "contact cryptElectronicSeal"},
	{NULL, "contact", "name location"},
	{NULL, "customer", "name location"},
	{NULL, "location", "countryCode? further"},
	{NULL, "respPersons", "respPerson+"},
	{NULL, "respPerson", "person description role? mainSigner"},
	{NULL, "person", "name"},
	{NULL, "statements", "statement+"},
	{NULL, "statement", "name convention? traceable? norm? reference? declaration valid? date? conformity?"},
	{NULL, "measurementResults", "usedMethods measuringEquipments? influenceConditions? measurementResult+"},
	{NULL, "usedMethods", "usedMethod+"},
	{NULL, "usedMethod", "name description norm? reference?"},
	{NULL, "measuringEquipments", "measuringEquipment+"},
	{NULL, "measuringEquipment",
	 "name description manufacturer? model? identifications measuringEquipmentQuantities"},
	{NULL, "measuringEquipmentQuantities", "measuringEquipmentQuantity+"},
	{NULL, "measuringEquipmentQuantity", "name description real|hybrid"},
	{NULL, "influenceConditions", "influenceCondition+"},
	{NULL, "influenceCondition", "name status? data"},
	{NULL, "measurementResult", "name influenceConditions? results measurementMetaData?"},
	{NULL, "results", "result+"},
	{NULL, "result", "name data"},
	{"metaData", "data", "list"},
	{NULL, "data", "quantity|list|text"},
	{"metaData", "list", "quantity+"},
	{NULL, "list", "dateTimeXMLList? quantity+"},
	{NULL, "quantity", "name description? real|hybrid|realListXMLList|charsXMLList measurementMetaData?"},
	{NULL, "measurementMetaData", "metaData+"},
	{NULL, "metaData", "declaration? conformity|conformityXMLList? data? nonSIDefinition? nonSIUnit?"},
	{NULL, "real", "value unit"},
	{NULL, "realListXMLList", "valueXMLList unitXMLList measurementUncertaintyUnivariateXMLList?"},
	{NULL, "hybrid", "real|realListXMLList real|realListXMLList"},
	{NULL, "measurementUncertaintyUnivariateXMLList", "expandedMUXMLList"},
	{NULL, "expandedMUXMLList",
	 "valueExpandedMUXMLList coverageFactorXMLList coverageProbabilityXMLList distributionXMLList"},
	{NULL, "name", "content"},
	{NULL, "text", "content+"},
	{NULL, "further", "content+"},
	{NULL, "description", "content+"},
	{NULL, "declaration", "content+"},
};

/* Terms of the published examples (good practice for temperature, version 3.1.1): no other may look like them. */
static const char *const dcc_published[] = {
	"basic_conformity",	  "basic_uncertainty",		"basic_normalUsed",	      "basic_temperature",
	"basic_humidityRelative", "basic_adjustment",		"basic_referenceValue",	      "basic_measuredValue",
	"basic_measurementError", "basic_acceptanceLimitLower", "basic_acceptanceLimitUpper", NULL,
};

struct dcc_finding {
	char text[400];
};

static inline bool dcc_blame(struct dcc_finding *f, xmlNodePtr node, const char *what, const char *which)
{
	if (!f->text[0])
		snprintf(f->text, sizeof f->text, "line %ld, %s: %s %s", xmlGetLineNo(node), (const char *)node->name,
			 what, which ? which : "");
	return false;
}

static inline xmlNodePtr dcc_next(xmlNodePtr node)
{
	while (node && node->type != XML_ELEMENT_NODE)
		node = node->next;
	return node;
}

static inline bool dcc_is(xmlNodePtr node, const char *names, size_t length)
{
	while (node && length > 0) {
		size_t n = 0;

		while (n < length && names[n] != '|')
			n++;
		if (strlen((const char *)node->name) == n && strncmp((const char *)node->name, names, n) == 0)
			return true;
		names += n + (n < length);
		length -= n + (n < length);
	}
	return false;
}

static inline bool dcc_members(xmlNodePtr node, const char *members, struct dcc_finding *f)
{
	xmlNodePtr at = dcc_next(node->children);

	while (*members) {
		size_t length = strcspn(members, " "), name = length;
		char many = members[length - 1];

		if (strchr("?*+", many))
			name--;
		else
			many = '1';
		if (!dcc_is(at, members, name) && (many == '1' || many == '+'))
			return dcc_blame(f, at ? at : node, at ? "stands where the rules want" : "lacks", members);
		if (dcc_is(at, members, name))
			at = dcc_next(at->next);
		while ((many == '*' || many == '+') && dcc_is(at, members, name))
			at = dcc_next(at->next);
		members += length;
		members += *members == ' ';
	}
	return !at || dcc_blame(f, at, "is one member too many of", (const char *)node->name);
}

static inline bool dcc_ordered(xmlNodePtr node, struct dcc_finding *f)
{
	for (size_t i = 0; i < sizeof dcc_rules / sizeof dcc_rules[0]; i++)
		if (strcmp(dcc_rules[i].element, (const char *)node->name) == 0 &&
		    (!dcc_rules[i].parent || strcmp(dcc_rules[i].parent, (const char *)node->parent->name) == 0))
			return dcc_members(node, dcc_rules[i].members, f);
	if (dcc_next(node->children))
		return dcc_blame(f, node, "has members, but no rule", NULL);
	if (!node->children || !*node->children->content)
		return dcc_blame(f, node, "is empty", NULL);
	return true;
}

static inline size_t dcc_count(const char *list)
{
	size_t n = 0;

	for (; *list; n++) {
		list += strspn(list, " ");
		list += strcspn(list, " ");
	}
	return n;
}

/* A decimal as D-SI writes it, or NaN. */
static inline bool dcc_decimal(const char *text, size_t length)
{
	char *end;

	if (length == 3 && strncmp(text, "NaN", 3) == 0)
		return true;
	if (!strchr("-0123456789", *text))
		return false;
	strtod(text, &end);
	return end == text + length;
}

static inline bool dcc_numbers(xmlNodePtr node, const char *text, struct dcc_finding *f)
{
	for (const char *p = text; *p; p += strspn(p, " ")) {
		size_t length = strcspn(p, " ");

		if (!dcc_decimal(p, length))
			return dcc_blame(f, node, "is no number:", p);
		p += length;
	}
	return true;
}

/* The SI unit stands alone or first in a hybrid; what stands second there may be anything. */
static inline bool dcc_unit_rule(xmlNodePtr node, const char *text, struct dcc_finding *f)
{
	xmlNodePtr value = node->parent;
	bool second = strcmp((const char *)value->parent->name, "hybrid") == 0 && value->prev &&
		      dcc_next(value->parent->children) != value;

	if (strchr(text, ' '))
		return dcc_blame(f, node, "holds white space:", text);
	return second || dsi_is_si(text) || dcc_blame(f, node, "is no unit that every machine reads:", text);
}

/* All columns of one table are as long as its first. */
static inline bool dcc_lengths(xmlNodePtr node, const char *text, struct dcc_finding *f)
{
	static const char *const single[] = {"unitXMLList", "coverageFactorXMLList", "coverageProbabilityXMLList",
					     "distributionXMLList", NULL};
	xmlNodePtr table = NULL, first;
	char *wanted;
	size_t n;

	for (size_t i = 0; single[i]; i++)
		if (strcmp(single[i], (const char *)node->name) == 0)
			return dcc_count(text) == 1 || dcc_blame(f, node, "holds more than one word:", text);
	for (xmlNodePtr up = node->parent; up && up->type == XML_ELEMENT_NODE; up = up->parent)
		if (strcmp((const char *)up->name, "list") == 0)
			table = up;
	if (!table)
		return dcc_blame(f, node, "stands in no table", NULL);
	first = dcc_next(table->children);
	if (strcmp((const char *)first->name, "dateTimeXMLList"))
		return dcc_blame(f, table, "begins without the times of its readings", NULL);
	wanted = (char *)xmlNodeGetContent(first);
	n = dcc_count(wanted);
	xmlFree(wanted);
	return n == dcc_count(text) || dcc_blame(f, node, "is not as long as its table:", text);
}

static inline bool dcc_leaf(xmlNodePtr node, struct dcc_finding *f)
{
	const char *name = (const char *)node->name;
	char *text = (char *)xmlNodeGetContent(node);
	size_t length = strlen(name);
	bool good = true;

	if (strncmp(name, "unit", 4) == 0)
		good = dcc_unit_rule(node, text, f);
	else if (strncmp(name, "value", 5) == 0 && strcmp((const char *)node->ns->href, "https://ptb.de/si") == 0)
		good = dcc_numbers(node, text, f);
	if (good && length > 7 && strcmp(name + length - 7, "XMLList") == 0)
		good = dcc_lengths(node, text, f);
	xmlFree(text);
	return good;
}

static inline bool dcc_defined(xmlNodePtr root, const char *attribute, const char *element, const char *value,
			       size_t length)
{
	for (xmlNodePtr node = root; node; node = node->next) {
		char *text = node->type == XML_ELEMENT_NODE && (!element || dcc_is(node, element, strlen(element))) ?
				     (char *)xmlGetProp(node, BAD_CAST attribute) :
				     NULL;
		bool same = text && strlen(text) == length && strncmp(text, value, length) == 0;

		xmlFree(text);
		if (same || (node->children && dcc_defined(node->children, attribute, element, value, length)))
			return true;
	}
	return false;
}

static inline bool dcc_references(xmlNodePtr node, struct dcc_finding *f)
{
	xmlNodePtr root = xmlDocGetRootElement(node->doc);
	char *ids = (char *)xmlGetProp(node, BAD_CAST "refId"), *term = (char *)xmlGetProp(node, BAD_CAST "refType");
	bool good = true;

	for (const char *p = ids; p && *p && good; p += strspn(p, " ")) {
		size_t length = strcspn(p, " ");

		good = dcc_defined(root, "id", NULL, p, length) || dcc_blame(f, node, "points at nothing:", p);
		p += length;
	}
	if (good && term && strncmp(term, "loopledger_", 11) == 0) {
		good = (dcc_defined(root, "refType", "refTypeDefinition", term, strlen(term)) &&
			dcc_defined(root, "id", "description", term, strlen(term))) ||
		       dcc_blame(f, node, "uses a term that is not told:", term);
	} else if (good && term) {
		good = false;
		for (size_t i = 0; dcc_published[i]; i++)
			good = good || strcmp(dcc_published[i], term) == 0;
		if (!good)
			dcc_blame(f, node, "uses a term that nobody has published:", term);
	}
	xmlFree(ids);
	xmlFree(term);
	return good;
}

static inline bool dcc_walk(xmlNodePtr node, struct dcc_finding *f)
{
	for (; node; node = node->next) {
		if (node->type != XML_ELEMENT_NODE || strcmp((const char *)node->name, "Signature") == 0)
			continue;
		if (!dcc_ordered(node, f) || !dcc_references(node, f))
			return false;
		if (dcc_next(node->children) ? !dcc_walk(node->children, f) : !dcc_leaf(node, f))
			return false;
	}
	return true;
}

/* Our own rules; "" when the document keeps them all. */
static inline struct dcc_finding dcc_finding_of(const char *bytes, size_t size)
{
	struct dcc_finding f = {""};
	xmlDocPtr doc = xmlReadMemory(bytes, (int)size, "certificate.xml", NULL, XML_PARSE_NONET | XML_PARSE_NOBLANKS);

	if (!doc)
		snprintf(f.text, sizeof f.text, "not well-formed");
	else
		dcc_walk(xmlDocGetRootElement(doc), &f);
	xmlFreeDoc(doc);
	return f;
}

__attribute__((format(printf, 2, 3))) static inline void dcc_schema_error(void *context, const char *fmt, ...)
{
	va_list args;

	(void)context;
	va_start(args, fmt);
	vfprintf(stderr, fmt, args);
	va_end(args);
}

/* Against the published schema: 1 valid, 0 not, -1 the schema is not at hand. */
static inline int dcc_schema_says(const char *bytes, size_t size)
{
	static xmlSchemaPtr schema; /* read once, kept to the end of the program */
	const char *path = getenv("LOOPLEDGER_DCC_SCHEMA");
	xmlSchemaValidCtxtPtr context;
	xmlDocPtr doc;
	int rc;

	if (!path || !*path)
		return -1;
	if (!schema) {
		xmlSchemaParserCtxtPtr parser;

		xmlSetExternalEntityLoader(xmlNoNetExternalEntityLoader);
		parser = xmlSchemaNewParserCtxt(path);
		assert_non_null(parser);
		schema = xmlSchemaParse(parser);
		xmlSchemaFreeParserCtxt(parser);
		if (!schema)
			print_error("LOOPLEDGER_DCC_SCHEMA: %s cannot be read as a schema\n", path);
		assert_non_null(schema);
	}
	context = xmlSchemaNewValidCtxt(schema);
	xmlSchemaSetValidErrors(context, dcc_schema_error, dcc_schema_error, NULL);
	doc = xmlReadMemory(bytes, (int)size, "certificate.xml", NULL, XML_PARSE_NONET);
	assert_non_null(doc);
	rc = xmlSchemaValidateDoc(context, doc);
	xmlSchemaFreeValidCtxt(context);
	xmlFreeDoc(doc);
	return rc == 0;
}

static inline void dcc_schema_note(void)
{
	const char *path = getenv("LOOPLEDGER_DCC_SCHEMA");

	if (!path || !*path)
		print_message(
			"NOTE: schema not at hand (LOOPLEDGER_DCC_SCHEMA): structure checked by our own rules only\n");
}

static inline void assert_dcc(const char *bytes, size_t size)
{
	struct dcc_finding f = dcc_finding_of(bytes, size);

	if (f.text[0]) {
		print_error("%s\n%.*s\n", f.text, (int)size, bytes);
		fail();
	}
	if (dcc_schema_says(bytes, size) == 0) {
		print_error("the schema refuses:\n%.*s\n", (int)size, bytes);
		fail();
	}
}

/* What an XPath says, as text; dcc:, si:, ds: are bound. The caller frees it. */
static inline char *dcc_ask(const char *bytes, size_t size, const char *path)
{
	xmlDocPtr doc = xmlReadMemory(bytes, (int)size, "certificate.xml", NULL, XML_PARSE_NONET | XML_PARSE_NOBLANKS);
	xmlXPathContextPtr context = xmlXPathNewContext(doc);
	xmlXPathObjectPtr found;
	xmlChar *text;
	char *out;

	assert_non_null(doc);
	xmlXPathRegisterNs(context, BAD_CAST "dcc", BAD_CAST "https://ptb.de/dcc");
	xmlXPathRegisterNs(context, BAD_CAST "si", BAD_CAST "https://ptb.de/si");
	xmlXPathRegisterNs(context, BAD_CAST "ds", BAD_CAST "http://www.w3.org/2000/09/xmldsig#");
	found = xmlXPathEvalExpression(BAD_CAST path, context);
	assert_non_null(found);
	text = xmlXPathCastToString(found);
	out = strdup((const char *)text);
	xmlFree(text);
	xmlXPathFreeObject(found);
	xmlXPathFreeContext(context);
	xmlFreeDoc(doc);
	return out;
}

static inline void assert_dcc_says(const char *bytes, size_t size, const char *path, const char *wanted)
{
	char *text = dcc_ask(bytes, size, path);

	if (strcmp(text, wanted))
		print_error("%s\n", path);
	assert_string_equal(text, wanted);
	free(text);
}

#endif
