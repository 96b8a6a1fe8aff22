#include "domain/person.h"

#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "domain/ledger.h"
#include "domain/password.h"
#include "domain/setting.h"
#include "store/session.h"

#define NAME_MOST    80
#define SIGN_IN_MOST 40
#define ROLES	     4

json_t *person_roles_to_json(int roles)
{
	json_t *list = json_array();

	for (int i = 0; i < ROLES; i++) {
		if (roles & 1 << i)
			json_array_append_new(list, json_string(role_word((enum role)(1 << i))));
	}
	return list;
}

json_t *person_to_json(const struct person *p)
{
	return json_pack("{s:s, s:s, s:s, s:o, s:b, s:i}", "id", p->id, "sign_in", p->sign_in, "name", p->name, "roles",
			 person_roles_to_json(p->roles), "active", p->active, "version", p->version);
}

static int role_of_word(const char *word, size_t length)
{
	for (int i = 0; i < ROLES; i++) {
		const char *w = role_word((enum role)(1 << i));

		if (strlen(w) == length && !memcmp(w, word, length))
			return 1 << i;
	}
	return 0;
}

int person_roles_from_text(const char *words)
{
	int roles = 0;

	while (*words) {
		size_t length = strcspn(words, ",");
		int role = role_of_word(words, length);

		if (!role)
			return 0;
		roles |= role;
		words += length;
		if (*words)
			words++;
	}
	return roles;
}

static int roles_from_json(struct json_in *in)
{
	json_t *list = json_in_array(in, "roles", 1, ROLES), *word;
	int roles = 0;
	size_t i;

	json_array_foreach(list, i, word) {
		const char *text = json_string_value(word);
		int role = text ? role_of_word(text, strlen(text)) : 0;

		if (!role)
			json_in_reject_element(in, "roles", i,
					       "a role is one of technician, lead, auditor, administrator");
		else if (roles & role)
			json_in_reject_element(in, "roles", i, "the role %s is named twice", text);
		roles |= role;
	}
	return roles;
}

const char *person_password(struct json_in *in, const char *name)
{
	const char *password = json_in_text(in, name, PASSWORD_MOST);

	if (text_characters(password) < PASSWORD_LEAST)
		json_in_reject(in, name, "a password has at least %d characters", PASSWORD_LEAST);
	return password;
}

