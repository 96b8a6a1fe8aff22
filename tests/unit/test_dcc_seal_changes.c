/* Everything that is done to a sealed document turns outside tools, our own verifier or both red. */
#include "unit/dcc_seal_check.h"

#define MUTATIONS 200

/*
 * One byte changed at seeded places. Our verifier has to notice each: either the document is not sound or not trusted any
 * more, or, where XML itself sees no difference (white space between attributes, the end of the file), it is no longer as
 * written. xmlsec1 calls such a document good, and rightly so; it must not call any other good.
 */
static void one_changed_byte_does_not_go_unseen(void **state)
{
	size_t size, silent = 0, refused = 0, by_xmlsec = 0;
	char *bytes = sealed_by(&plant, &size), root[40];
	uint64_t seed = 20260315;

	(void)state;
	write_root(root, &plant);
	for (int i = 0; i < MUTATIONS; i++) {
		size_t at;
		char was;
		struct dcc_report r;

		seed = seed * 6364136223846793005u + 1442695040888963407u;
		at = (size_t)(seed >> 33) % size;
		was = bytes[at];
		/* one bit, or one kind of white space */
		if (i % 4 == 0)
			bytes[at] = was == ' ' ? '\n' : ' ';
		else
			bytes[at] = (char)(was ^ (1 << (seed >> 20) % 7));
		r = judged(bytes, size);
		if (r.trusted && r.as_written)
			fail_msg("byte %zu, %02x for %02x, was not seen", at, bytes[at], was);
		if (r.trusted)
			silent++;
		else
			refused++;
		if (xmlsec_says_good(bytes, size, root)) {
			by_xmlsec++;
			/* what xmlsec1 leaves open we may refuse; the other way round never */
		} else if (r.trusted) {
			fail_msg("byte %zu: xmlsec1 refuses what we call sealed", at);
		}
		bytes[at] = was;
	}
	unlink(root);
	print_message(
		"%d bytes changed: %zu refused, %zu without a meaning in XML and reported as written anew; xmlsec1 "
		"called %zu good\n",
		MUTATIONS, refused, silent, by_xmlsec);
	assert_true(refused > MUTATIONS * 9 / 10);
	assert_true(judged(bytes, size).as_written);
	free(bytes);
}

/* XML 1.0, 2.11 and 3.1: a line end between attributes is as good as a space, and none of it is in the canonical form. */
static void white_space_without_a_meaning_is_reported_as_written_anew(void **state)
{
	static const char *const places[] = {" xmlns:si=", " URI=\"#seal", " Algorithm=", " refType="};
	size_t size;
	char *bytes = sealed_by(&plant, &size), root[40];

	(void)state;
	write_root(root, &plant);
	for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
		char *at = strstr(bytes, places[i]);
		struct dcc_report r;

		assert_non_null(at);
		*at = '\n';
		r = judged(bytes, size);
		assert_true(r.trusted);
		assert_false(r.as_written);
		assert_non_null(strstr(r.sentence, "written the file anew"));
		assert_true(xmlsec_says_good(bytes, size, root));
		*at = ' ';
	}
	unlink(root);
	free(bytes);
}

/* A replacement of the first "from" by "to"; the caller frees it. */
static char *replaced(const char *bytes, const char *from, const char *to, size_t *size)
{
	const char *at = strstr(bytes, from);
	char *out = calloc(1, strlen(bytes) + strlen(to) + 1);

	assert_non_null(at);
	memcpy(out, bytes, (size_t)(at - bytes));
	strcat(out, to);
	strcat(out, at + strlen(from));
	*size = strlen(out);
	return out;
}

/* From the first place of begin up to the end of the first end behind it; the caller frees it. */
static char *cut(const char *bytes, const char *begin, const char *end)
{
	const char *from = strstr(bytes, begin), *to = from ? strstr(from, end) : NULL;

	assert_non_null(to);
	return strndup(from, (size_t)(to - from) + strlen(end));
}

static void assert_refused(char *bytes, size_t size, enum dcc_fault fault, const char *what)
{
	struct dcc_report r = judged(bytes, size);

	if (r.sound || r.trusted || r.fault != fault)
		fail_msg("%s: sound %d, fault %s, \"%s\"", what, r.sound, dcc_fault_word(r.fault), r.sentence);
	free(bytes);
}

