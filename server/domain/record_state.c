/* What follows from a record as it stands: its phase, what is missing, and who may do what. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include "domain/ledger.h"
#include "domain/permission.h"
#include "record_internal.h"

const char *record_state_word(enum record_state s)
{
	static const char *const words[] = {"open", "performed", "reviewed", "certified", "returned", "void"};

	return words[s];
}

const char *record_phase_word(enum record_phase p)
{
	static const char *const words[] = {"prepare", "prove",	 "as_found",	"adjust", "as_left",
					    "sign",    "review", "certificate", "done"};

	return words[p];
}

const char *run_kind_word(enum run_kind k)
{
	return k == RUN_AS_FOUND ? "as_found" : "as_left";
}

const char *standard_role_word(enum standard_role role)
{
	return role == STANDARD_INPUT ? "input" : "output";
}

const char *record_act_word(enum record_act act)
{
	static const char *const words[] = {"edit",   "sign_performed", "sign_reviewed", "sign_approved",
					    "return", "void",		"issue",	 "amend"};

	return words[act];
}

struct todo_list {
	struct record_todo *items;
	size_t n;
};

static void __attribute__((format(printf, 3, 4)))
add(struct todo_list *l, enum record_phase phase, const char *fmt, ...)
{
	va_list args;

	if (l->n == RECORD_TODO_MAX)
		return;
	l->items[l->n].phase = phase;
	va_start(args, fmt);
	vsnprintf(l->items[l->n].text, sizeof l->items[l->n].text, fmt, args);
	va_end(args);
	l->n++;
}

static void add_cautions(const struct record *r, struct todo_list *l)
{
	const char *first = NULL;
	size_t open = 0;

	for (size_t i = 0; i < r->n_cautions; i++) {
		if (r->cautions[i].by)
			continue;
		open++;
		first = first ? first : r->cautions[i].text;
	}
	if (open == 1)
		add(l, PHASE_PREPARE, "Acknowledge the caution: %s", first);
	else if (open > 1)
		add(l, PHASE_PREPARE, "Acknowledge %zu cautions, the first: %s", open, first);
}

static void add_preparation(const struct record *r, struct todo_list *l)
{
	add_cautions(r, l);
	for (size_t i = 0; i < r->n_standards; i++)
		if (!r->standards[i].chosen && !r->standards[i].optional)
			add(l, PHASE_PREPARE, "Choose the reference standard for the %s: %s",
			    standard_role_word(r->standards[i].role), r->standards[i].need);
	if (r->procedure.environment && !r->has_environment)
		add(l, PHASE_PREPARE, "Enter the ambient conditions, at least the temperature");
}

static void add_checks(const struct record *r, struct todo_list *l)
{
	const char *first = NULL;
	size_t open = 0;

	for (size_t i = 0; i < r->n_checks; i++) {
		const struct record_check *c = &r->checks[i];

		if (c->answer && !strcmp(c->answer, "no"))
			add(l, PHASE_PROVE, "“%s” was answered no: put it right and answer again, or void the test",
			    c->text);
		if (c->answer)
			continue;
		open++;
		first = first ? first : c->text;
	}
	if (open == 1)
		add(l, PHASE_PROVE, "Answer the check: %s", first);
	else if (open > 1)
		add(l, PHASE_PROVE, "Answer %zu checks, the first: %s", open, first);
}

/* "Let it act 3 times" rather than points: who stands at a switch counts how often it acted. */
static void add_switch_run(const struct record_run *run, const char *name, enum record_phase phase, struct todo_list *l)
{
	size_t wanted = run->switched->wanted;

	if (run->n_read == 0)
		add(l, phase, "Let it act %zu %s for the %s run", wanted, wanted == 1 ? "time" : "times", name);
	else if (!run->complete)
		add(l, phase, "Go on with the %s run: %zu of %zu readings are taken", name, run->n_read, run->n_points);
}

static void add_run(const struct record_run *run, const char *name, enum record_phase phase, struct todo_list *l)
{
	if (run->switched) {
		add_switch_run(run, name, phase, l);
		return;
	}
	if (run->n_read == 0)
		add(l, phase, "Read the %zu points of the %s run", run->n_points, name);
	else if (!run->complete && run->n_read == run->n_points)
		add(l, phase, "Seek the dead band of the %s run: %zu of %zu places are taken", name,
		    run->dead_band->n_read, run->dead_band->n);
	else if (!run->complete)
		add(l, phase, "Go on with the %s run: %zu of %zu points are read", name, run->n_read, run->n_points);
}

size_t record_to_do(const struct record *r, struct record_todo out[RECORD_TODO_MAX])
{
	struct todo_list l = {out, 0};

	if (r->state != RECORD_OPEN && r->state != RECORD_RETURNED)
		return 0;
	add_preparation(r, &l);
	add_checks(r, &l);
	add_run(&r->runs[0], "as-found", PHASE_AS_FOUND, &l);
	if (r->adjusted < 0)
		add(&l, PHASE_ADJUST, "Say whether an adjustment was made");
	if (r->n_runs > 1)
		add_run(&r->runs[1], "as-left", PHASE_AS_LEFT, &l);
	return l.n;
}

