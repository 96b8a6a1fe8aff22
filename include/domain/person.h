/* People: who may sign in, in which roles. */
#ifndef DOMAIN_PERSON_H
#define DOMAIN_PERSON_H

#include "base/json.h"
#include "domain/actor.h"
#include "domain/permission.h"
#include "store/person.h"

/* {"sign_in", "name", "roles", "password"}. sign_in is lowered; text is allocated from a or borrowed from body. */
enum status person_from_json(json_t *body, struct person *out, const char **password, struct arena *a, struct err *err);
/* {"name", "roles", "active"} */
enum status person_change_from_json(json_t *body, struct person *out, struct err *err);
/* {"plant_name", "name", "sign_in", "password"}: the first person, administrator and lead. */
enum status person_setup_from_json(json_t *body, struct person *out, const char **plant_name, const char **password,
				   struct arena *a, struct err *err);

/* A new password under the rules: PASSWORD_LEAST..PASSWORD_MOST characters. */
const char *person_password(struct json_in *in, const char *name);
/* A sign-in name in lower case: 2..40 of a-z 0-9 . _ -. "" after a failure. */
const char *person_sign_in(struct json_in *in, const char *name, struct arena *a);

json_t *person_to_json(const struct person *person); /* {"id", "sign_in", "name", "roles", "active", "version"} */
json_t *person_roles_to_json(int roles);	     /* ["technician", "lead"] */
/* Roles by their words, "technician,lead"; 0 when a word is none. */
int person_roles_from_text(const char *words);

/* The password is hashed already. CONFLICT /sign_in when the name is taken. */
enum status person_add(struct db *db, const struct actor *actor, struct person *person, struct arena *a,
		       struct err *err);
/*
 * Name, roles and active of person->id at person->version; person receives the row. A deactivated person loses all sessions.
 * CONFLICT when nobody would be left to administer.
 */
enum status person_change(struct db *db, const struct actor *actor, struct person *person, struct arena *a,
			  struct err *err);
/* Ends the person's sessions but the one the actor acts in. */
enum status person_set_password(struct db *db, const struct actor *actor, const char *id, const char *password_hash,
				struct arena *a, struct err *err);
/* Names the plant and adds its first person. CONFLICT when there is anybody already. */
enum status person_setup(struct db *db, const char *plant_name, struct person *person, struct arena *a,
			 struct err *err);

#endif
