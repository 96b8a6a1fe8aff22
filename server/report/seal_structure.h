/*
 * The form of a sealed file: its signature fields, and the revisions that filled them, each held against the list of what a
 * revision may change. Looks at no signature; signing and verifying both begin here.
 */
#ifndef REPORT_SEAL_STRUCTURE_H
#define REPORT_SEAL_STRUCTURE_H

#include "report/seal_verify.h"
#include "seal_pdf.h"

struct seal_slot {
	char name[33];
	int64_t object;			   /* number of the field's object */
	size_t revision;		   /* that filled it; 0: empty */
	const struct pdf_value *field;	   /* as the first revision has it */
	const struct pdf_value *signature; /* its dictionary; NULL when empty */
};

struct seal_structure {
	struct seal_slot slot[SEAL_FIELDS_MAX];
	size_t count;
	size_t by_revision[PDF_REVISIONS_MAX]; /* slot filled by revision 1, 2, …; [0] is not used */
	size_t fault_at;		       /* revision, 0: the whole */
};

/* NONE, NOT_SEALED, UNREADABLE, REWRITTEN or REVISED. */
enum seal_fault seal_structure_read(struct pdf_file *f, struct seal_structure *out);

#endif
