/* Draws a sample's certificate into a temporary file and asks outside tools (poppler, zbar) what they see in it. */
#ifndef TESTS_CERTIFICATE_CHECK_H
#define TESTS_CERTIFICATE_CHECK_H

#include <unistd.h>
#include "support/check.h"
#include "unit/certificate_sample.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

/* What a shell command prints about the file $f; the caller frees it. Its exit status must be 0. */
static inline char *output_of(const char *shell, const char *path)
{
	char command[2048], *text = NULL;
	size_t size = 0, n, room = 0;
	FILE *pipe;

	snprintf(command, sizeof command, "f=%s; %s", path, shell);
	pipe = popen(command, "r");
	assert_non_null(pipe);
	do {
		if (size + 65536 > room) {
			room = size + 131072;
			text = realloc(text, room);
			assert_non_null(text);
		}
		n = fread(text + size, 1, 65535, pipe);
		size += n;
	} while (n > 0);
	text[size] = '\0';
	if (pclose(pipe) != 0) {
		print_error("%s: %s\n", command, text);
		fail();
	}
	return text;
}

/* The bytes of the certificate, which the caller frees. */
static inline char *draw(const struct sample *s, size_t *size)
{
	struct err err = {0};
	char *bytes = NULL;

	if (certificate_pdf(&s->r, &s->options, &bytes, size, &err) != OK) {
		print_error("refused: %s\n", err.message);
		fail();
	}
	return bytes;
}

/* The same in a temporary file; path holds at least 40 characters. The caller unlinks it. */
static inline void draw_file(const struct sample *s, char *path)
{
	size_t size;
	char *bytes = draw(s, &size);
	int fd;

	strcpy(path, "/tmp/certificate-XXXXXX");
	fd = mkstemp(path);
	assert_true(fd >= 0);
	assert_int_equal(write(fd, bytes, size), size);
	close(fd);
	free(bytes);
}

/* What a tool says of a sample's certificate; frees the sample. */
static inline char *tool_says(struct sample *s, const char *shell)
{
	char path[40], *text;

	draw_file(s, path);
	text = output_of(shell, path);
	unlink(path);
	free(s);
	return text;
}

static inline char *text_of(struct sample *s)
{
	return tool_says(s, "pdftotext -layout $f - 2>&1");
}

/* The text with every run of white space as one space, for sentences that wrap. The caller frees it. */
static inline char *flat_text_of(struct sample *s)
{
	char *text = tool_says(s, "pdftotext $f - 2>&1"), *to = text;

	for (const char *from = text; *from; from++) {
		bool space = *from == ' ' || *from == '\n' || *from == '\f';

		if ((unsigned char)from[0] == 0xc2 && (unsigned char)from[1] == 0xa0) { /* no-break space */
			space = true;
			from++;
		}
		if (!space)
			*to++ = *from;
		else if (to > text && to[-1] != ' ')
			*to++ = ' ';
	}
	*to = '\0';
	return text;
}

static inline void assert_says(const char *text, const char *wanted)
{
	if (strstr(text, wanted))
		return;
	print_error("\"%s\" is not in:\n%s\n", wanted, text);
	fail();
}

static inline size_t count_of(const char *text, const char *what)
{
	size_t n = 0;

	for (; (text = strstr(text, what)); text += strlen(what))
		n++;
	return n;
}

#endif
