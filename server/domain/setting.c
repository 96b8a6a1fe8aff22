#include "domain/setting.h"

#include <string.h>

#include "base/time.h"
#include "domain/ledger.h"

#define PREFIX_MOST 12

static const char *const paper_words[] = {"a4", "letter", NULL};

const char *paper_word(enum paper p)
{
	return paper_words[p];
}

static enum status get(struct db *db, const char *key, const char *absent, struct arena *a, const char **out,
		       struct err *err)
{
	enum status rc = store_setting_get(db, key, a, out, err);

	if (!rc && !*out)
		*out = absent;
	return rc;
}

enum status settings_get(struct db *db, struct arena *a, struct settings *out, struct err *err)
{
	const char *paper, *demo, *approval, *verify_public, *seal_each;
	enum status rc;

	*out = (struct settings){0};
	rc = get(db, "plant_name", "", a, &out->plant_name, err);
	if (!rc)
		rc = get(db, "plant_address", "", a, &out->plant_address, err);
	if (!rc)
		rc = get(db, "country", "", a, &out->country, err);
	if (!rc)
		rc = get(db, "certificate_prefix", "C", a, &out->certificate_prefix, err);
	if (!rc)
		rc = get(db, "paper", "a4", a, &paper, err);
	if (!rc)
		rc = get(db, "public_address", "", a, &out->public_address, err);
	if (!rc)
		rc = get(db, "approval", "", a, &approval, err);
	if (!rc)
		rc = get(db, "verify_public", "", a, &verify_public, err);
	if (!rc)
		rc = get(db, "seal_each", "", a, &seal_each, err);
	if (!rc)
		rc = get(db, "time_stamp", "", a, &out->time_stamp, err);
	if (!rc)
		rc = get(db, "demo", "", a, &demo, err);
	if (rc)
		return rc;
	out->paper = strcmp(paper, "letter") ? PAPER_A4 : PAPER_LETTER;
	out->approval = !strcmp(approval, "yes");
	out->verify_public = !strcmp(verify_public, "yes");
	out->seal_each = !strcmp(seal_each, "yes");
	out->demo = *demo != '\0';
	return OK;
}

static const char *prefix_from_json(struct json_in *in)
{
	const char *prefix = json_in_text(in, "certificate_prefix", PREFIX_MOST);
	size_t length = strlen(prefix);

	if (strspn(prefix, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-") != length ||
	    (length && (*prefix == '-' || prefix[length - 1] == '-')))
		json_in_reject(in, "certificate_prefix",
			       "certificate_prefix is made of A to Z, 0 to 9 and a hyphen inside");
	return prefix;
}

/* Which letters are a country's is not checked: the list changes, and ISO 3166-1 leaves some to its users. */
static const char *country_from_json(struct json_in *in)
{
	const char *country = json_in_text_optional(in, "country", 2);

	if (country && strspn(country, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != 2)
		json_in_reject(in, "country", "country is two capital letters, as GB");
	return country ? country : "";
}

static bool is_web_address(const char *s)
{
	const char *host = !strncmp(s, "https://", 8) ? s + 8 : !strncmp(s, "http://", 7) ? s + 7 : "";

	return *host && *host != '/' && !strpbrk(host, " \"<>\\^`{|}?#@");
}

static const char *address_from_json(struct json_in *in, const char *name)
{
	const char *address = json_in_text_optional(in, name, 200);

	if (address && !is_web_address(address))
		json_in_reject(in, name, "%s begins with http:// or https:// and a name, without ? or #", name);
	return address ? address : "";
}

enum status settings_from_json(json_t *body, struct settings *out, struct err *err)
{
	struct json_in in;
	const char *text;

	json_in_begin(&in, body, err);
	*out = (struct settings){.plant_name = json_in_text(&in, "plant_name", 80)};
	text = json_in_lines_optional(&in, "plant_address", 300);
	out->plant_address = text ? text : "";
	out->country = country_from_json(&in);
	out->certificate_prefix = prefix_from_json(&in);
	out->paper = json_in_word(&in, "paper", paper_words) == PAPER_LETTER ? PAPER_LETTER : PAPER_A4;
	out->public_address = address_from_json(&in, "public_address");
	out->approval = json_in_bool_optional(&in, "approval", false);
	out->verify_public = json_in_bool_optional(&in, "verify_public", false);
	out->seal_each = json_in_bool_optional(&in, "seal_each", false);
	out->time_stamp = address_from_json(&in, "time_stamp");
	return json_in_end(&in);
}

json_t *settings_to_json(const struct settings *s)
{
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:b, s:b, s:b, s:s}", "plant_name", s->plant_name,
			 "plant_address", s->plant_address, "country", s->country, "certificate_prefix",
			 s->certificate_prefix, "paper", paper_word(s->paper), "public_address", s->public_address,
			 "approval", s->approval, "verify_public", s->verify_public, "seal_each", s->seal_each,
			 "time_stamp", s->time_stamp);
}

static enum status put_flag(struct db *db, const char *key, bool on, int64_t now, struct err *err)
{
	return store_setting_put(db, key, on ? "yes" : "no", now, err);
}

static enum status put_all(struct db *db, const struct settings *s, struct err *err)
{
	int64_t now = time_now_ms();
	enum status rc = store_setting_put(db, "plant_name", s->plant_name, now, err);

	if (!rc)
		rc = store_setting_put(db, "plant_address", s->plant_address, now, err);
	if (!rc)
		rc = store_setting_put(db, "country", s->country, now, err);
	if (!rc)
		rc = store_setting_put(db, "certificate_prefix", s->certificate_prefix, now, err);
	if (!rc)
		rc = store_setting_put(db, "paper", paper_word(s->paper), now, err);
	if (!rc)
		rc = store_setting_put(db, "public_address", s->public_address, now, err);
	if (!rc)
		rc = put_flag(db, "approval", s->approval, now, err);
	if (!rc)
		rc = put_flag(db, "verify_public", s->verify_public, now, err);
	if (!rc)
		rc = put_flag(db, "seal_each", s->seal_each, now, err);
	if (!rc)
		rc = store_setting_put(db, "time_stamp", s->time_stamp, now, err);
	return rc;
}

enum status settings_change(struct db *db, const struct actor *actor, const struct settings *s, struct arena *a,
			    struct err *err)
{
	struct settings before;
	struct ledger_note note = {.action = "change", .thing = "setting", .thing_id = "plant", .label = s->plant_name};
	enum status rc = settings_get(db, a, &before, err);

	if (!rc)
		rc = put_all(db, s, err);
	if (rc)
		return rc;
	note.before = settings_to_json(&before);
	note.after = settings_to_json(s);
	rc = note.before && note.after ? ledger_add(db, actor, &note, err) :
					 err_set(err, NO_MEMORY, "", "out of memory");
	json_decref(note.before);
	json_decref(note.after);
	return rc;
}

/* Only the letters A to Z can stand in a prefix; a name in another script begins with "C" until somebody sets one. */
void settings_prefix_of(const char *plant_name, char out[13])
{
	bool begins = true;
	size_t n = 0;

	for (const char *p = plant_name; *p && n < 4; p++) {
		char upper = *p >= 'a' && *p <= 'z' ? (char)(*p - 'a' + 'A') : *p;

		if (begins && upper >= 'A' && upper <= 'Z')
			out[n++] = upper;
		begins = *p == ' ' || *p == '-';
	}
	if (!n)
		out[n++] = 'C';
	out[n] = '\0';
}
