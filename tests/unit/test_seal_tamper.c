/* What may be done to a sealed file after the fact, and what is then said of it. */
#include "unit/seal_fixture.h"

static char *copy_of(const char *bytes, size_t size)
{
	char *copy = malloc(size);

	assert_non_null(copy);
	memcpy(copy, bytes, size);
	return copy;
}

/* Where the text stands, from an offset on. */
static size_t find(const char *bytes, size_t size, size_t from, const char *text)
{
	const char *at = memmem(bytes + from, size - from, text, strlen(text));

	assert_non_null(at);
	return (size_t)(at - bytes);
}

static void assert_fault(const struct seal_fixture *f, const char *bytes, size_t size, const char *word, size_t at)
{
	struct seal_report r = verified(f, bytes, size);

	assert_string_equal(seal_fault_word(r.fault), word);
	assert_int_equal(r.fault_at, at);
	assert_false(r.sound);
	assert_false(r.trusted);
}

/* One byte of the twice signed file changed. */
static struct seal_report changed(const struct seal_fixture *f, size_t at, int mask)
{
	char *copy = copy_of(f->twice, f->twice_size);
	struct seal_report r;

	copy[at] = (char)(copy[at] ^ mask);
	r = verified(f, copy, f->twice_size);
	free(copy);
	return r;
}

static void file_as_issued_is_sound(void **state)
{
	const struct seal_fixture *f = *state;

	assert_true(verified(f, f->once, f->once_size).trusted);
	assert_true(verified(f, f->twice, f->twice_size).trusted);
}

static void bit_flipped_in_the_pages_breaks_both_signatures(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_report r = changed(f, find(f->twice, f->twice_size, 0, "stream\n") + 40, 1);

	assert_string_equal(seal_fault_word(r.fault), "content");
	assert_int_equal(r.fault_at, 1);
	assert_false(r.signature[0].intact);
	assert_false(r.signature[1].intact);
	assert_string_equal(r.sentence, "Signature 1 of 2 does not fit: the file was changed after it was sealed.");
}

static void bit_flipped_in_the_second_signatures_revision_leaves_the_first(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_report r = changed(f, find(f->twice, f->twice_size, f->once_size, "/Reason <feff") + 15, 1);

	assert_string_equal(seal_fault_word(r.fault), "content");
	assert_int_equal(r.fault_at, 2);
	assert_true(r.signature[0].intact);
	assert_false(r.signature[1].intact);
}

static void digit_changed_inside_the_first_value_breaks_it(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_report r = changed(f, find(f->twice, f->twice_size, 0, "/Contents <30") + 800, 1);

	assert_string_equal(seal_fault_word(r.fault), "signature");
	assert_int_equal(r.fault_at, 1);
	assert_false(r.signature[1].intact);
}

static void something_behind_the_value_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	size_t at = find(f->twice, f->twice_size, 0, "/Contents <30") + 2 * SEAL_CONTENTS_ROOM - 100;
	struct seal_report r = changed(f, at, 1);
	char *copy = copy_of(f->once, f->once_size);

	assert_string_equal(seal_fault_word(r.fault), "padding");
	assert_int_equal(r.fault_at, 1);
	copy[at] ^= 1;
	assert_fault(f, copy, f->once_size, "padding", 1);
	free(copy);
}

static void anything_appended_is_found(void **state)
{
	static const char *const tails[] = {"% a remark\n", "\n", " ", "%%EOF\n"};
	const struct seal_fixture *f = *state;
	char *longer = malloc(f->twice_size + 20);

	memcpy(longer, f->twice, f->twice_size);
	for (size_t i = 0; i < 4; i++) {
		memcpy(longer + f->twice_size, tails[i], strlen(tails[i]));
		assert_fault(f, longer, f->twice_size + strlen(tails[i]), "appended", 0);
	}
	longer[f->twice_size] = '\0';
	assert_fault(f, longer, f->twice_size + 1, "appended", 0);
	free(longer);
}

