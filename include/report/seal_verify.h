/*
 * What a sealed file is worth: who sealed it, whether a byte was changed since, and whom that rests on. Strict on purpose:
 * it knows the form that seal_finish and seal_sign write, and calls every other form unsound. Trusts only the roots it is
 * given. Safe on hostile bytes: bounded in size, depth and memory, never follows an address.
 *
 * Rules: each revision after the first is one signature; it may set /V and /AP of one empty field that the first revision
 * has, add what those two reach, and nothing else. A signature covers everything up to the end of its revision but its own
 * value, whose room beyond the value is zero. The last one ends where the file ends. CMS: CAdES with
 * signing-certificate-v2, SHA-256, without a signing time; certificate chain to a given root, judged at the time stamp, or
 * at the claimed time when there is none.
 */
#ifndef REPORT_SEAL_VERIFY_H
#define REPORT_SEAL_VERIFY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "base/status.h"
#include "base/text.h"
#include "report/seal.h"
#include "report/seal_key.h"

#define SEAL_SENTENCE_SIZE 400 /* holds a name of SEAL_NAME_SIZE whole */

/* What is wrong, the worst first found; SEAL_FAULT_NONE when nothing is. */
enum seal_fault {
	SEAL_FAULT_NONE,
	SEAL_FAULT_NOT_SEALED, /* a whole file of ours without any signature */
	SEAL_FAULT_UNREADABLE, /* not a PDF, damaged, or not of the form we write */
	SEAL_FAULT_REWRITTEN, /* another program has written the file anew: signatures without the revisions they belong to */
	SEAL_FAULT_APPENDED,  /* bytes after the last signature */
	SEAL_FAULT_REVISED,   /* a later revision changes what was signed, or adds what no signature needs */
	SEAL_FAULT_COVERAGE,  /* the signature leaves out a part of its revision */
	SEAL_FAULT_PADDING,   /* something stands in the room behind the signature */
	SEAL_FAULT_SIGNATURE, /* the signature itself is damaged, or not of the kind we make */
	SEAL_FAULT_CONTENT    /* the signature is whole, but the bytes it covers were changed */
};

enum seal_trust {
	SEAL_TRUST_UNKNOWN, /* not judged, because the seal is unsound */
	SEAL_TRUST_NO_ROOT, /* sealed by somebody whose root is not among the given */
	SEAL_TRUST_EXPIRED, /* the certificate was not valid at the time of sealing */
	SEAL_TRUST_STAMP,   /* a time stamp is there, but it is damaged or for something else */
	SEAL_TRUST_YES
};

enum seal_time {
	SEAL_TIME_CLAIMED,	  /* the sealing server's own clock */
	SEAL_TIME_STAMPED,	  /* stated by a time stamp authority under a trusted root */
	SEAL_TIME_STAMP_UNTRUSTED /* stamped, but by nobody we trust: the claimed time is used */
};

struct seal_signature {
	char field[33];
	char name[256], reason[256], location[256];	     /* as stated in the signature, UTF-8, "" when absent */
	char signer[SEAL_NAME_SIZE], issuer[SEAL_NAME_SIZE]; /* from the certificate */
	char fingerprint[SEAL_FINGERPRINT_SIZE];	     /* of the signer's certificate */
	int64_t at_ms;					     /* stamped, or claimed */
	enum seal_time time;
	char stamped_by[SEAL_NAME_SIZE];
	bool intact;		/* nothing that it covers was changed */
	bool covers_whole_file; /* true for the last one only */
	enum seal_trust trust;
};

struct seal_report {
	bool sound;   /* every signature intact, every revision allowed, the last one covers the whole file */
	bool trusted; /* sound, and each signature trusted */
	enum seal_fault fault;
	size_t fault_at;		   /* which signature, from 1; 0: the file as a whole */
	char sentence[SEAL_SENTENCE_SIZE]; /* the result in one plain sentence */
	size_t count;
	struct seal_signature signature[SEAL_FIELDS_MAX]; /* in the order they were made */
	char sha256
		[SHA256_HEX_SIZE]; /* of the file: compare with what was issued; catches an exchange for another sealed file */
};

/*
 * Judges the bytes. roots: whose seals are trusted; stamp_roots: whose time stamps are; each may be NULL (nobody). A bad file
 * is an answer, not a failure: OK with out->sound false. NO_MEMORY otherwise.
 */
enum status seal_verify(const void *pdf, size_t size, const struct seal_roots *roots,
			const struct seal_roots *stamp_roots, struct seal_report *out, struct err *err);

/* The fault in a word that never changes, for JSON and logs: "content", "appended", … "" for none. */
const char *seal_fault_word(enum seal_fault fault);

#endif
