#include "seal_xmp.h"

#include <string.h>
#include "base/time.h"

static void escaped(struct bytes *out, const char *s)
{
	for (; *s; s++) {
		if (*s == '<')
			bytes_print(out, "&lt;");
		else if (*s == '>')
			bytes_print(out, "&gt;");
		else if (*s == '&')
			bytes_print(out, "&amp;");
		else
			bytes_add(out, s, 1);
	}
}

static void element(struct bytes *out, const char *before, const char *text, const char *after)
{
	if (!*text)
		return;
	bytes_add(out, before, strlen(before));
	escaped(out, text);
	bytes_add(out, after, strlen(after));
}

static void date(struct bytes *out, const char *name, int64_t ms)
{
	char t[TIME_TEXT_SIZE];

	time_to_text(ms, t);
	bytes_print(out, "   <%s>%.19sZ</%s>\n", name, t, name); /* whole seconds, as in the information dictionary */
}

void xmp_write(struct bytes *out, const struct xmp_facts *f)
{
	bytes_print(out, "<?xpacket begin=\"\xef\xbb\xbf\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n"
			 "<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n"
			 " <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n"
			 "  <rdf:Description rdf:about=\"\"");
	bytes_print(out, " xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\""
			 " xmlns:dc=\"http://purl.org/dc/elements/1.1/\""
			 " xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\">\n");
	bytes_print(out, "   <pdfaid:part>3</pdfaid:part>\n   <pdfaid:conformance>U</pdfaid:conformance>\n"
			 "   <dc:format>application/pdf</dc:format>\n");
	element(out, "   <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">", f->title,
		"</rdf:li></rdf:Alt></dc:title>\n");
	element(out, "   <dc:creator><rdf:Seq><rdf:li>", f->author, "</rdf:li></rdf:Seq></dc:creator>\n");
	element(out, "   <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">", f->subject,
		"</rdf:li></rdf:Alt></dc:description>\n");
	element(out, "   <dc:language><rdf:Bag><rdf:li>", f->language, "</rdf:li></rdf:Bag></dc:language>\n");
	element(out, "   <xmp:CreatorTool>", f->creator, "</xmp:CreatorTool>\n");
	date(out, "xmp:CreateDate", f->created_ms);
	date(out, "xmp:ModifyDate", f->modified_ms);
	element(out, "   <pdf:Producer>", f->producer, "</pdf:Producer>\n");
	bytes_print(out, "  </rdf:Description>\n </rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>\n");
}
