/*
 * Changes in one place of a document that stay JSON: bytes changed at random are no JSON almost always, and then nothing
 * behind the parser is reached.
 */
#include <string.h>

#include "base/json.h"
#include "fuzz.h"

static uint64_t state;

/* xorshift64 (Marsaglia 2003), enough to pick places. */
static size_t pick(size_t n)
{
	state ^= state << 13;
	state ^= state >> 7;
	state ^= state << 17;
	return n ? (size_t)(state >> 11) % n : 0;
}

static size_t count(const json_t *json)
{
	const char *name;
	json_t *value;
	size_t n = 1, i;

	json_array_foreach((json_t *)json, i, value)
		n += count(value);
	json_object_foreach((json_t *)json, name, value)
		n += count(value);
	return n;
}

static json_t *another_number(double v)
{
	static const double edges[] = {0,     1,   -1,	   2,	 0.5,  1e12,   -1e12, 1e-12, 1e-300, 5e-324,
				       1e300, 100, 273.15, 850,	 -200, 0.25,   1e-9,  -1e-9, 1e6,    0.95,
				       3,     20,  4,	   1372, -270, 0.9999, 400,   2000,  1e13};

	switch (pick(8)) {
	case 0:
		return json_real(v / 2);
	case 1:
		return json_real(v * (1 + 1e-15));
	case 2:
		return json_real(-v);
	case 3:
		return json_real(v * 10);
	case 4:
		return json_integer((json_int_t)pick(30) - 5);
	case 5:
		return json_real((double)pick(1000000) / 1000 - 200);
	default:
		return json_real(edges[pick(sizeof edges / sizeof *edges)]);
	}
}

static json_t *another(json_t *old, json_t *root);

/* Any value of the document, so that a name or a word can turn up elsewhere. */
static json_t *some_value(json_t *root)
{
	json_t *at = root;

	while (json_is_object(at) || json_is_array(at)) {
		size_t n = json_is_object(at) ? json_object_size(at) : json_array_size(at), k;
		void *i;

		if (n == 0 || (at != root && pick(3) == 0))
			break;
		k = pick(n);
		if (json_is_array(at)) {
			at = json_array_get(at, k);
			continue;
		}
		for (i = json_object_iter(at); k > 0; k--)
			i = json_object_iter_next(at, i);
		at = json_object_iter_value(i);
	}
	return json_deep_copy(at);
}

static json_t *another(json_t *old, json_t *root)
{
	if (pick(6) == 0)
		return some_value(root);
	if (json_is_number(old))
		return another_number(json_number_value(old));
	if (json_is_boolean(old))
		return json_boolean(!json_is_true(old));
	switch (pick(4)) {
	case 0:
		return json_null();
	case 1:
		return json_real((double)pick(1000) / 10);
	default:
		return some_value(root);
	}
}

/* Element k is changed, left out, or stands twice. */
static void change_element(json_t *list, size_t k, json_t *root)
{
	json_t *old = json_array_get(list, k);

	switch (json_is_object(old) ? pick(3) : pick(6)) {
	case 0:
		json_array_remove(list, k);
		break;
	case 1:
		json_array_insert_new(list, k, json_deep_copy(old));
		break;
	default:
		json_array_set_new(list, k, another(old, root));
	}
}

/* Value number *at, counted through the document, is changed in its container. */
static int change(json_t *json, size_t *at, json_t *root)
{
	const char *name;
	json_t *value;
	size_t i;

	json_array_foreach(json, i, value) {
		if ((*at)-- == 0) {
			change_element(json, i, root);
			return 1;
		}
		if (change(value, at, root))
			return 1;
	}
	json_object_foreach(json, name, value) {
		if ((*at)-- == 0) {
			if (pick(8) == 0)
				json_object_del(json, name);
			else
				json_object_set_new(json, name, another(value, root));
			return 1;
		}
		if (change(value, at, root))
			return 1;
	}
	return 0;
}

size_t mutate_json(uint8_t *data, size_t size, size_t max_size, unsigned int seed)
{
	struct err err = {0};
	json_t *document = json_parse((const char *)data, size, &err);
	size_t n, at, changes;

	if (!document)
		return 0;
	state = seed + 0x9e3779b97f4a7c15u;
	for (changes = 1 + pick(3); changes > 0; changes--) {
		n = count(document) - 1;
		at = pick(n);
		if (n)
			change(document, &at, document);
	}
	size = json_dumpb(document, (char *)data, max_size, JSON_COMPACT | JSON_ENCODE_ANY);
	json_decref(document);
	return size <= max_size ? size : 0;
}