enum record_phase record_phase_of(const struct record *r)
{
	struct record_todo list[RECORD_TODO_MAX];

	switch (r->state) {
	case RECORD_PERFORMED:
		return PHASE_REVIEW;
	case RECORD_REVIEWED:
		return PHASE_CERTIFICATE;
	case RECORD_CERTIFIED:
	case RECORD_VOID:
		return PHASE_DONE;
	default:
		return record_to_do(r, list) ? list[0].phase : PHASE_SIGN;
	}
}

enum status record_must_be_open(const struct record *r, struct err *err)
{
	static const char *const why[] = {
		[RECORD_PERFORMED] = "is signed as performed; a reviewer can return it",
		[RECORD_REVIEWED] = "is signed and reviewed; a reviewer can return it",
		[RECORD_CERTIFIED] = "is signed and certified; it never changes",
		[RECORD_VOID] = "is void",
	};

	if (r->state == RECORD_OPEN || r->state == RECORD_RETURNED)
		return OK;
	return err_set(err, CONFLICT, "", "%s %s", r->number, why[r->state]);
}

enum status record_must_have_done(const struct record *r, enum record_phase before, struct err *err)
{
	struct record_todo list[RECORD_TODO_MAX];

	if (record_to_do(r, list) == 0 || list[0].phase >= before)
		return OK;
	return err_set(err, CONFLICT, "", "First: %s", list[0].text);
}

const struct record_run *record_run_in_hand(const struct record *r)
{
	return &r->runs[r->n_runs - 1];
}

bool record_has_readings(const struct record *r)
{
	for (size_t i = 0; i < r->n_runs; i++)
		if (r->runs[i].n_read)
			return true;
	return false;
}

bool record_left_inside(const struct record *r)
{
	enum verdict v = r->runs[r->n_runs - 1].sum.verdict;

	return v == VERDICT_PASS || v == VERDICT_CONDITIONAL_PASS;
}

/* The newest signature of a meaning since the last return. */
static const struct record_signature *newest(const struct record *r, const char *meaning)
{
	for (size_t i = r->n_signatures; i-- > 0;) {
		if (!strcmp(r->signatures[i].meaning, "returned"))
			return NULL;
		if (!strcmp(r->signatures[i].meaning, meaning))
			return &r->signatures[i];
	}
	return NULL;
}

const struct record_signature *record_performer(const struct record *r)
{
	return newest(r, "performed");
}

const struct record_signature *record_reviewer(const struct record *r)
{
	return newest(r, "reviewed");
}

const struct record_signature *record_approver(const struct record *r)
{
	return newest(r, "approved");
}

const struct record_signature *record_voider(const struct record *r)
{
	return newest(r, "voided");
}

static bool another_than(const struct record_signature *s, const struct actor *actor)
{
	return s && actor->person_id && strcmp(s->person_id, actor->person_id) != 0;
}

bool record_may(const struct record *r, const struct actor *actor, enum record_act act)
{
	bool open = r->state == RECORD_OPEN || r->state == RECORD_RETURNED;

	if (!actor)
		return false;
	switch (act) {
	case ACT_EDIT:
		return open && permission_granted(actor->roles, PERM_TEST);
	case ACT_SIGN_PERFORMED:
		return open && r->phase == PHASE_SIGN && permission_granted(actor->roles, PERM_TEST);
	case ACT_SIGN_REVIEWED:
		return r->state == RECORD_PERFORMED && permission_granted(actor->roles, PERM_REVIEW) &&
		       another_than(record_performer(r), actor);
	case ACT_SIGN_APPROVED:
		return r->state == RECORD_REVIEWED && permission_granted(actor->roles, PERM_REVIEW) &&
		       !record_approver(r) && another_than(record_performer(r), actor) &&
		       another_than(record_reviewer(r), actor);
	case ACT_RETURN:
		return (r->state == RECORD_PERFORMED || r->state == RECORD_REVIEWED) &&
		       permission_granted(actor->roles, PERM_REVIEW);
	case ACT_VOID:
		return r->state != RECORD_VOID && !r->certificate_replaced_by &&
		       permission_granted(actor->roles, PERM_MANAGE);
	case ACT_AMEND:
		return r->state == RECORD_CERTIFIED && r->certificate_state &&
		       !strcmp(r->certificate_state, "current") && !r->amended_by &&
		       permission_granted(actor->roles, PERM_REVIEW);
	default:
		return r->state == RECORD_REVIEWED && permission_granted(actor->roles, PERM_REVIEW);
	}
}

enum status record_note(struct db *db, const struct actor *actor, const struct record *r, const char *action,
			const char *reason, json_t *before, json_t *after, struct err *err)
{
	char label[100];
	struct ledger_note note = {.action = action,
				   .thing = "test_record",
				   .thing_id = r->id,
				   .label = label,
				   .reason = reason,
				   .before = before,
				   .after = after};
	enum status rc;

	snprintf(label, sizeof label, "%s %s", r->number, r->instrument.tag);
	rc = ledger_add(db, actor, &note, err);
	json_decref(before);
	json_decref(after);
	return rc;
}
