/*
 * The demo plant's procedures, from the files of demo/: one a procedure, with the document that holds today and, where
 * there is one, what the version before (before) or a draft on top (draft) has otherwise. In the list of cautions a name
 * stands for the caution of that name in cautions.json; a caution of one procedure alone is written out. Limits and
 * cautions: common practice, no source.
 */
#include <string.h>

#include "base/json.h"
#include "demo_internal.h"

/* In the order in which they came to the plant. */
const struct demo_procedure demo_procedures[] = {
	{"CV-5", "cv-5.json"}, {"PT-5", "pt-5.json"}, {"FT-4", "ft-4.json"}, {"LT-5", "lt-5.json"},
	{"TT-5", "tt-5.json"}, {"TE-5", "te-5.json"}, {"TC-4", "tc-4.json"}, {"AT-3", "at-3.json"},
	{"PS-1", "ps-1.json"}, {"PI-5", "pi-5.json"},
};
const int demo_procedures_count = sizeof demo_procedures / sizeof *demo_procedures;

static json_t *read_file(const char *name)
{
	struct err err = {0};

	for (int i = 0; i < demo_files_count; i++) {
		const struct demo_file *f = &demo_files[i];

		if (!strcmp(f->name, name))
			return json_parse((const char *)f->start, (size_t)(f->end - f->start), &err);
	}
	return NULL;
}

/* A name that cautions.json does not know stays as it is, and the procedure is refused with a pointer to it. */
static void write_out_cautions(json_t *list)
{
	json_t *shared = read_file("cautions.json"), *entry;
	size_t i;

	json_array_foreach(list, i, entry) {
		const char *id = json_string_value(entry), *text;

		text = id ? json_string_value(json_object_get(shared, id)) : NULL;
		if (text)
			json_array_set_new(list, i, json_pack("{s:s, s:s}", "id", id, "text", text));
	}
	json_decref(shared);
}

json_t *demo_document(int procedure, const char *version)
{
	json_t *file = read_file(demo_procedures[procedure].file), *document = NULL, *changes = NULL;

	if (version)
		changes = json_object_get(file, version);
	if (!version || changes)
		document = json_incref(json_object_get(file, "document"));
	json_object_update(document, changes);
	json_decref(file);
	write_out_cautions(json_object_get(document, "cautions"));
	return document;
}
