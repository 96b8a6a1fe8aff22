/* The certificate of every certified test of the demo plant, for machines: each kind of instrument it has, plain and sealed. */
#include "unit/dcc_authority.h"

#include <time.h>
#include <unistd.h>
#include "domain/demo.h"
#include "domain/password.h"
#include "report/dcc.h"

#define KINDS_MAX 40

struct kinds {
	char name[KINDS_MAX][64];
	int written[KINDS_MAX];
	size_t n;
	int total, by_schema, sealed_by_schema;
	size_t bytes, largest;
	double write_s, seal_s, judge_s;
};

static struct authority plant;

static void count_kind(struct kinds *k, const char *name)
{
	size_t i = 0;

	while (i < k->n && strcmp(k->name[i], name))
		i++;
	if (i == k->n && k->n < KINDS_MAX)
		snprintf(k->name[k->n++], sizeof k->name[0], "%s", name);
	k->written[i]++;
	k->total++;
}

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void seal_it(const char *bytes, size_t size, int64_t at_ms, struct kinds *k)
{
	struct dcc_report report;
	struct err err = {0};
	double from = now();
	size_t sealed_size;
	char *sealed;

	assert_int_equal(dcc_seal(&plant.signer, bytes, size, at_ms, &sealed, &sealed_size, &err), OK);
	k->seal_s += now() - from;
	assert_dcc(sealed, sealed_size);
	k->sealed_by_schema += dcc_schema_says(sealed, sealed_size) == 1;
	from = now();
	assert_int_equal(dcc_unseal(sealed, sealed_size, plant.store, &report, &err), OK);
	k->judge_s += now() - from;
	assert_true(report.sound && report.as_written);
	free(sealed);
}

static void one(struct db *db, const char *id, struct kinds *k)
{
	const struct certificate_options options = {.plant_name = "Brackenholm Water Works",
						    .plant_address = "1 Intake Lane\nBrackenholm",
						    .program = "Loopledger 0.1.0"};
	struct arena arena = {0};
	struct err err = {0};
	struct record r;
	char *bytes;
	size_t size;
	double from;

	assert_int_equal(record_load(db, id, &arena, &r, &err), OK);
	from = now();
	if (dcc_xml(&r, &options, &bytes, &size, &err) != OK)
		fail_msg("%s: %s", r.number, err.message);
	k->write_s += now() - from;
	assert_dcc(bytes, size);
	k->by_schema += dcc_schema_says(bytes, size) == 1;
	k->bytes += size;
	k->largest = size > k->largest ? size : k->largest;
	count_kind(k, r.instrument.kind);
	seal_it(bytes, size, r.certificate_at, k);
	free(bytes);
	arena_clear(&arena);
}

static void every_certified_test_of_the_demo_plant_keeps_the_rules(void **state)
{
	char folder[] = "/tmp/dcc-demo-XXXXXX", path[64], command[80];
	struct kinds *k = calloc(1, sizeof *k);
	struct store *store;
	struct err err = {0};
	struct arena arena = {0};
	struct stmt *q;
	struct db *db;

	(void)state;
	password_set_cost(1, 8192);
	assert_non_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/plant.db", folder);
	assert_int_equal(store_open(&store, path, 2, &err), OK);
	assert_int_equal(demo_load(store, &err), OK);
	db = store_read_begin(store);
	q = db_stmt(db, "SELECT test_record_id FROM certificate ORDER BY number");
	while (stmt_step(q, &err) == OK)
		one(db, col_text(q, 0, &arena), k);
	stmt_done(q);
	arena_clear(&arena);
	store_read_end(store, db);
	store_close(store);
	snprintf(command, sizeof command, "rm -r %s", folder);
	assert_int_equal(system(command), 0);
	for (size_t i = 0; i < k->n; i++)
		print_message("%4d %s\n", k->written[i], k->name[i]);
	print_message("%d documents of %zu bytes, the largest %zu; by the published schema %d valid, sealed %d\n",
		      k->total, k->bytes / (size_t)k->total, k->largest, k->by_schema, k->sealed_by_schema);
	print_message("processor time each: written %.2f ms, sealed %.2f ms, judged %.2f ms\n",
		      k->write_s * 1000 / k->total, k->seal_s * 1000 / k->total, k->judge_s * 1000 / k->total);
	/* DESIGN: three years of history of some sixty instruments, tested at least once a year */
	assert_true(k->total > 60);
	assert_true(k->n >= 5);
	free(k);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_certified_test_of_the_demo_plant_keeps_the_rules),
	};

	int failed;

	dcc_schema_note();
	plant = authority_new(false, 315360000);
	failed = cmocka_run_group_tests(tests, NULL, NULL);
	authority_free(&plant);
	return failed;
}
