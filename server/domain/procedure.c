#include "domain/procedure.h"

#include <string.h>

#include "base/time.h"
#include "domain/permission.h"
#include "domain/procedure_document.h"
#include "register.h"
#include "store/signature.h"

static enum status out_of_memory(struct err *err)
{
	return err_set(err, NO_MEMORY, "", "out of memory");
}

static const char *new_id(struct arena *a)
{
	char id[UUID_SIZE];

	uuid7(id);
	return arena_strdup(a, id);
}

/* Reads the document by its rules and fills title and text of v. */
static enum status take_document(json_t *document, struct procedure_version *v, struct arena *a, struct err *err)
{
	struct procedure_document d;
	enum status rc = procedure_document_read(document, a, &d, err);

	if (rc)
		return rc;
	v->title = d.title;
	v->document_json = register_text(document, a, err);
	return v->document_json ? OK : NO_MEMORY;
}

enum status procedure_content_sha256(const struct procedure_version *v, struct arena *a, char out[SHA256_HEX_SIZE],
				     struct err *err)
{
	json_t *content = json_pack("{s:s, s:i, s:o}", "code", v->code, "number", v->number, "document",
				    register_json(v->document_json));
	const char *text = content ? json_canonical(content, a) : NULL;

	json_decref(content);
	if (!text)
		return out_of_memory(err);
	sha256_hex(text, strlen(text), out);
	return OK;
}

enum status procedure_version_to_json(const struct procedure_version *v, struct arena *a, json_t **out, struct err *err)
{
	char hash[SHA256_HEX_SIZE];
	enum status rc = procedure_content_sha256(v, a, hash, err);

	if (rc)
		return rc;
	*out = json_pack("{s:s, s:s, s:s, s:i, s:s, s:s, s:o, s:s, s:i, s:s, s:o, s:s?, s:o}", "id", v->id,
			 "procedure_id", v->procedure_id, "code", v->code, "number", v->number, "state", v->state,
			 "title", v->title, "document", register_json(v->document_json), "content_sha256", hash,
			 "version", v->version, "created_by", v->created_by_name, "created_at",
			 json_time_or_null(v->created_at), "approved_by", v->approved_by_name, "approved_at",
			 json_time_or_null(v->approved_at));
	return *out ? OK : out_of_memory(err);
}

json_t *procedure_summary_to_json(const struct procedure_summary *p)
{
	json_t *approved = json_null(), *draft = json_null();

	if (p->approved_id)
		approved = json_pack("{s:s, s:i, s:s?, s:o}", "version_id", p->approved_id, "number",
				     p->approved_number, "approved_by", p->approved_by, "approved_at",
				     json_time_or_null(p->approved_at));
	if (p->draft_id)
		draft = json_pack("{s:s, s:i}", "version_id", p->draft_id, "number", p->draft_number);
	return json_pack("{s:s, s:s, s:s, s:o, s:o, s:I}", "id", p->id, "code", p->code, "title", p->title, "approved",
			 approved, "draft", draft, "schedules", (json_int_t)p->schedules);
}

static json_t *version_line(const struct procedure_version *v)
{
	return json_pack("{s:s, s:i, s:s, s:s, s:s, s:o, s:s?, s:o}", "id", v->id, "number", v->number, "state",
			 v->state, "title", v->title, "created_by", v->created_by_name, "created_at",
			 json_time_or_null(v->created_at), "approved_by", v->approved_by_name, "approved_at",
			 json_time_or_null(v->approved_at));
}

enum status procedure_to_json(struct db *db, const char *id, struct arena *a, json_t **out, struct err *err)
{
	json_t *lines = json_array(), *whole, *approved = NULL, *draft = NULL;
	struct procedure_version *versions = NULL;
	struct procedure p;
	size_t n = 0;
	enum status rc = store_procedure_get(db, id, a, &p, err);

	if (!rc)
		rc = store_procedure_version_list(db, id, a, &versions, &n, err);
	for (size_t i = 0; i < n && !rc; i++) {
		json_array_append_new(lines, version_line(&versions[i]));
		if (!strcmp(versions[i].state, "approved"))
			rc = procedure_version_to_json(&versions[i], a, &approved, err);
		else if (!strcmp(versions[i].state, "draft"))
			rc = procedure_version_to_json(&versions[i], a, &draft, err);
	}
	if (rc) {
		json_decref(lines);
		json_decref(approved);
		json_decref(draft);
		return rc;
	}
	whole = json_pack("{s:s, s:s, s:o, s:o, s:o}", "id", p.id, "code", p.code, "versions", lines, "approved",
			  approved ? approved : json_null(), "draft", draft ? draft : json_null());
	*out = whole;
	return whole ? OK : out_of_memory(err);
}