static void what_the_seal_covers_cannot_be_changed(void **state)
{
	static const char *const changes[][2] = {
		{">BWW-2026-0017<", ">BWW-2026-0018<"},
		{"<dcc:conformity>fail", "<dcc:conformity>pass"},
		{"<si:value>0.004", "<si:value>0.001"},
		{"Maren Oldfield", "Morris Oldfield"},
		{"\n  <dcc:measurementResults>", "\n   <dcc:measurementResults>"},
		{"refId=\"standard_output\"", "refId=\"standard_input\""},
	};
	size_t size, changed_size;
	char *bytes = sealed_by(&plant, &size);

	(void)state;
	for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
		char *changed = replaced(bytes, changes[i][0], changes[i][1], &changed_size);

		assert_refused(changed, changed_size, DCC_FAULT_CONTENT, changes[i][1]);
	}
	free(bytes);
}

static void the_time_of_sealing_is_covered_too(void **state)
{
	size_t size, changed_size;
	char *bytes = sealed_by(&plant, &size);
	char *changed = replaced(bytes, "2026-03-15T10:00:00Z", "2026-03-14T10:00:00Z", &changed_size);

	(void)state;
	assert_refused(changed, changed_size, DCC_FAULT_CONTENT, "time");
	free(bytes);
}

/*
 * Signature wrapping: the signed parts stay somewhere in the file, and something else stands where a reader looks. After
 * McIntosh and Austel, "XML signature element wrapping attacks" (2005); the kinds from memory.
 */
static void signed_parts_cannot_be_moved_elsewhere(void **state)
{
	size_t size, n;
	char *bytes = sealed_by(&plant, &size), *signature = cut(bytes, "<ds:Signature ", "</ds:Signature>");
	char *body = cut(bytes, "<dcc:digitalCalibrationCertificate", "</dcc:digitalCalibrationCertificate>");
	char *properties = cut(bytes, "<xades:SignedProperties", "</xades:SignedProperties>");
	char *twice = calloc(1, 2 * size + 4000), *text;

	(void)state;
	/* the sealed root inside a forged one */
	text = replaced(body, "BWW-2026-0017", "BWW-2026-9999", &n);
	*strstr(text, "<ds:Signature ") = '\0';
	sprintf(twice, DECLARATION "%s%s</dcc:digitalCalibrationCertificate>\n", text, body);
	assert_refused(strdup(twice), strlen(twice), DCC_FAULT_FORM, "root inside a root");
	/* the signature before the content, and inside another element */
	*strstr(text, "<dcc:administrativeData") = '\0';
	sprintf(twice, DECLARATION "%s%s%s\n", text, signature, strstr(body, "<dcc:administrativeData"));
	assert_refused(strdup(twice), strlen(twice), DCC_FAULT_FORM, "two signatures");
	free(text);
	sprintf(twice, "<dcc:comment>%s</dcc:comment>", signature);
	text = replaced(bytes, signature, twice, &n);
	assert_refused(text, n, DCC_FAULT_FORM, "signature in a comment element");
	/* properties of the signature twice: the signed ones moved, others in their place */
	sprintf(twice, "%s</xades:QualifyingProperties></ds:Object><ds:Object>%s</ds:Object>", "<x/>", properties);
	text = replaced(bytes, "</xades:QualifyingProperties></ds:Object>", twice, &n);
	assert_refused(text, n, DCC_FAULT_FORM, "properties moved");
	sprintf(twice, "<dcc:comment>%s</dcc:comment><ds:Signature ", properties);
	text = replaced(bytes, "<ds:Signature ", twice, &n);
	assert_refused(text, n, DCC_FAULT_FORM, "properties twice");
	free(properties);
	free(signature);
	free(body);
	free(twice);
	free(bytes);
}

