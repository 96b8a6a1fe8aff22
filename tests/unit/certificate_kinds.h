/* Sealed certificates of several kinds, in a temporary folder, for outside tools to judge. */
#ifndef TESTS_CERTIFICATE_KINDS_H
#define TESTS_CERTIFICATE_KINDS_H

#include "unit/seal_fixture.h"
#include "unit/switch_sample.h"

#define NAME_80 "Brackenholm Water Works, northern intake, treatment and pumping of lower Bracken"

enum kind {
	KIND_ADJUSTED,
	KIND_FOUND,
	KIND_SWITCH,
	KIND_CYCLES,
	KIND_LONG,
	KIND_VOID,
	KIND_CHINESE,
	KIND_GREEK,
	KIND_CYRILLIC,
	KINDS
};

/* n characters in words of 2 to 9 letters, ended by "end." */
static inline char *words_of(size_t n)
{
	char *text = calloc(1, n + 1);

	assert_non_null(text);
	for (size_t i = 0, left = 3; i + 4 < n; i++) {
		text[i] = left == 0 ? ' ' : (char)('a' + i * 7 % 26);
		left = left == 0 ? 2 + i * 5 % 8 : left - 1;
	}
	memcpy(text + n - 4, "end.", 4);
	return text;
}

static inline struct sample *sample_found(void)
{
	struct sample *s = sample_new();

	sample_run(s, RUN_AS_FOUND, 5, 1, 0.1, 0, 0.2);
	return s;
}

/* 21 readings a cycle, 3 cycles, twice. */
static inline struct sample *sample_cycles(void)
{
	struct sample *s = sample_new();

	sample_run(s, RUN_AS_FOUND, 11, 3, 0.4, 0, 0.2);
	sample_run(s, RUN_AS_LEFT, 11, 3, 0.1, 0, 0.1);
	return s;
}

/* remarks become the caller's to free, after the sample. */
static inline struct sample *sample_long(char **remarks)
{
	struct sample *s = sample_adjusted();

	*remarks = words_of(4000);
	s->r.remarks = *remarks;
	s->options.plant_name = NAME_80;
	s->r.certificate_by = s->signatures[0].name = s->signatures[1].name = NAME_80;
	s->r.instrument.tag = "A123456789-B123456789-C123456789-D123456";
	s->r.instrument.service = NAME_80;
	s->r.instrument.location = NAME_80;
	s->r.procedure.title = NAME_80;
	return s;
}

static inline struct sample *sample_of(enum kind kind, char **remarks)
{
	struct sample *s;

	*remarks = NULL;
	switch (kind) {
	case KIND_FOUND:
		return sample_found();
	case KIND_SWITCH:
		return sample_switch();
	case KIND_CYCLES:
		return sample_cycles();
	case KIND_LONG:
		return sample_long(remarks);
	default:
		break;
	}
	s = sample_adjusted();
	if (kind == KIND_VOID)
		s->r.certificate_state = "void";
	if (kind == KIND_CHINESE)
		s->r.instrument.tag = s->r.instrument.service = "阀门-2107 Ω µA";
	if (kind == KIND_GREEK)
		s->r.instrument.tag = s->signatures[0].name = "ΒΑΛΒΊΔΑ-7 ± °C";
	if (kind == KIND_CYRILLIC)
		s->r.instrument.tag = s->signatures[0].name = "КЛ-2107 Ёмкость";
	return s;
}

/* As issuing does: drawn, finished with the texts of its figures, sealed. */
static inline void seal_sample(const struct seal_fixture *f, struct sample *s, char **out, size_t *size)
{
	static const char xml[] = RECORD_XML;
	const struct seal_attachment attachment = {"BWW-2026-0017.xml", "text/xml", "The record for machines", xml,
						   sizeof xml - 1,	f->now};
	const struct seal_field field = {"seal", "Seal of the plant", 1, 0, 0, 0, 0};
	const char *alternatives[CERTIFICATE_FIGURES_MAX];
	struct seal_finish_options o = {.language = "en",
					.fields = &field,
					.field_count = 1,
					.attachments = &attachment,
					.attachment_count = 1,
					.alternatives = alternatives};
	const struct seal_sign_options sign = {
		.field = "seal", .name = "Brackenholm Water Works", .reason = "Seal", .at_ms = f->now};
	struct arena a = {0};
	struct err err = {0};
	char *drawn, *finished;
	size_t drawn_size, finished_size;

	s->options.sealed = true;
	drawn = draw(s, &drawn_size);
	must(certificate_alternatives(&s->r, &s->options, &a, alternatives, &o.alternative_count, &err), &err);
	must(seal_finish(drawn, drawn_size, &o, &finished, &finished_size, &err), &err);
	must(seal_sign(f->key, finished, finished_size, &sign, out, size, &err), &err);
	arena_clear(&a);
	free(drawn);
	free(finished);
}

/* $d/kinds/0.pdf, 1.pdf, ... by kind; A4 and US Letter in turn. */
static inline void seal_kinds(const struct seal_fixture *f)
{
	char path[80];

	snprintf(path, sizeof path, "mkdir %s/kinds", f->home);
	assert_int_equal(system(path), 0);
	for (int kind = 0; kind < KINDS; kind++) {
		char *remarks, *bytes;
		struct sample *s = sample_of((enum kind)kind, &remarks);
		size_t size;

		s->options.paper = kind % 2 ? PAPER_LETTER : PAPER_A4;
		seal_sample(f, s, &bytes, &size);
		snprintf(path, sizeof path, "%s/kinds/%d.pdf", f->home, kind);
		write_file(path, bytes, size);
		free(bytes);
		free(s);
		free(remarks);
	}
}

#endif