static void file_cut_short_is_not_sound(void **state)
{
	const struct seal_fixture *f = *state;

	assert_fault(f, f->twice, f->twice_size - 1, "appended", 0); /* what is left of the second behind the first */
	assert_fault(f, f->once, f->once_size - 1, "unreadable", 0);
	assert_fault(f, f->once, 100, "unreadable", 0);
	assert_fault(f, f->once, 0, "unreadable", 0);
}

/* The number behind a text such as "/Contents ". */
static int number_behind(const struct seal_fixture *f, size_t from, const char *text)
{
	return atoi(f->twice + find(f->twice, f->twice_size, from, text) + strlen(text));
}

/* The file with a revision behind it that replaces or adds one object; text is that object. The caller frees it. */
static char *revised(const struct seal_fixture *f, int number, const char *text, size_t *size)
{
	const char *trailer = f->twice + find(f->twice, f->twice_size, f->once_size, "trailer << /Size");
	size_t left = (size_t)(f->twice + f->twice_size - trailer), at = f->twice_size, prev, xref;
	const char *rest = memmem(trailer, left, " /Root", 6), *end = memmem(trailer, left, " /Prev", 6);
	const char *start = memmem(trailer, left, "startxref\n", 10);
	int top = atoi(trailer + strlen("trailer << /Size "));
	char *whole = malloc(f->twice_size + strlen(text) + 1024);

	prev = (size_t)atol(start + 10);
	memcpy(whole, f->twice, at);
	at += (size_t)sprintf(whole + at, "%s", text);
	xref = at;
	at += (size_t)sprintf(
		whole + at,
		"xref\n%d 1\n%010zu 00000 n \ntrailer << /Size %d%.*s /Prev %zu >>\nstartxref\n%zu\n%%%%EOF\n", number,
		f->twice_size, number < top ? top : number + 1, (int)(end - rest), rest, prev, xref);
	*size = at;
	return whole;
}

static void page_replaced_by_a_later_revision_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	int number = number_behind(f, 0, "/Contents ");
	char text[200], *forged, *poppler;
	size_t size;

	sprintf(text, "%d 0 obj\n<< /Length 29 >>\nstream\n1 0 0 rg 100 100 300 300 re f\nendstream\nendobj\n", number);
	forged = revised(f, number, text, &size);
	assert_fault(f, forged, size, "revised", 3);
	/* Poppler reads the forgery as meant: both signatures valid, but no longer over the whole. */
	poppler = tool_about(f, forged, size, "pdfsig -nocert $f 2>&1");
	assert_int_equal(count_of(poppler, "Signature is Valid"), 2);
	assert_int_equal(count_of(poppler, "Total document signed"), 0);
	free(poppler);
	free(forged);
}

static void signature_taken_away_by_a_later_revision_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	size_t at = find(f->finished, f->finished_size, 0, "/FT /Sig"), begin = at, end, size;
	char *text, *forged;

	while (memcmp(f->finished + begin, "endobj\n", 7) != 0)
		begin--;
	begin += 7;
	end = find(f->finished, f->finished_size, at, "endobj\n") + 7;
	text = strndup(f->finished + begin, end - begin);
	forged = revised(f, atoi(text), text, &size); /* the empty field again */
	assert_fault(f, forged, size, "revised", 3);
	free(forged);
	free(text);
}

static void object_that_no_signature_needs_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	char *forged;
	size_t size;

	forged = revised(f, 9000, "9000 0 obj\n<< /Note (nothing refers to this) >>\nendobj\n", &size);
	assert_fault(f, forged, size, "revised", 3);
	free(forged);
}

/* The second revision's bytes once more: its tables then point into what stands before. */
static void revision_repeated_is_not_sound(void **state)
{
	const struct seal_fixture *f = *state;
	size_t more = f->twice_size - f->once_size;
	char *longer = malloc(f->twice_size + more);

	memcpy(longer, f->twice, f->twice_size);
	memcpy(longer + f->twice_size, f->twice + f->once_size, more);
	assert_fault(f, longer, f->twice_size + more, "appended", 0);
	free(longer);
}

