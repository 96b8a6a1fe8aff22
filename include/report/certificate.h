/*
 * The certificate as PDF, from a finished record: vector, text selectable, fonts embedded. DESIGN.md section 7 says what
 * stands on it; docs/certificate.md says where, against ISO/IEC 17025:2017 7.8.2 and 7.8.4.
 */
#ifndef REPORT_CERTIFICATE_H
#define REPORT_CERTIFICATE_H

#include "base/arena.h"
#include "base/status.h"
#include "domain/paper.h"
#include "domain/record.h"

struct certificate_options {
	const char *plant_name, *plant_address; /* address may be NULL; lines separated by \n */
	const char *verify_address; /* "http://127.0.0.1:8470/verify/BWW-2026-0017": printed and in the QR code */
	enum paper paper;
	const char *program; /* "Loopledger 0.1.0" */
	bool sealed;	     /* the file will carry the plant's seal; otherwise its face says that it does not */
	bool copy;	     /* for reading and printing: each page says so */
	const char *root_fingerprint; /* SHA-256 of the root that the seal is under; NULL when it is not known */
	const char *country;	      /* of the plant, ISO 3166-1, "GB"; NULL: not named */
};

/*
 * Draws the certificate of r (which has a certificate number). *bytes is malloc'ed, the caller frees it. INVALID when a
 * character of the record has no glyph in the fonts at hand (the sentence names the text); FAILED when cairo fails.
 * Thread-safe.
 */
enum status certificate_pdf(const struct record *r, const struct certificate_options *options, char **bytes,
			    size_t *size, struct err *err);

#define CERTIFICATE_FIGURES_MAX 2

/*
 * The figures of that PDF in words, in the order of reading (the chart when there is one, the QR code), for seal_finish.
 * Text is allocated from a.
 */
enum status certificate_alternatives(const struct record *r, const struct certificate_options *options, struct arena *a,
				     const char *out[CERTIFICATE_FIGURES_MAX], size_t *n, struct err *err);

#endif