static enum status note_version(struct db *db, const struct actor *actor, const char *action,
				const struct procedure_version *before, const struct procedure_version *after,
				struct arena *a, struct err *err)
{
	const struct procedure_version *v = after ? after : before;
	json_t *was = NULL, *is = NULL;
	enum status rc = before ? procedure_version_to_json(before, a, &was, err) : OK;

	if (!rc && after)
		rc = procedure_version_to_json(after, a, &is, err);
	if (rc) {
		json_decref(was);
		return rc;
	}
	return register_note(db, actor, action, "procedure_version", v->id, v->code, was, is, err);
}

static enum status add_draft(struct db *db, const struct actor *actor, struct procedure_version *v, struct arena *a,
			     struct err *err)
{
	enum status rc;

	v->id = new_id(a);
	v->created_by = actor->person_id;
	v->created_at = v->updated_at = time_now_ms();
	rc = store_procedure_version_add(db, v, err);
	if (!rc)
		rc = store_procedure_version_get(db, v->id, a, v, err);
	return rc ? rc : note_version(db, actor, "add", NULL, v, a, err);
}

/* Codes stand in addresses of files and on certificates: no spaces, nothing that a path or a shell would read. */
static void check_code(struct json_in *in, const char *code)
{
	if (code[strspn(code, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.")])
		json_in_reject(in, "code", "code is made of letters, digits, -, _ and .");
}

enum status procedure_add(struct db *db, const struct actor *actor, json_t *body, struct arena *a, const char **id,
			  struct err *err)
{
	struct procedure_version v = {.number = 1};
	struct procedure p = {0};
	struct json_in in, at;
	enum status rc;

	json_in_begin(&in, body, err);
	p.code = json_in_text(&in, "code", 20);
	check_code(&in, p.code);
	json_in_object(&in, "document", &at);
	if (json_in_end(&in))
		return in.rc;
	rc = take_document(json_object_get(body, "document"), &v, a, err);
	if (rc) {
		err_within(err, "document");
		return rc;
	}
	p.id = v.procedure_id = new_id(a);
	p.created_at = time_now_ms();
	rc = store_procedure_add(db, &p, err);
	if (!rc)
		rc = register_note(db, actor, "add", "procedure", p.id, p.code, NULL,
				   json_pack("{s:s}", "code", p.code), err);
	if (!rc)
		rc = add_draft(db, actor, &v, a, err);
	*id = p.id;
	return rc;
}

enum status procedure_draft_start(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				  struct procedure_version *out, struct err *err)
{
	struct procedure_version *versions, v = {0};
	struct procedure p;
	size_t n;
	enum status rc = store_procedure_get(db, id, a, &p, err);

	if (!rc)
		rc = store_procedure_version_list(db, id, a, &versions, &n, err);
	if (rc)
		return rc;
	for (size_t i = 0; i < n; i++) {
		if (!strcmp(versions[i].state, "draft"))
			return err_set(err, CONFLICT, "", "%s has a draft already", p.code);
		if (!strcmp(versions[i].state, "approved"))
			v = (struct procedure_version){.title = versions[i].title,
						       .document_json = versions[i].document_json};
	}
	if (!v.document_json)
		return err_set(err, CONFLICT, "", "%s has no approved version to start from", p.code);
	v.procedure_id = p.id;
	v.number = versions[0].number + 1; /* newest first */
	rc = add_draft(db, actor, &v, a, err);
	*out = v;
	return rc;
}

static enum status get_draft(struct db *db, const char *id, struct arena *a, struct procedure_version *out,
			     struct err *err)
{
	struct procedure p;
	enum status rc = store_procedure_get(db, id, a, &p, err);

	if (!rc)
		rc = store_procedure_version_in_state(db, id, "draft", a, out, err);
	return rc == NOT_FOUND && p.code ? err_set(err, NOT_FOUND, "", "%s has no draft", p.code) : rc;
}

enum status procedure_draft_change(struct db *db, const struct actor *actor, const char *id, json_t *document,
				   int version, struct arena *a, struct procedure_version *out, struct err *err)
{
	struct procedure_version before = {0};
	enum status rc = get_draft(db, id, a, &before, err);

	if (rc)
		return rc;
	*out = before;
	rc = take_document(document, out, a, err);
	if (rc) {
		err_within(err, "document");
		return rc;
	}
	out->version = version;
	out->updated_at = time_now_ms();
	rc = store_procedure_version_update(db, out, err);
	if (!rc)
		rc = store_procedure_version_get(db, before.id, a, out, err);
	return rc ? rc : note_version(db, actor, "change", &before, out, a, err);
}

/* A first draft takes the procedure with it, unless a schedule names it. */
static enum status remove_procedure(struct db *db, const struct actor *actor, const struct procedure *p,
				    struct err *err)
{
	int64_t schedules = 0;
	enum status rc = store_procedure_schedules(db, p->id, &schedules, err);

	if (rc)
		return rc;
	if (schedules)
		return err_set(err, CONFLICT, "", "%s is scheduled for %d instruments; take the schedules away first",
			       p->code, (int)schedules);
	rc = store_procedure_remove(db, p->id, err);
	return rc ? rc :
		    register_note(db, actor, "remove", "procedure", p->id, p->code, json_pack("{s:s}", "code", p->code),
				  NULL, err);
}

enum status procedure_draft_remove(struct db *db, const struct actor *actor, const char *id, struct arena *a,
				   struct err *err)
{
	struct procedure_version draft = {0}, *versions = NULL;
	struct procedure p = {0};
	size_t n = 0;
	enum status rc = get_draft(db, id, a, &draft, err);

	if (!rc)
		rc = store_procedure_get(db, id, a, &p, err);
	if (!rc)
		rc = store_procedure_version_list(db, id, a, &versions, &n, err);
	if (!rc)
		rc = store_procedure_version_remove(db, draft.id, err);
	if (!rc)
		rc = note_version(db, actor, "remove", &draft, NULL, a, err);
	if (!rc && n == 1)
		rc = remove_procedure(db, actor, &p, err);
	return rc;
}

/* In which of a person's roles the signature is given. */
static const char *signing_role(const struct actor *actor)
{
	static const enum role order[] = {ROLE_LEAD, ROLE_ADMINISTRATOR, ROLE_TECHNICIAN, ROLE_AUDITOR};

	for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
		if (actor->roles & (int)order[i])
			return role_word(order[i]);
	}
	return "";
}

enum status procedure_approve(struct db *db, const struct actor *actor, const char *id, const char *content_sha256,
			      struct arena *a, struct procedure_version *out, struct err *err)
{
	char hash[SHA256_HEX_SIZE] = "";
	struct signature signature = {.meaning = "approved",
				      .person_id = actor->person_id,
				      .name = actor->name,
				      .role = signing_role(actor),
				      .reason = "",
				      .content_sha256 = hash,
				      .at = time_now_ms()};
	struct procedure_version draft = {0};
	enum status rc = get_draft(db, id, a, &draft, err);

	if (!rc)
		rc = procedure_content_sha256(&draft, a, hash, err);
	if (!rc && strcmp(hash, content_sha256) != 0)
		return err_set(err, CONFLICT, "content_sha256",
			       "the draft has changed since it was shown; read it again before signing");
	signature.procedure_version_id = draft.id;
	if (!rc)
		rc = store_procedure_version_supersede(db, id, signature.at, err);
	if (!rc)
		rc = store_procedure_version_approve(db, draft.id, actor->person_id, signature.at, err);
	if (!rc)
		rc = store_signature_add(db, &signature, err);
	if (!rc)
		rc = store_procedure_version_get(db, draft.id, a, out, err);
	return rc ? rc : note_version(db, actor, "approve", &draft, out, a, err);
}

enum status procedure_freeze(struct db *db, const char *procedure_id, struct arena *a, json_t **out,
			     const char **version_id, struct err *err)
{
	struct procedure_version v;
	struct procedure p;
	enum status rc = store_procedure_get(db, procedure_id, a, &p, err);

	if (rc)
		return rc;
	rc = store_procedure_version_in_state(db, procedure_id, "approved", a, &v, err);
	if (rc == NOT_FOUND)
		return err_set(err, CONFLICT, "", "%s has no approved version; only approved ones can be run", p.code);
	if (rc)
		return rc;
	*out = json_pack("{s:s, s:s, s:s, s:i, s:s?, s:o, s:o}", "id", p.id, "version_id", v.id, "code", p.code,
			 "number", v.number, "approved_by", v.approved_by_name, "approved_at",
			 json_time_or_null(v.approved_at), "document", register_json(v.document_json));
	if (version_id)
		*version_id = v.id;
	return *out ? OK : out_of_memory(err);
}
