/*
 * Sealed files changed at random: bits, bytes, pieces left out, doubled, moved and taken from other files, numbers, tokens of
 * PDF, and the DER inside the value. None may be called sound, whatever else it is; the sanitisers watch.
 *
 *   test_seal_mutation [COUNT [SEED]]     3000 files unless told otherwise
 */
#include "unit/seal_fixture.h"

#include <cairo-pdf.h>

static size_t count = 3000;
static uint64_t seed = 20261125;

/* splitmix64 (Steele, Lea, Flood 2014). */
static uint64_t next_random(void)
{
	uint64_t z = seed += 0x9e3779b97f4a7c15;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9;
	z = (z ^ z >> 27) * 0x94d049bb133111eb;
	return z ^ z >> 31;
}

static size_t below(size_t n)
{
	return n ? (size_t)(next_random() % n) : 0;
}

#define ROOM (1u << 18)

struct file {
	char bytes[ROOM];
	size_t size;
};

static void replace(struct file *f, size_t at, size_t out, const void *with, size_t in)
{
	if (at > f->size || out > f->size - at || f->size - out + in > ROOM)
		return;
	memmove(f->bytes + at + in, f->bytes + at + out, f->size - at - out);
	memcpy(f->bytes + at, with, in);
	f->size = f->size - out + in;
}

static const char *const tokens[] = {
	"obj",
	"endobj",
	"stream\n",
	"endstream",
	"xref\n",
	"trailer",
	"startxref\n",
	"%%EOF\n",
	"<<",
	">>",
	"[",
	"]",
	"<",
	">",
	"(",
	")",
	"/V",
	"/AP",
	"/Prev",
	"/Root",
	"/Size",
	"/ByteRange [0 ",
	"/Contents <30",
	"/Length ",
	"/Fields",
	"/AcroForm",
	" 0 R",
	"0000000000 65535 f \n",
	"0000000017 00000 n \n",
	"-1",
	"0",
	"99999",
	"2147483648",
	"9999999999",
	"null",
	"/T",
	"/XRefStm 17",
	"/Encrypt 5 0 R",
	"\r\n",
	"\0",
	"30820100",
	"3080",
	"%",
	"/Kids",
	"/#56",
};

/* A place near something that matters: behind one of the tokens. */
static size_t interesting(const struct file *f)
{
	const char *token = tokens[below(sizeof tokens / sizeof *tokens)];
	size_t from = below(f->size);
	const char *at = *token ? memmem(f->bytes + from, f->size - from, token, strlen(token)) : NULL;

	return at ? (size_t)(at - f->bytes) + below(strlen(token) + 6) : from;
}

static void change_number(struct file *f)
{
	size_t at = interesting(f);

	for (int tries = 0; tries < 200 && at < f->size; tries++, at++)
		if (f->bytes[at] >= '0' && f->bytes[at] <= '9') {
			f->bytes[at] = (char)('0' + below(10));
			return;
		}
}

static void change(struct file *f, const struct file *others, size_t other_count)
{
	const struct file *other = &others[below(other_count)];
	const char *token = tokens[below(sizeof tokens / sizeof *tokens)];
	char byte = (char)next_random();
	size_t at = below(2) ? interesting(f) : below(f->size), n = below(below(8) ? 40 : 4000);
	size_t from = below(other->size);

	if (at >= f->size)
		return;
	switch (below(9)) {
	case 0:
		f->bytes[at] = (char)(f->bytes[at] ^ 1 << below(8));
		break;
	case 1:
		f->bytes[at] = byte;
		break;
	case 2:
		replace(f, at, n, "", 0);
		break;
	case 3:
		replace(f, at, 0, token, strlen(token));
		break;
	case 4:
		replace(f, at, strlen(token), token, strlen(token));
		break;
	case 5:
		if (from + n <= other->size)
			replace(f, at, below(2) ? n : 0, other->bytes + from, n);
		break;
	case 6:
		f->size = at;
		break;
	case 7:
		replace(f, at, 0, &byte, 1);
		break;
	default:
		change_number(f);
	}
}

static int digit(char c)
{
	return c <= '9' ? c - '0' : c - 'a' + 10;
}

