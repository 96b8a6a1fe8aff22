/* The finished file: what it carries, in the words of qpdf, poppler and PDFBox; and what is not finished. */
#include "unit/seal_fixture.h"

#include <math.h>
#include "report/seal_icc.h"

static void catalogue_says_language_title_profile_and_attachment(void **state)
{
	const struct seal_fixture *f = *state;
	char *json = tool_about(
		f, f->finished, f->finished_size,
		"qpdf --json=2 $f | jq -c '.qpdf[1] | to_entries[] | .value.value // .value.stream.dict'");

	assert_says(json, "\"/Lang\":\"u:en\"");
	assert_says(json, "\"/DisplayDocTitle\":true");
	assert_says(json, "\"/S\":\"/GTS_PDFA1\"");
	assert_says(json, "\"/AFRelationship\":\"/Data\"");
	assert_says(json, "\"/Subtype\":\"/text/xml\"");
	assert_says(json, "\"/SigFlags\":3");
	assert_int_equal(count_of(json, "\"/FT\":\"/Sig\""), 3);
	assert_says(json, "\"/TU\":\"u:Signature of the technician\"");
	assert_true(count_of(json, "\"/CIDFontType2\"") >= 1);
	assert_int_equal(count_of(json, "\"/CIDFontType2\""), count_of(json, "\"/CIDToGIDMap\":\"/Identity\""));
	free(json);
}

static void attached_record_comes_out_as_it_went_in(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(
		f, f->twice, f->twice_size,
		"pdfdetach -save 1 -o $d/out.xml $f && cat $d/out.xml; qpdf --list-attachments --verbose $f;"
		"md5sum <$d/out.xml | cut -c1-32");
	const char *sum = strrchr(text, ' ');

	assert_int_equal(strncmp(text, RECORD_XML, strlen(RECORD_XML)), 0);
	assert_says(text, "mime type: text/xml");
	assert_says(text, "description: The test record for machines");
	assert_non_null(sum);
	sum = text + strlen(text) - 33; /* md5sum's line, and libqpdf's "checksum: " before it */
	assert_true(count_of(text, "checksum: ") == 2);
	assert_int_equal(strncmp(strstr(text, "checksum: ") + 10, sum, 32), 0);
	free(text);
}

static void description_in_xmp_agrees_with_the_information(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(f, f->finished, f->finished_size, "pdfinfo -isodates $f; pdfinfo -meta $f 2>&1");
	const char *made = strstr(text, "CreationDate:") + strlen("CreationDate:");
	char date[12] = "";

	made += strspn(made, " ");
	memcpy(date, made, 10);
	assert_says(text, "<pdfaid:part>3</pdfaid:part>");
	assert_says(text, "<pdfaid:conformance>U</pdfaid:conformance>");
	assert_says(text, "Title:           Calibration certificate BWW-2026-0017");
	assert_says(text, "<rdf:li xml:lang=\"x-default\">Calibration certificate BWW-2026-0017</rdf:li>");
	assert_says(text, "<rdf:li>Brackenholm Water Works</rdf:li>");
	assert_int_equal(strncmp(strstr(text, "<xmp:CreateDate>") + 16, date, 10), 0);
	free(text);
}

static void xmp_is_well_formed_and_lies_open(void **state)
{
	const struct seal_fixture *f = *state;

	assert_non_null(memmem(f->finished, f->finished_size, "<?xpacket begin=", 16));
	free(tool_about(f, f->finished, f->finished_size, "pdfinfo -meta $f | xmllint --noout -"));
}

/*
 * PDFBox 2.0.27 judges PDF/A-1b. Of what part 3 allows and part 1 forbids it must complain, and of nothing else: attached
 * files (1.2.9, 1.4.7), cairo's page group (2.2.1), no CIDSet (3.1.11), part and level themselves (7.11.1, 7.11.2).
 */
static void pdfbox_finds_only_what_part_3_allows(void **state)
{
	const struct seal_fixture *f = *state;
	char *text = tool_about(
		f, f->twice, f->twice_size,
		"j=/usr/share/java; test -e $j/preflight.jar && command -v java >/dev/null || { echo absent; exit 0; };"
		"p=$j/preflight.jar:$j/pdfbox2.jar:$j/fontbox2.jar:$j/xmpbox.jar:$j/commons-logging.jar:"
		"$j/javax.activation.jar:$j/jaxb-api.jar;"
		"java -cp $p org.apache.pdfbox.preflight.Validator_A1b $f 2>&1 | grep -oE '^[0-9]+(\\.[0-9]+)+ ' |"
		"sort -u | tr -d '\\n'");

	if (strcmp(text, "absent\n") == 0) {
		free(text);
		skip();
	}
	assert_string_equal(text, "1.2.9 1.4.7 2.2.1 3.1.11 7.11.1 7.11.2 ");
	free(text);
}

