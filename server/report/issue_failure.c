/*
 * What stood in the way when a certificate was not issued, kept for whoever looks at the record next. It is kept in memory: a
 * full disk is one of the reasons, and a program that starts anew has perhaps been mended. The newest hundred are enough, since
 * one cause stops every certificate alike.
 */
#include <stdio.h>
#include <string.h>

#include "base/time.h"
#include "issuer_internal.h"

/* Refused by the rules, not failed: the page that asked has said so, and nothing is to be mended. */
static bool is_refusal(enum issue_step step, enum status status)
{
	if (step == ISSUE_RESERVE)
		return status != BUSY && status != FAILED && status != NO_MEMORY;
	return step == ISSUE_KEEP && status == CONFLICT;
}

/* Sentences say at least so much of a path, and at most 200. */
#define PATH_SAID 100

/* by: what stands for the path instead. */
static void replace(char sentence[ISSUE_SENTENCE_SIZE], const char *path, const char *by)
{
	size_t least = path ? strnlen(path, PATH_SAID) : 0;
	char start[PATH_SAID + 1], *at = sentence;

	if (least == 0 || !strcmp(path, by))
		return;
	snprintf(start, sizeof start, "%s", path);
	while ((at = strstr(at, start))) {
		char rest[ISSUE_SENTENCE_SIZE];
		size_t said = least;

		while (path[said] && at[said] == path[said])
			said++;
		snprintf(rest, sizeof rest, "%s", at + said);
		snprintf(at, ISSUE_SENTENCE_SIZE - (size_t)(at - sentence), "%s%s", by, rest);
		at = sentence + strlen(sentence) - strlen(rest);
	}
}

static const char *name_of(const char *path)
{
	const char *slash = path ? strrchr(path, '/') : NULL;

	return slash ? slash + 1 : path;
}

enum status issuer_hide_places(const struct issuer *i, struct err *err)
{
	const char *const files[] = {i->pkcs12, i->module, i->token_certificate, i->stamp_roots_file,
				     i->seal_roots_file};

	replace(err->message, i->uri, "the address that is set");
	replace(err->message, i->folder, name_of(i->folder));
	for (size_t k = 0; k < sizeof files / sizeof files[0]; k++)
		replace(err->message, files[k], name_of(files[k]));
	if (err->status == NOT_FOUND || err->status == FORBIDDEN)
		err->status = CONFLICT;
	return err->status;
}

static const char *advice_on(enum issue_step step, enum status status)
{
	static const char key[] =
		"Whoever keeps the server puts the seal's key right, or takes it from the backup. Then issue the certificate again.";

	switch (step) {
	case ISSUE_KEY:
		return key;
	case ISSUE_DATES:
		return "Whoever keeps the server gives the plant a seal certificate that is valid today. Then issue the certificate again.";
	case ISSUE_STAMP:
		return status == FAILED ?
			       key :
			       "Issue the certificate again once the time stamp authority answers, or an administrator corrects it in the settings.";
	case ISSUE_DRAW:
		return status == FAILED ? key : "Correct what is named. Then issue the certificate again.";
	default:
		return "Whoever keeps the server looks after its disk. Then issue the certificate again.";
	}
}

static struct issue_failure *find(struct issuer *i, const char *record_id)
{
	for (size_t k = 0; k < ISSUE_FAILURES_MAX; k++)
		if (!strcmp(i->failures[k].record_id, record_id))
			return &i->failures[k];
	return NULL;
}

void issuer_note(struct issuer *i, const char *record_id, enum issue_step step, enum status rc, const struct err *err)
{
	struct issue_failure *f;

	if (rc && is_refusal(step, rc))
		return;
	pthread_mutex_lock(&i->failures_lock);
	f = find(i, record_id);
	if (!rc && f)
		*f = (struct issue_failure){0};
	if (rc && !f) {
		f = &i->failures[i->next_failure];
		i->next_failure = (i->next_failure + 1) % ISSUE_FAILURES_MAX;
	}
	if (rc) {
		*f = (struct issue_failure){.at = time_now_ms(), .advice = advice_on(step, rc)};
		snprintf(f->record_id, sizeof f->record_id, "%s", record_id);
		snprintf(f->sentence, sizeof f->sentence, "%s", err->message);
	}
	pthread_mutex_unlock(&i->failures_lock);
}

bool issuer_failure(struct issuer *i, const char *record_id, struct issue_failure *out)
{
	const struct issue_failure *f;

	pthread_mutex_lock(&i->failures_lock);
	f = find(i, record_id);
	if (f)
		*out = *f;
	pthread_mutex_unlock(&i->failures_lock);
	return f != NULL;
}
