#include "store/tolerance_rule.h"

#include "store/list.h"

static enum status named(enum status rc, const struct tolerance_rule *rule, struct err *err)
{
	if (rc == CONFLICT)
		return err_set(err, CONFLICT, "name", "there is a rule %s already", rule->name);
	return rc;
}

enum status store_tolerance_rule_add(struct db *db, const struct tolerance_rule *rule, struct err *err)
{
	struct stmt *q = db_stmt(
		db, "INSERT INTO tolerance_rule (id, name, rule_json, version, created_at) VALUES ($1, $2, $3, 1, $4)");

	stmt_text(q, 1, rule->id);
	stmt_text(q, 2, rule->name);
	stmt_text(q, 3, rule->rule_json);
	stmt_int(q, 4, rule->created_at);
	return named(stmt_run(q, err), rule, err);
}

enum status store_tolerance_rule_update(struct db *db, const struct tolerance_rule *rule, struct err *err)
{
	struct stmt *q = db_stmt(db, "UPDATE tolerance_rule SET name = $1, rule_json = $2, version = version + 1"
				     " WHERE id = $3 AND version = $4");

	stmt_text(q, 1, rule->name);
	stmt_text(q, 2, rule->rule_json);
	stmt_text(q, 3, rule->id);
	stmt_int(q, 4, rule->version);
	return store_changed_one(db, named(stmt_run(q, err), rule, err), err);
}

static void read_rule(struct stmt *q, struct arena *a, struct tolerance_rule *out)
{
	*out = (struct tolerance_rule){
		.id = col_text(q, 0, a),
		.name = col_text(q, 1, a),
		.rule_json = col_text(q, 2, a),
		.version = (int)col_int(q, 3),
		.created_at = col_int(q, 4),
	};
}

enum status store_tolerance_rule_get(struct db *db, const char *id, struct arena *a, struct tolerance_rule *out,
				     struct err *err)
{
	struct stmt *q = db_stmt(db,
				 "SELECT id, name, rule_json, version, created_at FROM tolerance_rule WHERE id = $1");
	enum status rc;

	stmt_text(q, 1, id);
	rc = stmt_step(q, err);
	if (rc == NOT_FOUND)
		return err_set(err, NOT_FOUND, "", "there is no such tolerance rule");
	if (rc)
		return rc;
	read_rule(q, a, out);
	stmt_done(q);
	return OK;
}

enum status store_tolerance_rule_list(struct db *db, const char *after, int limit, struct arena *a,
				      struct tolerance_rule **out, size_t *n, struct err *err)
{
	struct stmt *q = db_stmt(db, "SELECT id, name, rule_json, version, created_at FROM tolerance_rule"
				     " WHERE lower(name) > lower($1) ORDER BY lower(name) LIMIT $2");
	size_t most = (size_t)limit + 1, count = 0;
	struct tolerance_rule *list = arena_alloc(a, most * sizeof *list);
	enum status rc = OK;

	if (!list)
		return store_no_memory(err);
	stmt_text(q, 1, after ? after : "");
	stmt_int(q, 2, (int64_t)most);
	while (count < most && (rc = stmt_step(q, err)) == OK)
		read_rule(q, a, &list[count++]);
	stmt_done(q);
	*out = list;
	*n = count;
	return rc == NOT_FOUND ? OK : rc;
}