static void rewritten(const struct seal_fixture *f, const char *how, const char *word)
{
	char shell[200], path[64];
	char *bytes, *said;
	size_t size;
	FILE *in;

	snprintf(shell, sizeof shell, "qpdf %s $f $d/new.pdf 2>&1; true", how);
	said = tool_about(f, f->twice, f->twice_size, shell);
	free(said);
	snprintf(path, sizeof path, "%s/new.pdf", f->home);
	in = fopen(path, "rb");
	assert_non_null(in);
	bytes = malloc(4 * f->twice_size);
	size = fread(bytes, 1, 4 * f->twice_size, in);
	fclose(in);
	assert_fault(f, bytes, size, word, 0);
	free(bytes);
}

static void file_rewritten_by_another_program_has_lost_its_seal(void **state)
{
	const struct seal_fixture *f = *state;

	rewritten(f, "--newline-before-endstream", "rewritten");
	rewritten(f, "--object-streams=generate", "unreadable");
	rewritten(f, "--linearize", "unreadable");
}

static void range_that_leaves_something_out_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	char *copy = copy_of(f->once, f->once_size);
	size_t at = find(copy, f->once_size, 0, "/ByteRange [0 ") + 14;
	struct seal_report r;

	copy[at + strcspn(copy + at, " ") - 1] ^= 1; /* the gap begins one byte earlier or later */
	assert_fault(f, copy, f->once_size, "coverage", 1);
	memcpy(copy + at, "0 0 0 ", 6);
	r = verified(f, copy, f->once_size);
	assert_false(r.sound);
	free(copy);
}

/* The value of the first signature in the place of the second's: whole in itself, but for other bytes. */
static void value_of_another_signature_does_not_fit(void **state)
{
	const struct seal_fixture *f = *state;
	char *copy = copy_of(f->twice, f->twice_size);
	size_t first = find(copy, f->twice_size, 0, "/Contents <30") + 11;
	size_t second = find(copy, f->twice_size, f->once_size, "/Contents <30") + 11;

	memcpy(copy + second, copy + first, 2 * SEAL_CONTENTS_ROOM);
	assert_fault(f, copy, f->twice_size, "content", 2);
	free(copy);
}

static void file_without_a_signature_is_not_sealed(void **state)
{
	const struct seal_fixture *f = *state;

	assert_fault(f, f->finished, f->finished_size, "not_sealed", 0);
	assert_string_equal(verified(f, f->finished, f->finished_size).sentence, "The file carries no seal.");
}

/* Sealed as well as ours, under the same name, by somebody else's authority. */
static void seal_of_another_authority_of_the_same_name_is_not_trusted(void **state)
{
	const struct seal_fixture *f = *state;
	struct seal_fixture *other = fixture_new(SEAL_EC_P256);
	struct seal_report r = verified(f, other->twice, other->twice_size);

	assert_true(r.sound);
	assert_false(r.trusted);
	assert_int_equal(r.signature[1].trust, SEAL_TRUST_NO_ROOT);
	assert_string_not_equal(r.sha256, verified(f, f->twice, f->twice_size).sha256);
	fixture_free(other);
}

/* Park and Miller's generator (Communications of the ACM 31:10, 1988): the same places in every run. */
static uint32_t next_random(uint32_t *state)
{
	*state = (uint32_t)((uint64_t)*state * 16807 % 2147483647);
	return *state;
}

/* Upper and lower case of a digit in a value are the same number to others; to us only one of them is right. */
static bool only_case(unsigned char a, unsigned char b)
{
	return (a ^ b) == 0x20 && ((a | 0x20) >= 'a' && (a | 0x20) <= 'f');
}

/*
 * Poppler does not read the name of the content's type that stands outside what is signed (RFC 5652, 5.2, eContentType;
 * the signed attribute repeats it, and OpenSSL compares the two): nine bytes of the last value, two digits each.
 */
