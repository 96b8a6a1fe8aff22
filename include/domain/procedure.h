/* Procedures: drafts, approval by signature, and what a test may run. */
#ifndef DOMAIN_PROCEDURE_H
#define DOMAIN_PROCEDURE_H

#include "base/json.h"
#include "base/text.h"
#include "domain/actor.h"
#include "store/procedure.h"

/*
 * What a test record freezes: {"id", "version_id", "code", "number", "approved_by": name, "approved_at", "document"} of the
 * approved version. *out is a new reference; *version_id (may be NULL) is allocated from a. CONFLICT when no version is
 * approved, NOT_FOUND.
 */
enum status procedure_freeze(struct db *db, const char *procedure_id, struct arena *a, json_t **out,
			     const char **version_id, struct err *err);

/* SHA-256 of the canonical JSON of {"code", "number", "document"}: what an approving signature stands for. */
enum status procedure_content_sha256(const struct procedure_version *v, struct arena *a, char out[SHA256_HEX_SIZE],
				     struct err *err);

/* Version as docs/api.md has it. */
enum status procedure_version_to_json(const struct procedure_version *v, struct arena *a, json_t **out,
				      struct err *err);
json_t *procedure_summary_to_json(const struct procedure_summary *p);
enum status procedure_to_json(struct db *db, const char *id, struct arena *a, json_t **out, struct err *err);

/* A new procedure with a first draft. body: {"code", "document"}. *id is allocated from a. */
enum status procedure_add(struct db *db, const struct actor *actor, json_t *body, struct arena *a, const char **id,
			  struct err *err);
/* A draft copied from the approved version. CONFLICT when there is a draft. */
enum status procedure_draft_start(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				  struct procedure_version *out, struct err *err);
/* Replaces the draft's document; version is the one it was read at. */
enum status procedure_draft_change(struct db *db, const struct actor *actor, const char *id, json_t *document,
				   int version, struct arena *a, struct procedure_version *out, struct err *err);
/* Removes the draft; a first draft takes the procedure with it. */
enum status procedure_draft_remove(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				   struct err *err);
/* Approves the draft by signature (the password has been checked). CONFLICT when its content is not content_sha256. */
enum status procedure_approve(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
			      struct arena *a, struct procedure_version *out, struct err *err);

/* The worked example beside a document: points and limits for an instrument (NULL: 4-20 mA to 0-100 %). */
enum status procedure_example(struct db *db, json_t *document, const char *instrument_id, struct arena *a, json_t **out,
			      struct err *err);

#endif
