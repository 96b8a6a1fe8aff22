#include "dcc_tree.h"

#include <stdlib.h>
#include <string.h>
#include "base/time.h"

#define NOT_RECORDED "not recorded"
#define REPLACEMENT  "\xef\xbf\xbd" /* U+FFFD */

/* XML 1.0, production 2: of the control characters only tab and line ends; neither U+FFFE nor U+FFFF. */
static bool storable(const unsigned char *p)
{
	if (p[0] < 0x20)
		return p[0] == '\t' || p[0] == '\n';
	return !(p[0] == 0xef && p[1] == 0xbf && (p[2] == 0xbe || p[2] == 0xbf));
}

/* The text with what XML cannot hold replaced; itself when there is nothing to replace, as nearly always. */
static const char *clean(struct dcc *d, const char *text)
{
	const unsigned char *p = (const unsigned char *)text;
	const char *out = "";

	if (!xmlCheckUTF8(p))
		return REPLACEMENT;
	while (*p && storable(p))
		p++;
	if (!*p)
		return text;
	for (p = (const unsigned char *)text; *p;) {
		const unsigned char *from = p;

		while (*p && storable(p))
			p++;
		out = words_say(d->w, "%s%.*s%s", out, (int)(p - from), (const char *)from, *p ? REPLACEMENT : "");
		if (*p)
			p += *p < 0x20 ? 1 : 3;
	}
	return out;
}

static xmlNodePtr add(struct dcc *d, xmlNodePtr parent, xmlNsPtr ns, const char *name, const char *text)
{
	xmlNodePtr node = parent ? xmlNewTextChild(parent, ns, BAD_CAST name, BAD_CAST(text ? clean(d, text) : NULL)) :
				   NULL;

	if (!node)
		d->failed = true;
	return node;
}

xmlNodePtr dcc_add(struct dcc *d, xmlNodePtr parent, const char *name, const char *text)
{
	return add(d, parent, d->ns, name, text);
}

xmlNodePtr dcc_si(struct dcc *d, xmlNodePtr parent, const char *name, const char *text)
{
	return add(d, parent, d->si, name, text);
}

void dcc_attribute(struct dcc *d, xmlNodePtr node, const char *name, const char *value)
{
	if (value && (!node || !xmlNewProp(node, BAD_CAST name, BAD_CAST value)))
		d->failed = true;
	if (value && strcmp(name, "refType") == 0)
		dcc_term_used(d, value);
}

xmlNodePtr dcc_token(struct dcc *d, xmlNodePtr parent, const char *name, const char *text)
{
	static const char space[] = " \t\r\n";
	size_t length;

	if (!text)
		text = "";
	text += strspn(text, space);
	length = strlen(text);
	while (length > 0 && strchr(space, text[length - 1]))
		length--;
	return dcc_add(d, parent, name, length > 0 ? words_say(d->w, "%.*s", (int)length, text) : NOT_RECORDED);
}

xmlNodePtr dcc_words(struct dcc *d, xmlNodePtr parent, const char *name, const char *text)
{
	xmlNodePtr node = dcc_add(d, parent, name, NULL);

	dcc_attribute(d, dcc_add(d, node, "content", text), "lang", "en");
	return node;
}

xmlNodePtr dcc_name(struct dcc *d, xmlNodePtr parent, const char *name, const char *text)
{
	xmlNodePtr node = dcc_add(d, parent, name, NULL);

	dcc_add(d, node, "content", text && *text ? text : NOT_RECORDED);
	return node;
}

xmlNodePtr dcc_content(struct dcc *d, xmlNodePtr parent, const char *text)
{
	xmlNodePtr node = dcc_add(d, parent, "content", text);

	dcc_attribute(d, node, "lang", "en");
	return node;
}

char *dcc_date(int64_t ms, char out[WHEN_SIZE])
{
	char text[TIME_TEXT_SIZE];

	time_to_text(ms, text);
	snprintf(out, WHEN_SIZE, "%.10s", text);
	return out;
}

char *dcc_time(int64_t ms, char out[WHEN_SIZE])
{
	char text[TIME_TEXT_SIZE];

	time_to_text(ms, text);
	snprintf(out, WHEN_SIZE, "%.19sZ", text);
	return out;
}

void dcc_identification(struct dcc *d, xmlNodePtr list, const char *issuer, const char *label, const char *value,
			const char *ref_type)
{
	xmlNodePtr node;

	if (!value || !*value)
		return;
	node = dcc_add(d, list, "identification", NULL);
	dcc_attribute(d, node, "refType", ref_type);
	dcc_add(d, node, "issuer", issuer);
	dcc_token(d, node, "value", value);
	dcc_words(d, node, "name", label);
}