static void same_pages_give_the_same_file(void **state)
{
	const struct seal_fixture *f = *state;
	char *again;
	size_t size;

	fixture_finish(f, &again, &size);
	assert_int_equal(size, f->finished_size);
	assert_memory_equal(again, f->finished, size);
	free(again);
}

/* Big-endian numbers of the profile: 16 bits, and signed fixed point with 16 bits behind the point. */
static unsigned int u16(const unsigned char *p)
{
	return (unsigned int)p[0] << 8 | p[1];
}

static double fixed(const unsigned char *p)
{
	return (int32_t)((uint32_t)u16(p) << 16 | u16(p + 2)) / 65536.0;
}

static const unsigned char *tag(const unsigned char *profile, const char *sign)
{
	for (int i = 0; i < 9; i++) {
		const unsigned char *entry = profile + 132 + 12 * i;

		if (memcmp(entry, sign, 4) == 0)
			return profile + (u16(entry + 4) << 16 | u16(entry + 6));
	}
	fail();
	return NULL;
}

static void invert(const double m[3][3], double out[3][3])
{
	double det = 0;

	for (int i = 0; i < 3; i++)
		det += m[0][i] * (m[1][(i + 1) % 3] * m[2][(i + 2) % 3] - m[1][(i + 2) % 3] * m[2][(i + 1) % 3]);
	for (int i = 0; i < 3; i++)
		for (int j = 0; j < 3; j++)
			out[j][i] = (m[(i + 1) % 3][(j + 1) % 3] * m[(i + 2) % 3][(j + 2) % 3] -
				     m[(i + 1) % 3][(j + 2) % 3] * m[(i + 2) % 3][(j + 1) % 3]) /
				    det;
}

static void apply(const double m[3][3], const double v[3], double out[3])
{
	for (int i = 0; i < 3; i++)
		out[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
}

/*
 * The colorants from the chromaticities of IEC 61966-2-1 (ITU-R BT.709: red 0.64 0.33, green 0.30 0.60, blue 0.15 0.06, white
 * D65 0.3127 0.3290), adapted to D50 (0.9642 1 0.8249) by the linear Bradford matrix of ICC.1:2010 annex E.
 */
static void profile_is_srgb_by_its_chromaticities(void **state)
{
	static const double xy[3][2] = {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}};
	static const double bradford[3][3] = {
		{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}};
	static const double d65[3] = {0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290}, d50[3] = {0.9642, 1, 0.8249};
	static const char *const signs[3] = {"rXYZ", "gXYZ", "bXYZ"};
	unsigned char profile[SEAL_ICC_SIZE];
	double primaries[3][3], inverse[3][3], back[3][3], scale[3], from[3], to[3];

	(void)state;
	seal_icc_srgb(profile);
	for (int i = 0; i < 3; i++) {
		primaries[0][i] = xy[i][0] / xy[i][1];
		primaries[1][i] = 1;
		primaries[2][i] = (1 - xy[i][0] - xy[i][1]) / xy[i][1];
	}
	invert(primaries, inverse);
	apply(inverse, d65, scale);
	invert(bradford, back);
	apply(bradford, d65, from);
	apply(bradford, d50, to);
	for (int i = 0; i < 3; i++) {
		double colour[3], cone[3], adapted[3];

		for (int k = 0; k < 3; k++)
			colour[k] = primaries[k][i] * scale[i];
		apply(bradford, colour, cone);
		for (int k = 0; k < 3; k++)
			cone[k] *= to[k] / from[k];
		apply(back, cone, adapted);
		for (int k = 0; k < 3; k++)
			assert_near(fixed(tag(profile, signs[i]) + 8 + 4 * k), adapted[k], 0.0003);
	}
}

