/* Many certificates at once: what is packed is what was issued, what fails is told, and a batch can be given up. */
#include "plant.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"

/* fontconfig keeps pointers as offsets, where the leak checker does not find them again. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig.so\n";
}

static void certify(struct plant *p, char id[37])
{
	p->f->as = TECHNICIAN;
	perform(p, 1.2);
	review(p);
	assert_int_equal(record_ask(p, "POST", "/certificate", "{}"), 201);
	snprintf(id, 37, "%s", p->record);
}

static void reviewed(struct plant *p, char id[37])
{
	p->f->as = TECHNICIAN;
	perform(p, 1.2);
	review(p);
	snprintf(id, 37, "%s", p->record);
}

static int begin(struct plant *p, const char *what, const char *records)
{
	char *body;
	int status;

	assert_true(asprintf(&body, "{\"what\": \"%s\", \"records\": [%s]}", what, records) > 0);
	status = ask(p, "POST", "/api/v1/certificate-batches", body);
	free(body);
	return status;
}

static void wait_until(struct plant *p, const char *batch, const char *state)
{
	struct timespec pause = {.tv_nsec = 10000000};
	char path[100];

	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", batch);
	for (int i = 0; i < 3000; i++) {
		assert_int_equal(ask(p, "GET", path, NULL), 200);
		if (!strcmp(text_of(p, "/state"), state))
			return;
		nanosleep(&pause, NULL);
	}
	fail_msg("it stays %s", text_of(p, "/state"));
}

/* The finished file, in a folder of its own, which $d names. What the shell prints. */
static char *file_about(struct plant *p, const char *batch, const char *shell)
{
	char path[100], folder[] = "/tmp/batch-XXXXXX", command[1000], *out = calloc(1, 1 << 16);
	FILE *file, *pipe;

	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s/file", batch);
	assert_int_equal(ask(p, "GET", path, NULL), 200);
	assert_non_null(out);
	assert_non_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/file", folder);
	file = fopen(path, "wb");
	assert_non_null(file);
	assert_int_equal(fwrite(p->f->text, 1, p->f->size, file), p->f->size);
	fclose(file);
	snprintf(command, sizeof command, "cd %s && { %s; } 2>&1; rm -r %s", folder, shell, folder);
	pipe = popen(command, "r");
	assert_non_null(pipe);
	assert_true(fread(out, 1, (1 << 16) - 1, pipe) > 0);
	pclose(pipe);
	return out;
}

static void the_archive_holds_what_was_issued(void **state)
{
	struct plant *p = *state;
	char first[37], second[37], open[37], batch[37], records[200], hash[SHA256_HEX_SIZE], line[300], *said;

	certify(p, first);
	certify(p, second);
	reviewed(p, open);
	p->f->as = LEAD;
	snprintf(p->record, sizeof p->record, "%s", first);
	assert_int_equal(
		record_ask(p, "POST", "/void", "{\"reason\": \"Wrong valve\", \"password\": \"" FIXTURE_PASSWORD "\"}"),
		200);
	p->f->as = AUDITOR;
	snprintf(p->record, sizeof p->record, "%s", second);
	assert_int_equal(record_ask(p, "GET", "/certificate.pdf", NULL), 200);
	sha256_hex(p->f->text, p->f->size, hash);
	look(p);
	snprintf(line, sizeof line, "%s  %s.pdf", hash, text_of(p, "/certificate/number"));
	snprintf(records, sizeof records, "\"%s\", \"%s\", \"%s\"", first, second, open);
	assert_int_equal(begin(p, "archive", records), 202);
	snprintf(batch, sizeof batch, "%s", text_of(p, "/id"));
	wait_until(p, batch, "done");
	assert_float_equal(number_of(p, "/done"), 3, 0);
	assert_float_equal(number_of(p, "/failed"), 1, 0);
	assert_string_equal(text_of(p, "/failures/0/record_id"), open);
	assert_non_null(strstr(text_of(p, "/failures/0/sentence"), "has no certificate yet"));
	said = file_about(p, batch,
			  "unzip -t file; unzip -q file; ls; sha256sum *.pdf; cat index.csv NO-LONGER-STANDING.txt");
	assert_non_null(strstr(said, "No errors detected"));
	assert_non_null(strstr(said, line)); /* byte for byte, by a program of others */
	assert_non_null(strstr(strstr(said, "certificate,record,tag"), hash)); /* and the index says so */
	assert_non_null(strstr(said, "no longer stands: void. Wrong valve"));
	free(said);
}