static void a_signature_over_less_is_none(void **state)
{
	static const char *const changes[][2] = {
		/* the reference points at a part instead of the whole */
		{"Id=\"seal_document\" URI=\"\"", "Id=\"seal_document\" URI=\"#item\""},
		{"Id=\"seal_document\" URI=\"\"", "Id=\"seal_document\" URI=\"http://127.0.0.1:9/x\""},
		{"Id=\"seal_document\" URI=\"\"", "Id=\"seal_document\" URI=\"#xpointer(/)\""},
		/* a transform that leaves out what the forger likes */
		{"<ds:Transform Algorithm=\"http://www.w3.org/2000/09/xmldsig#enveloped-signature\"/>",
		 "<ds:Transform Algorithm=\"http://www.w3.org/2000/09/xmldsig#enveloped-signature\"/>"
		 "<ds:Transform Algorithm=\"http://www.w3.org/TR/1999/REC-xpath-19991116\"><ds:XPath>false()</ds:XPath></ds:Transform>"},
		/* weaker or keyed algorithms */
		{"xmldsig-more#ecdsa-sha256", "xmldsig-more#hmac-sha256"},
		{"xmldsig-more#ecdsa-sha256", ""},
		{"2001/04/xmlenc#sha256", "2000/09/xmldsig#sha1"},
		{"<ds:CanonicalizationMethod Algorithm=\"http://www.w3.org/2001/10/xml-exc-c14n#\"/>",
		 "<ds:CanonicalizationMethod Algorithm=\"http://www.w3.org/TR/2001/REC-xml-c14n-20010315\"/>"},
		/* another key offered beside the certificate */
		{"<ds:KeyInfo>", "<ds:KeyInfo><ds:KeyName>x</ds:KeyName>"},
		{"<ds:X509Data>", "<ds:X509Data><ds:X509SubjectName>CN=x</ds:X509SubjectName>"},
		/* something more in the signature that nobody signed */
		{"<ds:Signature ", "<ds:Signature Version=\"2\" "},
		{"</ds:X509Data>", "</ds:X509Data> "},
		{"<ds:Object>", "<ds:Object>Sealed by the minister."},
		{"</ds:Signature>", "<ds:Object/></ds:Signature>"},
		/* outside the signature: a comment, an instruction, a hidden piece of text */
		{"<dcc:administrativeData>", "<!-- --><dcc:administrativeData>"},
		{"<si:value>0.004", "<si:value>0<!-- -->.004"},
		{"<dcc:administrativeData>", "<?x y?><dcc:administrativeData>"},
		{"<si:value>0.004</si:value>", "<si:value><![CDATA[0.004]]></si:value>"},
		{"version=\"1.0\" encoding", "version=\"1.0\"  encoding"},
	};
	size_t size, n;
	char *bytes = sealed_by(&plant, &size);

	(void)state;
	for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
		char *text = replaced(bytes, changes[i][0], changes[i][1], &n);

		assert_refused(text, n, DCC_FAULT_FORM, changes[i][1]);
	}
	free(bytes);
}

static void a_document_type_or_broken_xml_is_not_read(void **state)
{
	size_t size, n;
	char *bytes = sealed_by(&plant, &size), *text;

	(void)state;
	text = replaced(bytes, DECLARATION,
			DECLARATION "<!DOCTYPE d [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;&a;\">]>\n", &n);
	assert_refused(text, n, DCC_FAULT_UNREADABLE, "document type");
	for (size_t cut_at = 0; cut_at < size - 2; cut_at += size / 37)
		assert_refused(strndup(bytes, cut_at), cut_at, DCC_FAULT_UNREADABLE, "cut off");
	assert_refused(strdup("%PDF-1.7"), 8, DCC_FAULT_UNREADABLE, "a PDF");
	free(bytes);
}

/* The stranger seals an altered copy and puts the plant's certificate into it. */
static void another_s_certificate_cannot_be_borrowed(void **state)
{
	size_t size, n;
	char *ours = sealed_by(&plant, &size), *theirs = sealed_by(&stranger, &size), *text;
	char *mine = cut(ours, "<ds:KeyInfo>", "</ds:KeyInfo>"), *other = cut(theirs, "<ds:KeyInfo>", "</ds:KeyInfo>");

	(void)state;
	text = replaced(theirs, other, mine, &n);
	assert_refused(text, n, DCC_FAULT_SIGNATURE, "borrowed certificate");
	text = replaced(ours, mine, other, &n);
	assert_refused(text, n, DCC_FAULT_SIGNATURE, "foreign certificate");
	free(mine);
	free(other);
	free(ours);
	free(theirs);
}