/* IEC 61966-2-1 5.2 at three codes, by hand: 0.5 is 0.21404, 0.04045 is 0.0031308, 1 is 1. */
static void profile_has_the_curve_of_srgb(void **state)
{
	unsigned char profile[SEAL_ICC_SIZE];
	const unsigned char *curve;
	double low, high;

	(void)state;
	seal_icc_srgb(profile);
	curve = tag(profile, "gTRC");
	assert_int_equal(u16(curve + 10), 1024);
	assert_int_equal(u16(curve + 12), 0);
	assert_int_equal(u16(curve + 12 + 2 * 1023), 65535);
	low = u16(curve + 12 + 2 * 511) / 65535.0; /* 511 and 512 of 1023 lie around one half */
	high = u16(curve + 12 + 2 * 512) / 65535.0;
	assert_near((low + high) / 2, 0.21404, 0.0001);
	assert_near(u16(curve + 12 + 2 * 41) / 65535.0, 41 / 1023.0 / 12.92,
		    0.0001); /* just below 0.04045: still straight */
	assert_int_equal((u16(profile) << 16 | u16(profile + 2)), SEAL_ICC_SIZE);
}

static void refuse(const struct seal_fixture *f, const struct seal_finish_options *options, const char *field,
		   const char *words)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *out = NULL, *drawn;
	size_t size, drawn_size;

	(void)f;
	drawn = draw(s, &drawn_size);
	assert_int_equal(seal_finish(drawn, drawn_size, options, &out, &size, &err), INVALID);
	assert_string_equal(err.field, field);
	assert_says(err.message, words);
	assert_null(out);
	free(drawn);
	free(s);
}

static void what_cannot_be_is_refused_and_named(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_field fields[2] = {fixture_fields[0], fixture_fields[1]};
	struct seal_attachment attachment = {"a.xml", "text/xml", "A record", "<a/>", 4, f->now};
	struct seal_finish_options o = {.language = "en", .fields = fields, .field_count = 2};

	fields[1].page = 3;
	refuse(f, &o, "/fields/1/page", "there is no page 3");
	fields[1].page = 1;
	fields[1].x = 500;
	refuse(f, &o, "/fields/1/page", "lies beside its page");
	fields[1].x = NAN;
	refuse(f, &o, "/fields/1", "impossible place");
	fields[1] = fields[0];
	refuse(f, &o, "/fields/1", "is there twice");
	fields[1].name = "two words";
	refuse(f, &o, "/fields/1", "letters, digits");
	o.field_count = 0;
	refuse(f, &o, "/fields", "1 to 16 fields");
	o.field_count = 1;
	o.attachments = &attachment;
	o.attachment_count = 1;
	attachment.name = "../a.xml";
	refuse(f, &o, "/attachments/0", "letters, digits");
	attachment.name = "a.xml";
	attachment.mime = "xml";
	refuse(f, &o, "/attachments/0", "media type");
	attachment.mime = "text/xml";
	o.language = "English, please";
	refuse(f, &o, "/language", "a tag such as en");
	o.language = "en";
	fields[1] = fixture_fields[1];
	attachment.mime = "text/xml";
	o.alternatives = fixture_alternatives;
	o.alternative_count = 1;
	refuse(f, &o, "/alternatives", "the pages hold 2 figures, but 1 have a text");
}

static void file_is_finished_once_and_only_when_whole(void **state)
{
	const struct seal_fixture *f = *state;
	const struct seal_finish_options o = {.language = "en", .fields = fixture_fields, .field_count = 3};
	struct err err = {0};
	char *out = NULL;
	size_t size;

	assert_int_equal(seal_finish(f->finished, f->finished_size, &o, &out, &size, &err), CONFLICT);
	assert_says(err.message, "finished already");
	assert_int_equal(seal_finish(f->finished, f->finished_size / 2, &o, &out, &size, &err), INVALID);
	assert_says(err.message, "the PDF is damaged");
	assert_int_equal(seal_finish("", 0, &o, &out, &size, &err), INVALID);
	assert_null(out);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(catalogue_says_language_title_profile_and_attachment),
		cmocka_unit_test(attached_record_comes_out_as_it_went_in),
		cmocka_unit_test(description_in_xmp_agrees_with_the_information),
		cmocka_unit_test(xmp_is_well_formed_and_lies_open),
		cmocka_unit_test(pdfbox_finds_only_what_part_3_allows),
		cmocka_unit_test(same_pages_give_the_same_file),
		cmocka_unit_test(profile_is_srgb_by_its_chromaticities),
		cmocka_unit_test(profile_has_the_curve_of_srgb),
		cmocka_unit_test(what_cannot_be_is_refused_and_named),
		cmocka_unit_test(file_is_finished_once_and_only_when_whole),
	};

	return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