const char *person_sign_in(struct json_in *in, const char *name, struct arena *a)
{
	char *text = arena_strdup(a, json_in_text(in, name, SIGN_IN_MOST));

	if (!text)
		return "";
	for (char *p = text; *p; p++) { /* tablets like to begin with a capital */
		if (*p >= 'A' && *p <= 'Z')
			*p = (char)(*p - 'A' + 'a');
	}
	if (strlen(text) < 2 || strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789._-") != strlen(text))
		json_in_reject(in, name, "a sign-in name is 2 to %d of a to z, 0 to 9, point, hyphen and underscore",
			       SIGN_IN_MOST);
	return text;
}

enum status person_from_json(json_t *body, struct person *out, const char **password, struct arena *a, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	*out = (struct person){.sign_in = person_sign_in(&in, "sign_in", a),
			       .name = json_in_text(&in, "name", NAME_MOST),
			       .active = true};
	out->roles = roles_from_json(&in);
	*password = person_password(&in, "password");
	return json_in_end(&in);
}

enum status person_change_from_json(json_t *body, struct person *out, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	*out = (struct person){.name = json_in_text(&in, "name", NAME_MOST), .roles = roles_from_json(&in)};
	out->active = json_in_bool(&in, "active");
	return json_in_end(&in);
}

enum status person_setup_from_json(json_t *body, struct person *out, const char **plant_name, const char **password,
				   struct arena *a, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	*plant_name = json_in_text(&in, "plant_name", NAME_MOST);
	*out = (struct person){.name = json_in_text(&in, "name", NAME_MOST),
			       .sign_in = person_sign_in(&in, "sign_in", a),
			       .roles = ROLE_ADMINISTRATOR | ROLE_LEAD,
			       .active = true};
	*password = person_password(&in, "password");
	return json_in_end(&in);
}

/* Releases before and after. */
static enum status note(struct db *db, const struct actor *actor, const char *action, const struct person *p,
			const char *reason, json_t *before, json_t *after, struct err *err)
{
	struct ledger_note n = {.action = action,
				.thing = "person",
				.thing_id = p->id,
				.label = p->name,
				.reason = reason,
				.before = before,
				.after = after};
	enum status rc = ledger_add(db, actor, &n, err);

	json_decref(before);
	json_decref(after);
	return rc;
}

static enum status insert(struct db *db, struct person *person, struct arena *a, struct err *err)
{
	char id[UUID_SIZE];
	enum status rc;

	uuid7(id);
	person->id = arena_strdup(a, id);
	person->created_at = time_now_ms();
	rc = person->id ? store_person_add(db, person, err) : err_set(err, NO_MEMORY, "", "out of memory");
	return rc ? rc : store_person_get(db, id, a, person, err);
}

enum status person_add(struct db *db, const struct actor *actor, struct person *person, struct arena *a,
		       struct err *err)
{
	enum status rc = insert(db, person, a, err);

	return rc ? rc : note(db, actor, "add", person, NULL, NULL, person_to_json(person), err);
}

/* Somebody must stay who can let the others in. */
static enum status keep_administrator(struct db *db, const struct person *before, const struct person *after,
				      struct err *err)
{
	int64_t others;
	enum status rc;

	if (!before->active || !(before->roles & ROLE_ADMINISTRATOR) ||
	    (after->active && after->roles & ROLE_ADMINISTRATOR))
		return OK;
	rc = store_person_others_with(db, before->id, ROLE_ADMINISTRATOR, &others, err);
	if (rc || others)
		return rc;
	return err_set(err, CONFLICT, after->active ? "roles" : "active",
		       "%s is the last administrator; name another one first", before->name);
}

enum status person_change(struct db *db, const struct actor *actor, struct person *person, struct arena *a,
			  struct err *err)
{
	struct person before;
	enum status rc = store_person_get(db, person->id, a, &before, err);

	if (!rc)
		rc = keep_administrator(db, &before, person, err);
	if (rc)
		return rc;
	person->updated_at = time_now_ms();
	rc = store_person_update(db, person, err);
	if (!rc && !person->active)
		rc = store_session_remove_of(db, before.id, NULL, err);
	if (!rc)
		rc = store_person_get(db, before.id, a, person, err);
	return rc ? rc : note(db, actor, "change", person, NULL, person_to_json(&before), person_to_json(person), err);
}

enum status person_set_password(struct db *db, const struct actor *actor, const char *id, const char *password_hash,
				struct arena *a, struct err *err)
{
	bool own = actor && actor->person_id && !strcmp(actor->person_id, id);
	struct person person;
	enum status rc = store_person_get(db, id, a, &person, err);

	if (!rc)
		rc = store_person_set_password(db, id, password_hash, time_now_ms(), err);
	if (!rc)
		rc = store_session_remove_of(db, id, own ? actor->session_id : NULL, err);
	return rc ? rc :
		    note(db, actor, "password", &person, own ? "own password" : "set by an administrator", NULL, NULL,
			 err);
}

enum status person_setup(struct db *db, const char *plant_name, struct person *person, struct arena *a, struct err *err)
{
	struct settings settings;
	char prefix[13];
	struct actor self;
	int64_t people;
	enum status rc = store_person_count(db, &people, err);

	if (!rc && people)
		return err_set(err, CONFLICT, "", "this plant is set up already; sign in");
	if (!rc)
		rc = settings_get(db, a, &settings, err);
	if (!rc)
		rc = insert(db, person, a, err);
	if (rc)
		return rc;
	self = (struct actor){
		.person_id = person->id, .name = person->name, .sign_in = person->sign_in, .roles = person->roles};
	settings_prefix_of(plant_name, prefix);
	settings.plant_name = plant_name;
	settings.certificate_prefix = prefix;
	rc = note(db, &self, "add", person, "set up", NULL, person_to_json(person), err);
	return rc ? rc : settings_change(db, &self, &settings, a, err);
}