static bool in_content_type(const struct seal_fixture *f, size_t at)
{
	static const char id_data[] = "300b06092a864886f70d010701"; /* RFC 5652, 4: { pkcs-7 1 } */
	size_t value = find(f->twice, f->twice_size, f->once_size, "/Contents <30") + 11;
	size_t type = find(f->twice, f->twice_size, value, id_data);

	return at >= type && at < type + sizeof id_data - 1;
}

/* The root trusted, as whoever holds the certificate in hand would have it. */
#define NSS_STORE                                                               \
	"mkdir $d/nss; certutil -N --empty-password -d sql:$d/nss 2>/dev/null;" \
	"certutil -A -n root -t CT,C,C -i $d/seal/root.crt -d sql:$d/nss"

static bool poppler_takes_it(const struct seal_fixture *f, const char *bytes)
{
	char *text = tool_about(f, bytes, f->twice_size, "pdfsig -nssdir sql:$d/nss $f 2>&1; true");
	bool taken = count_of(text, "Signature is Valid") == 2 && count_of(text, "Certificate is Trusted") == 2 &&
		     strstr(text, "- Total document signed");

	free(text);
	return taken;
}

static void one_byte_changed_at_any_of_200_places_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	char *copy = copy_of(f->twice, f->twice_size);
	uint32_t random = 20261125;

	free(tool_about(f, copy, f->twice_size, NSS_STORE));
	assert_true(poppler_takes_it(f, copy));
	for (int i = 0; i < 200; i++) {
		size_t at = next_random(&random) % f->twice_size;
		unsigned char was = (unsigned char)copy[at];
		unsigned char is = (unsigned char)(was ^ (1 + next_random(&random) % 255));
		struct seal_report r;

		copy[at] = (char)is;
		r = verified(f, copy, f->twice_size);
		if (r.sound || r.trusted)
			print_error("byte %zu: %02x to %02x was not found\n", at, was, is);
		assert_false(r.sound);
		assert_false(r.trusted);
		if (poppler_takes_it(f, copy)) {
			print_error("byte %zu: %02x to %02x, says poppler, is nothing\n", at, was, is);
			assert_true(only_case(was, is) || in_content_type(f, at));
		}
		copy[at] = (char)was;
	}
	free(copy);
}

/* Every byte of the second signature's value and of what stands around it, not only some. */
static void every_changed_byte_of_a_value_is_found(void **state)
{
	const struct seal_fixture *f = *state;
	char *copy = copy_of(f->twice, f->twice_size);
	size_t from = find(copy, f->twice_size, f->once_size, "/ByteRange");

	for (size_t at = from; at < from + 2600; at++) {
		copy[at] ^= 1;
		if (verified(f, copy, f->twice_size).sound) {
			print_error("byte %zu of the value was not found\n", at - from);
			fail();
		}
		copy[at] ^= 1;
	}
	free(copy);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(file_as_issued_is_sound),
		cmocka_unit_test(bit_flipped_in_the_pages_breaks_both_signatures),
		cmocka_unit_test(bit_flipped_in_the_second_signatures_revision_leaves_the_first),
		cmocka_unit_test(digit_changed_inside_the_first_value_breaks_it),
		cmocka_unit_test(something_behind_the_value_is_found),
		cmocka_unit_test(anything_appended_is_found),
		cmocka_unit_test(file_cut_short_is_not_sound),
		cmocka_unit_test(page_replaced_by_a_later_revision_is_found),
		cmocka_unit_test(signature_taken_away_by_a_later_revision_is_found),
		cmocka_unit_test(object_that_no_signature_needs_is_found),
		cmocka_unit_test(revision_repeated_is_not_sound),
		cmocka_unit_test(file_rewritten_by_another_program_has_lost_its_seal),
		cmocka_unit_test(range_that_leaves_something_out_is_found),
		cmocka_unit_test(value_of_another_signature_does_not_fit),
		cmocka_unit_test(file_without_a_signature_is_not_sealed),
		cmocka_unit_test(seal_of_another_authority_of_the_same_name_is_not_trusted),
		cmocka_unit_test(one_byte_changed_at_any_of_200_places_is_found),
		cmocka_unit_test(every_changed_byte_of_a_value_is_found),
	};

	return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
