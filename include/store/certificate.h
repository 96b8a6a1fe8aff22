/* Rows of tables certificate and certificate_file. */
#ifndef STORE_CERTIFICATE_H
#define STORE_CERTIFICATE_H

#include "store/db.h"

struct certificate {
	const char *number; /* "BWW-2026-0017" */
	const char *test_record_id;
	const char *issued_by, *issued_by_name; /* id; name is read only */
	int64_t issued_at;
	bool sealed;
	const char *pdf_sha256, *xml_sha256; /* of the issued files; NULL without a seal */
	const char *state;		     /* "preparing", "current", "amended", "void" */
	const char *reason;		     /* of the amendment or the void; "" without */
	const char *replaced_by;	     /* number of the certificate that amends it; NULL without */
};

struct certificate_file {
	const char *number, *paper; /* "a4", "letter" */
	const void *pdf, *xml;
	size_t pdf_size, xml_size;
};

enum status store_certificate_add(struct db *db, const struct certificate *c, struct err *err);
/* By number, in any case; NOT_FOUND. One that is being prepared is not there yet. */
enum status store_certificate_get(struct db *db, const char *number, struct arena *a, struct certificate *out,
				  struct err *err);
/* The record's certificate; NOT_FOUND when none was issued (err stays untouched). */
enum status store_certificate_of(struct db *db, const char *test_record_id, struct arena *a, struct certificate *out,
				 struct err *err);
/* The one whose issued PDF or XML has this hash; NOT_FOUND (err stays untouched). */
enum status store_certificate_of_file(struct db *db, const char *sha256, struct arena *a, struct certificate *out,
				      struct err *err);
/* The number reserved for a record whose certificate is being prepared; NOT_FOUND without (err stays untouched). */
enum status store_certificate_reserved(struct db *db, const char *test_record_id, struct arena *a,
				       struct certificate *out, struct err *err);
/* Issues what was reserved: issued_by, issued_at, sealed and the hashes; its state becomes "current". */
enum status store_certificate_issue(struct db *db, const struct certificate *c, struct err *err);
/* Of one that was issued without a seal. */
enum status store_certificate_set_sealed(struct db *db, const char *number, const char *pdf_sha256,
					 const char *xml_sha256, struct err *err);
enum status store_certificate_set_state(struct db *db, const char *number, const char *state, const char *reason,
					const char *replaced_by, struct err *err);
/* How many amendments of this number were issued or reserved: "BWW-2026-0017" has 'BWW-2026-0017-A1', ... */
enum status store_certificate_amendments(struct db *db, const char *number, int64_t *n, struct err *err);
/* How many certificates that stand are of later tests of the same instrument; an amendment is as old as its test. */
enum status store_certificate_newer(struct db *db, const char *test_record_id, int64_t *n, struct err *err);

enum status store_certificate_file_add(struct db *db, const struct certificate_file *f, struct err *err);
/* NOT_FOUND when the certificate was issued without a seal (err stays untouched). Bytes from a. */
enum status store_certificate_file_get(struct db *db, const char *number, struct arena *a, struct certificate_file *out,
				       struct err *err);
/* Numbers of certificates that were issued without a seal, oldest first; *out from a. */
enum status store_certificate_unsealed(struct db *db, struct arena *a, const char ***out, size_t *n, struct err *err);

#endif