static void the_print_file_has_all_pages_each_marked_as_a_copy(void **state)
{
	struct plant *p = *state;
	char first[37], second[37], batch[37], records[100], *said;
	int pages, marked = 0;

	certify(p, first);
	certify(p, second);
	snprintf(records, sizeof records, "\"%s\", \"%s\"", first, second);
	p->f->as = AUDITOR;
	assert_int_equal(begin(p, "print", records), 202);
	snprintf(batch, sizeof batch, "%s", text_of(p, "/id"));
	wait_until(p, batch, "done");
	said = file_about(p, batch, "qpdf --check file; pdfinfo file | grep Pages; pdftotext file -");
	assert_non_null(strstr(said, "No syntax or stream encoding errors found"));
	assert_int_equal(sscanf(strstr(said, "Pages:"), "Pages: %d", &pages), 1);
	for (const char *at = said; (at = strstr(at, "COPY for reading")); at++)
		marked++;
	assert_true(pages >= 2);
	assert_int_equal(marked, pages);
	free(said);
}

static void a_batch_issues_what_it_can_and_names_the_rest(void **state)
{
	struct plant *p = *state;
	char first[37], second[37], third[37], batch[37], records[200];

	reviewed(p, first);
	reviewed(p, second);
	p->f->as = TECHNICIAN;
	perform(p, 0);
	snprintf(third, sizeof third, "%s", p->record);
	snprintf(records, sizeof records, "\"%s\", \"%s\", \"%s\"", first, third, second);
	assert_int_equal(begin(p, "issue", records), 403);
	p->f->as = LEAD;
	assert_int_equal(begin(p, "issue", records), 202);
	snprintf(batch, sizeof batch, "%s", text_of(p, "/id"));
	wait_until(p, batch, "done");
	assert_float_equal(number_of(p, "/failed"), 1, 0);
	assert_string_equal(text_of(p, "/failures/0/record_id"), third);
	assert_non_null(strstr(text_of(p, "/failures/0/sentence"), "follows the review"));
	assert_int_equal(
		fixture_sql_int(p->f, "SELECT count(*) FROM certificate WHERE state = 'current' AND sealed = 1"), 2);
	assert_int_equal(ask(p, "GET", "/api/v1/test-records?state=certified", NULL), 200);
	assert_int_equal(count_of(p, "/items"), 2);
}

static void a_batch_is_its_persons_own(void **state)
{
	struct plant *p = *state;
	char id[37], path[120], records[50];

	certify(p, id);
	snprintf(records, sizeof records, "\"%s\"", id);
	p->f->as = TECHNICIAN;
	assert_int_equal(begin(p, "archive", records), 202);
	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", text_of(p, "/id"));
	p->f->as = LEAD;
	assert_int_equal(ask(p, "GET", path, NULL), 404);
	assert_int_equal(ask(p, "DELETE", path, NULL), 404);
	strcat(path, "/file");
	assert_int_equal(ask(p, "GET", path, NULL), 404);
}

/* 200 drawings take seconds: given up in between, and there is no half file. */
static void a_batch_can_be_given_up_and_two_are_the_most(void **state)
{
	struct plant *p = *state;
	char id[37], first[37], second[37], path[120], *records = calloc(200, 42);

	certify(p, id);
	for (int i = 0; i < 200; i++)
		sprintf(records + strlen(records), "%s\"%s\"", i ? ", " : "", id);
	p->f->as = AUDITOR;
	assert_int_equal(begin(p, "print", records), 202);
	snprintf(first, sizeof first, "%s", text_of(p, "/id"));
	assert_int_equal(begin(p, "print", records), 202);
	snprintf(second, sizeof second, "%s", text_of(p, "/id"));
	assert_int_equal(begin(p, "print", records), 429);
	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", second);
	assert_int_equal(ask(p, "DELETE", path, NULL), 204);
	wait_until(p, second, "cancelled");
	assert_float_equal(number_of(p, "/done"), 0, 0);
	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", first);
	assert_int_equal(ask(p, "DELETE", path, NULL), 204);
	wait_until(p, first, "cancelled");
	assert_true(number_of(p, "/done") < 200);
	strcat(path, "/file");
	assert_int_equal(ask(p, "GET", path, NULL), 409);
	assert_int_equal(begin(p, "print", records), 202); /* left running: the program stops in spite of it */
	free(records);
}

