#include "register.h"

#include <stdio.h>
#include <string.h>

enum status register_note(struct db *db, const struct actor *actor, const char *action, const char *thing,
			  const char *thing_id, const char *label, json_t *before, json_t *after, struct err *err)
{
	struct ledger_note note = {.action = action,
				   .thing = thing,
				   .thing_id = thing_id,
				   .label = label,
				   .before = before,
				   .after = after};
	enum status rc = before || after ? ledger_add(db, actor, &note, err) :
					   err_set(err, NO_MEMORY, "", "out of memory");

	json_decref(before);
	json_decref(after);
	return rc;
}

const char *register_text(const json_t *json, struct arena *a, struct err *err)
{
	const char *text = json_canonical(json, a);

	if (!text)
		err_set(err, NO_MEMORY, "", "out of memory");
	return text;
}

json_t *register_json(const char *text)
{
	struct err ignored = {0};
	json_t *json = text ? json_parse(text, strlen(text), &ignored) : NULL;

	return json ? json : json_null();
}

/* The element is put into an object of its own under the name of its index, so that the reader of texts can be asked. */
const char *register_text_element(struct json_in *in, const char *name, size_t i, size_t max_characters)
{
	struct json_in at = *in;
	const char *text;
	char index[24];
	json_t *holder = json_object();

	snprintf(index, sizeof index, "%zu", i);
	snprintf(at.path, sizeof at.path, "%.40s/%.20s", in->path, name);
	if (!holder || json_object_set(holder, index, json_array_get(json_object_get(in->object, name), i))) {
		json_decref(holder);
		if (!in->rc)
			in->rc = err_set(in->err, NO_MEMORY, "", "out of memory");
		return "";
	}
	at.object = holder;
	text = json_in_text(&at, index, max_characters);
	json_in_join(in, &at);
	json_decref(holder);
	return text;
}
