/*
 * How long a sealed certificate takes, and which step of it how much: the steps of issuer_issue one after the other on
 * records of 9 readings as found and 9 as left, no two alike, in processor time of the thread that does them; the whole
 * chain with two threads by the clock; and every certificate of the demo plant sealed and taken into its file.
 *
 *	bench_seal FOLDER ROUNDS [STEP]		FOLDER is empty; STEP names one step alone, for a profiler
 */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "bare_page.h"
#include "domain/demo.h"
#include "domain/password.h"
#include "report/dcc.h"
#include "report/issue.h"
#include "report/seal.h"
#include "unit/certificate_sample.h"

#define ROUNDS_MAX 99
#define EACH	   40 /* of a step in a round */
#define THREADS	   2

static double seconds(clockid_t clock)
{
	struct timespec t;

	clock_gettime(clock, &t);
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void give_up(const char *what)
{
	fprintf(stderr, "%s\n", what);
	exit(1);
}

static void need(enum status rc, const struct err *err)
{
	if (rc)
		give_up(err->message);
}

/* A record with its key, and what each step hands to the next. */
struct work {
	unsigned int number; /* of the record: no two are alike */
	struct sample *s;
	struct seal_key *key;
	char *drawn, *plain, *xml, *finished, *sealed;
	size_t drawn_size, plain_size, xml_size, finished_size, sealed_size;
	char text[8][120];
	struct err err;
};

/* The next instrument, with other readings and other people: what is the same on two of them is the same at a plant. */
static void renew(struct work *w)
{
	static const char *const given[] = {"Maren", "Ida", "Corin", "Leda", "Joss", "Petra", "Wil"};
	unsigned int n = ++w->number;
	struct sample *s = w->s;

	free(s);
	w->s = s = sample_new();
	s->options.sealed = true;
	snprintf(w->text[0], sizeof w->text[0], "FCV-%04u", n % 10000);
	snprintf(w->text[1], sizeof w->text[1], "Filter %u outlet flow control valve", n % 40);
	snprintf(w->text[2], sizeof w->text[2], "A-19-%05u", n);
	snprintf(w->text[3], sizeof w->text[3], "%s Oldfield-%u", given[n % 7], n % 11);
	snprintf(w->text[4], sizeof w->text[4], "Tested on bypass %u with the consent of the control room.", n % 50);
	snprintf(w->text[5], sizeof w->text[5], "BWW-2026-%04u", n % 10000);
	snprintf(w->text[6], sizeof w->text[6], "http://127.0.0.1:8470/verify/BWW-2026-%04u", n % 10000);
	snprintf(w->text[7], sizeof w->text[7], "Zero of the positioner lowered by %.2f %% of span.",
		 1.2 + 0.01 * (n % 90));
	s->r.instrument.tag = w->text[0];
	s->r.instrument.service = w->text[1];
	s->r.instrument.serial = w->text[2];
	s->signatures[0].name = w->text[3];
	s->r.remarks = w->text[4];
	s->r.certificate_number = w->text[5];
	s->options.verify_address = w->text[6];
	sample_run(s, RUN_AS_FOUND, 5, 1, 1.2 + 0.01 * (n % 90), 0.003 * (n % 77), 0.2);
	sample_run(s, RUN_AS_LEFT, 5, 1, 0.1 + 0.001 * (n % 190), -0.1, 0.2);
	s->r.adjusted = 1;
	s->r.adjustment = w->text[7];
	s->r.adjusted_by = w->text[3];
	s->r.adjusted_at = SAMPLE_OPENED + 100 * SAMPLE_MINUTE;
}

static void bare(struct work *w)
{
	free(bare_page(&w->s->r));
}

static void draw(struct work *w)
{
	free(w->drawn);
	need(certificate_pdf(&w->s->r, &w->s->options, &w->drawn, &w->drawn_size, &w->err), &w->err);
}

static void write_xml(struct work *w)
{
	free(w->plain);
	need(dcc_xml(&w->s->r, &w->s->options, &w->plain, &w->plain_size, &w->err), &w->err);
}

static void seal_xml(struct work *w)
{
	free(w->xml);
	need(dcc_sign(w->key, w->plain, w->plain_size, w->s->r.certificate_at, &w->xml, &w->xml_size, &w->err),
	     &w->err);
}

static void finish(struct work *w)
{
	struct arena a = {0};
	const char *alternatives[CERTIFICATE_FIGURES_MAX];
	const struct seal_field field = {.name = "seal", .hint = "Seal of the plant", .page = 1};
	const struct seal_attachment xml = {
		"BWW-2026-0017.xml",   "text/xml", "The certificate for machines (DCC)", w->xml, w->xml_size,
		w->s->r.certificate_at};
	struct seal_finish_options o = {.language = "en",
					.fields = &field,
					.field_count = 1,
					.attachments = &xml,
					.attachment_count = 1,
					.alternatives = alternatives};

	need(certificate_alternatives(&w->s->r, &w->s->options, &a, alternatives, &o.alternative_count, &w->err),
	     &w->err);
	free(w->finished);
	need(seal_finish(w->drawn, w->drawn_size, &o, &w->finished, &w->finished_size, &w->err), &w->err);
	arena_clear(&a);
}

static void seal(struct work *w)
{
	const struct seal_sign_options o = {.field = "seal",
					    .name = "Brackenholm Water Works",
					    .reason = "Seal of certificate BWW-2026-0017",
					    .at_ms = w->s->r.certificate_at};

	free(w->sealed);
	need(seal_sign(w->key, w->finished, w->finished_size, &o, &w->sealed, &w->sealed_size, &w->err), &w->err);
}

static void whole(struct work *w)
{
	write_xml(w);
	seal_xml(w);
	draw(w);
	finish(w);
	seal(w);
}

struct stage {
	const char *word, *name;
	void (*run)(struct work *w);
};

static const struct stage stages[] = {
	{"bare", "bare page: one pass of cairo and pango", bare},
	{"draw", "pages drawn", draw},
	{"write", "record for machines written", write_xml},
	{"xades", "record sealed (XAdES) and judged", seal_xml},
	{"finish", "both made one file", finish},
	{"pades", "file sealed (PAdES)", seal},
	{"whole", "the whole chain", whole},
};

#define STAGES (sizeof stages / sizeof *stages)

static void work_init(struct work *w, struct seal_key *key)
{
	*w = (struct work){.key = key};
	renew(w);
	whole(w);
}

static void work_clear(struct work *w)
{
	free(w->s);
	free(w->drawn);
	free(w->plain);
	free(w->xml);
	free(w->finished);
	free(w->sealed);
}

static int ascending(const void *a, const void *b)
{
	const double *x = a, *y = b;

	return (*x > *y) - (*x < *y);
}

/* Milliseconds each, processor time; making the record is not counted. */
static double time_stage(const struct stage *s, struct work *w)
{
	double sum = 0, from;

	for (int i = 0; i < EACH; i++) {
		renew(w);
		from = seconds(CLOCK_THREAD_CPUTIME_ID);
		s->run(w);
		sum += seconds(CLOCK_THREAD_CPUTIME_ID) - from;
	}
	return sum * 1000 / EACH;
}

/* The steps take turns in each round, so that what else the machine does falls on all alike. */
static void time_stages(struct work *w, int rounds, const char *only)
{
	static double ms[STAGES][ROUNDS_MAX];

	for (int r = 0; r < rounds; r++)
		for (size_t i = 0; i < STAGES; i++)
			if (!only || strcmp(only, stages[i].word) == 0)
				ms[i][r] = time_stage(&stages[i], w);
	for (size_t i = 0; i < STAGES; i++) {
		qsort(ms[i], (size_t)rounds, sizeof ms[i][0], ascending);
		if (ms[i][0] > 0)
			printf("%-40s %6.2f ms of a core (%.2f to %.2f), %4.0f a second and core\n", stages[i].name,
			       ms[i][rounds / 2], ms[i][0], ms[i][rounds - 1], 1000 / ms[i][rounds / 2]);
	}
	printf("bytes: drawn %zu, record %zu, sealed record %zu, finished %zu, sealed %zu\n", w->drawn_size,
	       w->plain_size, w->xml_size, w->finished_size, w->sealed_size);
}

struct thread {
	pthread_t thread;
	struct work work;
	double core;
};

static void *many(void *context)
{
	struct thread *t = context;
	double from = seconds(CLOCK_THREAD_CPUTIME_ID);

	for (int i = 0; i < EACH; i++) {
		renew(&t->work);
		whole(&t->work);
	}
	t->core = seconds(CLOCK_THREAD_CPUTIME_ID) - from;
	return NULL;
}

static void time_threads(struct seal_key *key, int rounds)
{
	struct thread t[THREADS];
	double each[ROUNDS_MAX], core[ROUNDS_MAX];

	for (int i = 0; i < THREADS; i++)
		work_init(&t[i].work, key);
	for (int r = 0; r < rounds; r++) {
		double from = seconds(CLOCK_MONOTONIC);

		for (int i = 0; i < THREADS; i++)
			if (pthread_create(&t[i].thread, NULL, many, &t[i]))
				give_up("no thread");
		core[r] = 0;
		for (int i = 0; i < THREADS; i++) {
			pthread_join(t[i].thread, NULL);
			core[r] += t[i].core * 1000 / (THREADS * EACH);
		}
		each[r] = THREADS * EACH / (seconds(CLOCK_MONOTONIC) - from);
	}
	for (int i = 0; i < THREADS; i++)
		work_clear(&t[i].work);
	qsort(each, (size_t)rounds, sizeof *each, ascending);
	qsort(core, (size_t)rounds, sizeof *core, ascending);
	printf("%d threads: %.0f a second together by the clock (%.0f to %.0f), %.2f ms of a core each\n", THREADS,
	       each[rounds / 2], each[0], each[rounds - 1], core[rounds / 2]);
}

/* What the demo plant was issued without a seal: each record loaded, made, and taken in by a transaction of its own. */
static void time_store(const char *folder)
{
	char plant[512], key[512], seal_folder[512];
	struct issuer_config config = {.folder = seal_folder, .own_since_ms = 1640995200000, .program = "Loopledger"};
	struct issuer *issuer;
	struct store *store = NULL;
	struct err err = {0};
	double wall, core;
	size_t n;

	snprintf(plant, sizeof plant, "%s/plant.db", folder);
	snprintf(key, sizeof key, "%s/ledger.key", folder);
	snprintf(seal_folder, sizeof seal_folder, "%s/seal", folder);
	password_set_cost(1, 8192);
	need(store_open(&store, plant, 1, &err), &err);
	need(ledger_open(store, key, &err), &err);
	need(demo_load(store, &err), &err);
	issuer = issuer_new(&config);
	if (!issuer)
		give_up("out of memory");
	wall = seconds(CLOCK_MONOTONIC);
	core = seconds(CLOCK_PROCESS_CPUTIME_ID);
	need(issuer_seal_all(issuer, store, NULL, &n, &err), &err);
	wall = seconds(CLOCK_MONOTONIC) - wall;
	core = seconds(CLOCK_PROCESS_CPUTIME_ID) - core;
	printf("the demo plant: %zu certificates sealed into its file, %.2f ms of a core each, %.0f a second by the clock\n",
	       n, core * 1000 / (double)n, (double)n / wall);
	issuer_free(issuer);
	store_close(store);
}

int main(int argc, char **argv)
{
	int rounds = argc > 2 ? atoi(argv[2]) : 0;
	const char *only = argc > 3 ? argv[3] : NULL;
	char folder[512];
	struct work work;
	struct rusage used;
	struct seal_key *key = NULL;
	struct err err = {0};

	if (rounds < 1 || rounds > ROUNDS_MAX)
		give_up("bench_seal FOLDER ROUNDS [STEP]");
	snprintf(folder, sizeof folder, "%s/bench-seal", argv[1]);
	need(seal_authority_create(folder, "Brackenholm Water Works", SEAL_EC_P256, NULL, 1767225600000, &err), &err);
	need(seal_key_open_own(folder, NULL, &key, &err), &err);
	work_init(&work, key);
	time_stages(&work, rounds, only);
	work_clear(&work);
	if (!only) {
		time_threads(key, rounds);
		getrusage(RUSAGE_SELF, &used);
		printf("peak memory of all of that: %.0f MiB\n", (double)used.ru_maxrss / 1024);
		time_store(argv[1]);
	}
	seal_key_free(key);
	return 0;
}