/* Changes bytes of the DER inside one of the values, so that it stays hexadecimal of the same length. */
static void change_value(struct file *f)
{
	size_t from = below(2) ? 0 : f->size / 2;
	char *at = memmem(f->bytes + from, f->size - from, "/Contents <30", 13);
	size_t size = 1500;

	if (!at)
		return;
	at += 11;
	for (size_t n = 1 + below(4); n > 0; n--) {
		size_t i = 2 * below(size);
		int v = digit(at[i]) << 4 | digit(at[i + 1]);

		v = below(3) ? v ^ 1 << below(8) : (int)below(256);
		at[i] = "0123456789abcdef"[v >> 4 & 15];
		at[i + 1] = "0123456789abcdef"[v & 15];
	}
}

static cairo_status_t take(void *context, const unsigned char *data, unsigned int size)
{
	struct file *f = context;

	memcpy(f->bytes + f->size, data, size);
	f->size += size;
	return CAIRO_STATUS_SUCCESS;
}

/* A small page, so that most of the file is what the seal made. */
static void draw_small(struct file *f)
{
	cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(take, f, 200, 200);
	cairo_t *cr = cairo_create(surface);

	cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, "Small");
	cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "2026-11-25T12:00:00Z");
	cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, "2026-11-25T12:00:00Z");
	cairo_rectangle(cr, 20, 20, 100, 50);
	cairo_fill(cr);
	cairo_show_page(cr);
	cairo_destroy(cr);
	cairo_surface_destroy(surface);
}

static void keep(struct file *f, char *bytes, size_t size)
{
	assert_true(size <= ROOM);
	memcpy(f->bytes, bytes, size);
	f->size = size;
	free(bytes);
}

/* [0] drawn, [1] finished, [2] signed once, [3] twice, the first with text, [4] the large one of the fixture */
static void make_files(const struct seal_fixture *f, struct file files[5])
{
	static const struct seal_field fields[] = {{"performed", "Technician", 1, 10, 100, 150, 40},
						   {"plant", "Plant", 1, 0, 0, 0, 0}};
	const struct seal_finish_options options = {.language = "en", .fields = fields, .field_count = 2};
	struct seal_sign_options first = fixture_performed(f), second = {.field = "plant", .at_ms = f->now};
	struct err err = {0};
	char *out;
	size_t size;

	first.contents_room = second.contents_room = 1800;
	draw_small(&files[0]);
	must(seal_finish(files[0].bytes, files[0].size, &options, &out, &size, &err), &err);
	keep(&files[1], out, size);
	must(seal_sign(f->key, files[1].bytes, files[1].size, &first, &out, &size, &err), &err);
	keep(&files[2], out, size);
	must(seal_sign(f->key, files[2].bytes, files[2].size, &second, &out, &size, &err), &err);
	keep(&files[3], out, size);
	memcpy(files[4].bytes, f->twice, f->twice_size);
	files[4].size = f->twice_size;
}

static bool is_one_of(const struct file *f, const struct file files[5])
{
	for (int i = 0; i < 5; i++)
		if (f->size == files[i].size && memcmp(f->bytes, files[i].bytes, f->size) == 0)
			return true;
	return false;
}

static void no_changed_file_is_called_sound(void **state)
{
	const struct seal_fixture *f = *state;
	struct file *files = calloc(6, sizeof *files), *changed = &files[5];
	size_t faults[SEAL_FAULT_CONTENT + 1] = {0};

	make_files(f, files);
	for (size_t i = 0; i < count; i++) {
		struct seal_report r;
		char *exact;

		*changed = files[2 + below(below(20) ? 2 : 3)];
		if (below(4) == 0)
			change_value(changed);
		else
			for (size_t n = 1 + below(below(3) ? 2 : 12); n > 0; n--)
				change(changed, files, 5);
		if (is_one_of(changed, files))
			continue;
		exact = malloc(changed->size ? changed->size : 1); /* so that one byte too far is seen */
		memcpy(exact, changed->bytes, changed->size);
		r = verified(f, exact, changed->size);
		if (r.sound) {
			write_file("unsound.pdf", exact, changed->size);
			print_error("file %zu of seed was called sound; kept as unsound.pdf\n", i);
		}
		assert_false(r.sound);
		assert_true(r.sentence[0]);
		faults[r.fault]++;
		free(exact);
	}
	for (int i = 1; i <= SEAL_FAULT_CONTENT; i++)
		print_message("%s: %zu\n", seal_fault_word((enum seal_fault)i), faults[i]);
	free(files);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(no_changed_file_is_called_sound),
	};

	if (argc > 1)
		count = strtoul(argv[1], NULL, 10);
	if (argc > 2)
		seed = strtoull(argv[2], NULL, 10);
	return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