/* Their files take room on the disk: BATCH_KEPT of report/batch.h, written out. */
static void a_person_keeps_four_finished_ones_and_the_oldest_goes(void **state)
{
	struct plant *p = *state;
	char id[37], records[50], batch[6][37], path[100];

	certify(p, id);
	snprintf(records, sizeof records, "\"%s\"", id);
	p->f->as = AUDITOR;
	for (int i = 0; i < 6; i++) {
		assert_int_equal(begin(p, "archive", records), 202);
		snprintf(batch[i], sizeof batch[i], "%s", text_of(p, "/id"));
		wait_until(p, batch[i], "done");
	}
	for (int i = 0; i < 6; i++) {
		snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", batch[i]);
		assert_int_equal(ask(p, "GET", path, NULL), i < 2 ? 404 : 200);
	}
}

static void a_finished_one_that_is_deleted_is_gone_with_its_file(void **state)
{
	struct plant *p = *state;
	char id[37], records[50], path[120];

	certify(p, id);
	snprintf(records, sizeof records, "\"%s\"", id);
	p->f->as = AUDITOR;
	assert_int_equal(begin(p, "archive", records), 202);
	snprintf(path, sizeof path, "/api/v1/certificate-batches/%s", text_of(p, "/id"));
	wait_until(p, path + strlen("/api/v1/certificate-batches/"), "done");
	assert_int_equal(ask(p, "DELETE", path, NULL), 204);
	assert_int_equal(ask(p, "GET", path, NULL), 404);
	strcat(path, "/file");
	assert_int_equal(ask(p, "GET", path, NULL), 404);
}

/* BATCH_RECORDS_MAX of report/batch.h: nobody is left to guess which of them failed. */
static void each_of_500_failures_is_named(void **state)
{
	struct plant *p = *state;
	char *records = calloc(500, 42);

	for (int i = 0; i < 500; i++)
		sprintf(records + strlen(records), "%s\"01a1de7d-c156-7126-961b-%012d\"", i ? ", " : "", i);
	p->f->as = LEAD;
	assert_int_equal(begin(p, "issue", records), 202);
	wait_until(p, text_of(p, "/id"), "done");
	assert_int_equal(count_of(p, "/failures"), 500);
	assert_string_equal(text_of(p, "/failures/499/record_id"), "01a1de7d-c156-7126-961b-000000000499");
	free(records);
}

static void a_wish_that_makes_no_sense_is_refused(void **state)
{
	struct plant *p = *state;

	p->f->as = AUDITOR;
	assert_int_equal(begin(p, "archive", ""), 422);
	assert_int_equal(begin(p, "archive", "\"x\""), 422);
	assert_int_equal(begin(p, "post", "\"01a1de7d-c156-7126-961b-ad32f134cb1c\""), 422);
	assert_int_equal(begin(p, "archive", "\"01a1de7d-c156-7126-961b-ad32f134cb1c\""),
			 202); /* nowhere: told by the batch */
	wait_until(p, text_of(p, "/id"), "failed");
	assert_non_null(strstr(text_of(p, "/failures/0/sentence"), "there is no such test record"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(the_archive_holds_what_was_issued, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(the_print_file_has_all_pages_each_marked_as_a_copy, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_batch_issues_what_it_can_and_names_the_rest, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_batch_is_its_persons_own, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(a_batch_can_be_given_up_and_two_are_the_most, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_person_keeps_four_finished_ones_and_the_oldest_goes, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(a_finished_one_that_is_deleted_is_gone_with_its_file, plant_setup,
						plant_teardown),
		cmocka_unit_test_setup_teardown(each_of_500_failures_is_named, plant_setup, plant_teardown),
		cmocka_unit_test_setup_teardown(a_wish_that_makes_no_sense_is_refused, plant_setup, plant_teardown),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