/* A change in the tree: an element or attribute goes, comes twice, changes place or name, a text changes. */
static bool change_tree(xmlDocPtr doc, xmlNodePtr node, unsigned kind, unsigned pick)
{
	xmlNodePtr other;
	xmlAttrPtr a = node->properties;

	switch (kind % 7) {
	case 0:
		xmlUnlinkNode(node);
		xmlFreeNode(node);
		return true;
	case 1:
		return xmlAddNextSibling(node, xmlCopyNode(node, 1)) != NULL;
	case 2:
		other = node->next ? node->next : node->prev;
		if (!other || other->type != XML_ELEMENT_NODE || xmlStrEqual(other->name, node->name))
			return false;
		xmlUnlinkNode(node);
		return xmlAddPrevSibling(other->prev && other->prev != node ? other->prev : other, node) != NULL;
	case 3:
		xmlNodeSetName(node, BAD_CAST(pick % 2 ? "Object" : "value"));
		return true;
	case 4:
		return a && xmlRemoveProp(a) == 0;
	case 5:
		return xmlNewProp(node, BAD_CAST(pick % 2 ? "Id" : "role"), BAD_CAST "seal") != NULL;
	default:
		return xmlAddChild(node, pick % 2 ? xmlNewDocText(doc, BAD_CAST "0") :
						    xmlNewDocComment(doc, BAD_CAST "0")) != NULL;
	}
}

static size_t elements_below(xmlNodePtr node, xmlNodePtr *list, size_t n, size_t max)
{
	for (; node; node = node->next) {
		if (node->type != XML_ELEMENT_NODE)
			continue;
		if (n < max)
			list[n++] = node;
		n = elements_below(node->children, list, n, max);
	}
	return n;
}

/* Half of the changes inside the signature, half anywhere. A change that happens to write the same document says nothing. */
static void no_change_of_the_tree_goes_unseen(void **state)
{
	static xmlNodePtr list[4000];
	size_t size, tried = 0;
	char *bytes = sealed_by(&plant, &size);
	uint64_t seed = 7;

	(void)state;
	for (int i = 0; i < 300; i++) {
		xmlDocPtr doc = xmlReadMemory(bytes, (int)size, NULL, NULL, XML_PARSE_NONET);
		xmlNodePtr root = xmlDocGetRootElement(doc);
		size_t n = elements_below(i % 2 ? root->last->children : root->children, list, 0, 4000);
		struct dcc_report r;
		xmlChar *text;
		int text_size;

		seed = seed * 6364136223846793005u + 1442695040888963407u;
		if (change_tree(doc, list[(seed >> 33) % n], (unsigned)(seed >> 20) & 0xffff, (unsigned)(seed >> 50))) {
			xmlDocDumpMemory(doc, &text, &text_size);
			if ((size_t)text_size != size || memcmp(text, bytes, size) != 0) {
				r = judged((const char *)text, (size_t)text_size);
				tried++;
				if (r.trusted)
					fail_msg("change %d was not seen:\n%s", i, text);
			}
			xmlFree(text);
		}
		xmlFreeDoc(doc);
	}
	print_message("%zu changes of the tree, none unseen\n", tried);
	assert_true(tried > 150);
	free(bytes);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_changed_byte_does_not_go_unseen),
		cmocka_unit_test(white_space_without_a_meaning_is_reported_as_written_anew),
		cmocka_unit_test(what_the_seal_covers_cannot_be_changed),
		cmocka_unit_test(the_time_of_sealing_is_covered_too),
		cmocka_unit_test(signed_parts_cannot_be_moved_elsewhere),
		cmocka_unit_test(a_signature_over_less_is_none),
		cmocka_unit_test(a_document_type_or_broken_xml_is_not_read),
		cmocka_unit_test(another_s_certificate_cannot_be_borrowed),
		cmocka_unit_test(no_change_of_the_tree_goes_unseen),
	};
	int failed;

	dcc_schema_note();
	plant = authority_new(false, TEN_YEARS);
	stranger = authority_new(false, TEN_YEARS);
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	authority_free(&plant);
	authority_free(&stranger);
	return failed;
}
