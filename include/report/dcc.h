/*
 * The certificate for machines: a finished record as an XML document by the open schema of the digital calibration
 * certificate (DCC 3.3.0, namespace https://ptb.de/dcc), its quantities by the Digital SI format (D-SI 2.2.1,
 * https://ptb.de/si). It says what the PDF says, with the same figures; docs/machine-readable.md has the place of each item.
 *
 * The seal on it is an enveloped XML signature at the end of the root, where the schema has its place: XAdES baseline B-B
 * (ETSI EN 319 132-1), exclusive canonical XML, SHA-256. All functions may be called from any thread.
 */
#ifndef REPORT_DCC_H
#define REPORT_DCC_H

#include "report/certificate.h"
#include "report/seal_verify.h"

/*
 * The unsealed document, which says that it is. Equal records give equal bytes. *bytes is malloc'ed, the caller frees it.
 * CONFLICT without a certificate number; INVALID when the record holds a unit that the program does not know; NO_MEMORY.
 */
enum status dcc_xml(const struct record *r, const struct certificate_options *options, char **bytes, size_t *size,
		    struct err *err);

/*
 * The document of dcc_xml with the plant's seal on it; the mark that it is not sealed goes. at_ms: the time of signing as
 * claimed. *out is malloc'ed, the caller frees it. INVALID: no document of dcc_xml, certificate not valid at at_ms;
 * CONFLICT: sealed already; FAILED: the key does not work.
 */
enum status dcc_sign(struct seal_key *key, const char *xml, size_t size, int64_t at_ms, char **out, size_t *out_size,
		     struct err *err);

enum dcc_fault {
	DCC_FAULT_NONE,
	DCC_FAULT_NOT_SEALED, /* a certificate without any signature */
	DCC_FAULT_UNREADABLE, /* no XML, or no certificate */
	DCC_FAULT_FORM, /* not the one form that dcc_sign writes: what a signature may leave open is closed there */
	DCC_FAULT_SIGNATURE, /* the signature does not fit its certificate or what it signs */
	DCC_FAULT_CONTENT    /* the signature is whole, but what it covers was changed */
};

struct dcc_report {
	bool sound;	 /* nothing that the seal covers was changed, and it covers the whole certificate */
	bool trusted;	 /* sound, and by somebody under one of the roots */
	bool as_written; /* sound, and byte for byte as dcc_sign wrote it; false: written anew since, which changes at most
			  * what means nothing in XML, such as white space between attributes */
	enum dcc_fault fault;
	enum seal_trust trust;
	char sentence[SEAL_SENTENCE_SIZE];		     /* the result in one plain sentence */
	char number[64];				     /* of the certificate, as the document says */
	char signer[SEAL_NAME_SIZE], issuer[SEAL_NAME_SIZE]; /* "" before they are read; see seal_name_text */
	char fingerprint[SEAL_FINGERPRINT_SIZE];
	int64_t at_ms; /* time of signing: claimed, not proven; 0 when not known */
};

/*
 * What a sealed document is worth. Strict: exactly one signature, last in the root, over the whole document and its own
 * properties, SHA-256, with the signer's certificate bound in (against moving signed parts elsewhere). No comments, no
 * document type, no address is followed. A bad document is an answer, not a failure: OK with sound false.
 * roots may be NULL: nobody is trusted. NO_MEMORY or FAILED otherwise.
 */
enum status dcc_verify(const char *xml, size_t size, const struct seal_roots *roots, struct dcc_report *out,
		       struct err *err);

/* The fault in a word that never changes, for JSON and logs: "content", "form", ...; "" for none. */
const char *dcc_fault_word(enum dcc_fault fault);

#endif
