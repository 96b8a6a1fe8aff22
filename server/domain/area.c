#include "domain/area.h"

#include <string.h>

#include "base/text.h"
#include "base/time.h"
#include "register.h"

enum status area_from_json(json_t *body, bool change, struct area *out, struct err *err)
{
	struct json_in in;

	json_in_begin(&in, body, err);
	*out = (struct area){.name = json_in_text(&in, "name", 80),
			     .parent_id = json_in_id_optional(&in, "parent_id"),
			     .position = -1};
	if (change)
		out->position = json_in_integer_optional(&in, "position", 0, 1000000, -1);
	return json_in_end(&in);
}

json_t *area_to_json(const struct area *area)
{
	return json_pack("{s:s, s:s, s:s?, s:s?, s:i, s:I, s:i}", "id", area->id, "name", area->name, "parent_id",
			 area->parent_id, "path", area->path, "position", area->position, "instruments",
			 (json_int_t)area->instruments, "version", area->version);
}

static bool same_parent(const char *a, const char *b)
{
	return a && b ? !strcmp(a, b) : a == b;
}

/* Appends the areas under parent to out, each followed by those in it. */
static size_t gather(const struct area *all, size_t n, const char *parent, int depth, struct area *out, size_t at)
{
	for (size_t i = 0; i < n && depth <= AREA_DEPTH_MAX; i++) {
		if (!same_parent(all[i].parent_id, parent))
			continue;
		out[at++] = all[i];
		at = gather(all, n, all[i].id, depth + 1, out, at);
	}
	return at;
}

enum status area_list(struct db *db, struct arena *a, struct area **out, size_t *n, struct err *err)
{
	struct area *all;
	size_t count;
	enum status rc = store_area_list(db, a, &all, &count, err);

	if (rc)
		return rc;
	*out = arena_alloc(a, (count + 1) * sizeof **out);
	if (!*out)
		return err_set(err, NO_MEMORY, "", "out of memory");
	*n = gather(all, count, NULL, 1, *out, 0);
	return OK;
}

static const struct area *find(const struct area *all, size_t n, const char *id)
{
	for (size_t i = 0; id && i < n; i++) {
		if (!strcmp(all[i].id, id))
			return &all[i];
	}
	return NULL;
}

/* How many levels hang below an area, itself included. */
static int height(const struct area *all, size_t n, const char *id, int depth)
{
	int most = 0, h;

	for (size_t i = 0; id && i < n && depth <= AREA_DEPTH_MAX; i++) {
		if (all[i].parent_id && !strcmp(all[i].parent_id, id)) {
			h = height(all, n, all[i].id, depth + 1);
			most = h > most ? h : most;
		}
	}
	return 1 + most;
}

/* The parent exists, does not lie inside the area itself, and leaves the nest shallow. id is NULL for a new area. */
static enum status check_parent(struct db *db, const char *id, const char *parent_id, struct arena *a, struct err *err)
{
	const struct area *p;
	struct area *all;
	size_t n;
	int depth = 0;
	enum status rc;

	if (!parent_id)
		return OK;
	rc = store_area_list(db, a, &all, &n, err);
	if (rc)
		return rc;
	p = find(all, n, parent_id);
	if (!p)
		return err_set(err, INVALID, "parent_id", "there is no such area");
	for (; p; p = find(all, n, p->parent_id), depth++) {
		if (id && !strcmp(p->id, id))
			return err_set(err, INVALID, "parent_id", "an area cannot lie inside itself");
	}
	if (depth + height(all, n, id, 1) > AREA_DEPTH_MAX)
		return err_set(err, INVALID, "parent_id", "areas nest at most %d deep", AREA_DEPTH_MAX);
	return OK;
}

enum status area_add(struct db *db, const struct actor *actor, struct area *area, struct arena *a, struct err *err)
{
	char id[UUID_SIZE];
	enum status rc = check_parent(db, NULL, area->parent_id, a, err);

	if (!rc)
		rc = store_area_next_position(db, area->parent_id, &area->position, err);
	if (rc)
		return rc;
	uuid7(id);
	area->id = arena_strdup(a, id);
	area->created_at = time_now_ms();
	rc = store_area_add(db, area, err);
	if (!rc)
		rc = store_area_get(db, id, a, area, err);
	if (rc)
		return rc;
	return register_note(db, actor, "add", "area", area->id, area->name, NULL, area_to_json(area), err);
}

enum status area_change(struct db *db, const struct actor *actor, struct area *area, struct arena *a, struct err *err)
{
	struct area before;
	enum status rc = store_area_get(db, area->id, a, &before, err);

	if (!rc)
		rc = check_parent(db, area->id, area->parent_id, a, err);
	if (rc)
		return rc;
	if (area->position < 0)
		area->position = before.position;
	rc = store_area_update(db, area, err);
	if (!rc)
		rc = store_area_get(db, before.id, a, area, err);
	if (rc)
		return rc;
	return register_note(db, actor, "change", "area", area->id, area->name, area_to_json(&before),
			     area_to_json(area), err);
}
