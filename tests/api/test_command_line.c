/* The program as it is called: settings, exit statuses, accounts and the ledger without a browser. */
#include "support/check.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* A folder for the plant and what the last command said. */
struct shell {
	char folder[64];
	int status;
	char out[8192];
};

static int setup(void **state)
{
	struct shell *s = calloc(1, sizeof *s);

	assert_non_null(s);
	strcpy(s->folder, "/tmp/loopledger-test-XXXXXX");
	assert_non_null(mkdtemp(s->folder));
	*state = s;
	return 0;
}

static int teardown(void **state)
{
	struct shell *s = *state;
	char command[100];

	snprintf(command, sizeof command, "rm -rf '%s'", s->folder);
	assert_int_equal(system(command), 0);
	free(s);
	return 0;
}

/* Runs "loopledger ARGUMENTS" in the folder, with both outputs; input is what it finds on standard input. */
static void run(struct shell *s, const char *input, const char *arguments)
{
	char command[1000];
	FILE *pipe;
	size_t n;
	int status;

	snprintf(command, sizeof command, "cd '%s' && printf '%%s' '%s' | timeout 20 '" LOOPLEDGER "' 2>&1 %s",
		 s->folder, input, arguments);
	pipe = popen(command, "r");
	assert_non_null(pipe);
	n = fread(s->out, 1, sizeof s->out - 1, pipe);
	s->out[n] = '\0';
	status = pclose(pipe);
	s->status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void expect(const struct shell *s, int status, const char *said)
{
	if (s->status != status || !strstr(s->out, said))
		print_error("exit status %d, said: %s\n", s->status, s->out);
	assert_int_equal(s->status, status);
	assert_non_null(strstr(s->out, said));
}

static void write_config(const struct shell *s, const char *text)
{
	char path[100];
	FILE *file;

	snprintf(path, sizeof path, "%s/book.conf", s->folder);
	file = fopen(path, "w");
	assert_non_null(file);
	fputs(text, file);
	fclose(file);
}

/* ---- settings ---- */

static void what_cannot_be_understood_exits_with_2_and_says_why(void **state)
{
	static const struct {
		const char *arguments, *said;
	} cases[] = {
		{"", "a command is needed"},
		{"srve", "unknown command: srve"},
		{"serve --prot 1", "there is no option --prot"},
		{"serve --port", "--port needs a value"},
		{"serve --port 65536", "port must be a whole number from 0 to 65535"},
		{"serve --port -1", "port must be a whole number"},
		{"serve --threads 0", "threads must be a whole number from 1 to 16"},
		{"serve --demo=perhaps", "demo must be yes or no"},
		{"serve --tls-key x.pem", "tls-certificate and tls-key go together"},
		{"serve --config missing.conf", "missing.conf cannot be read"},
		{"serve --listen 300.0.0.1 --data d", "300.0.0.1"},
		{"serve more words", "unknown command"},
		{"ledger", "ledger verify"},
		{"person remove tessa", "person list"},
		{"compute", "one KIND"},
	};
	struct shell *s = *state;

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		run(s, "", cases[i].arguments);
		expect(s, 2, cases[i].said);
	}
}

static void a_fault_in_the_file_names_its_line(void **state)
{
	static const struct {
		const char *text, *said;
	} cases[] = {
		{"# the plant\n\nprot = 1\n", "book.conf, line 3: there is no setting \"prot\""},
		{"port = 8470\nthreads = many\n", "book.conf, line 2: threads must be a whole number"},
		{"port 8470\n", "book.conf, line 1: name=value is expected"},
		{"config = other.conf\n", "book.conf, line 1: there is no setting \"config\""},
		{"data =\n", "book.conf, line 1: data needs a value"},
	};
	struct shell *s = *state;

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		write_config(s, cases[i].text);
		run(s, "", "serve --config book.conf");
		expect(s, 2, cases[i].said);
	}
}

static void the_command_line_wins_over_the_file(void **state)
{
	struct shell *s = *state;

	write_config(s, "data = from-file\n");
	run(s, "quiet brass 7", "person add tessa \"Tessa Quill\" technician --config book.conf");
	expect(s, 0, "");
	run(s, "", "person list --data from-file");
	expect(s, 0, "Tessa Quill");
	run(s, "", "person list --config book.conf --data elsewhere");
	expect(s, 1, "there is no plant in elsewhere");
}

static void help_names_every_setting_with_its_default(void **state)
{
	static const char *const named[] = {"--config",	 "--listen",	    "--port N",	 "(8470)",
					    "--data",	 "--demo",	    "--host",	 "--tls-certificate",
					    "--tls-key", "--threads",	    "--readers", "--idle-minutes",
					    "(120)",	 "--session-hours", "(12)",	 "--static"};
	struct shell *s = *state;

	run(s, "", "--help");
	for (size_t i = 0; i < sizeof named / sizeof *named; i++)
		expect(s, 0, named[i]);
}

/* ---- computing ---- */

/* 1 bar = 100 kPa exactly (SI Brochure, 9th edition, table 8). */
static void compute_answers_on_standard_output(void **state)
{
	struct shell *s = *state;

	run(s, "{\"value\": 1, \"from\": \"bar\", \"to\": \"kPa\"}", "compute conversion");
	expect(s, 0, "{\"value\":100.0}");
}

static void a_bad_document_exits_with_2_and_points_at_the_member(void **state)
{
	struct shell *s = *state;

	run(s, "{\"value\": 1, \"from\": \"bar\", \"to\": \"mA\"}", "compute conversion");
	expect(s, 2, "\"pointer\":\"/to\"");
	run(s, "{\"value\": 1, \"from\": \"bar\", \"to\": \"kPa\", \"extra\": 1}", "compute conversion");
	expect(s, 2, "\"pointer\":\"/extra\"");
	run(s, "{\"value\": 1, \"from\": \"bar\", \"to\": \"mA\"}", "compute conversion 2>/dev/null");
	assert_int_equal(s->status, 2);
	assert_string_equal(s->out, "");
	run(s, "{\"value\": 1,", "compute conversion");
	expect(s, 2, "\"status\":422");
	run(s, "{}", "compute nothing");
	expect(s, 2, "\"status\":404");
}

/* ---- accounts ---- */

static void accounts_are_made_without_a_browser(void **state)
{
	struct shell *s = *state;
	struct stat st;
	char path[100];

	run(s, "quiet brass 7", "person add Tessa \"Tessa Quill\" technician,lead --data plant");
	expect(s, 0, "");
	run(s, "", "person list --data plant");
	expect(s, 0, "tessa");
	expect(s, 0, "Tessa Quill (technician, lead)");
	run(s, "quiet brass 8", "person password tessa --data plant");
	expect(s, 0, "");
	snprintf(path, sizeof path, "%s/plant", s->folder);
	assert_int_equal(stat(path, &st), 0);
	assert_int_equal(st.st_mode & 0777, 0700);
	snprintf(path, sizeof path, "%s/plant/plant.db", s->folder);
	assert_int_equal(stat(path, &st), 0);
	assert_int_equal(st.st_mode & 0777, 0600);
}

static void an_account_keeps_the_rules(void **state)
{
	struct shell *s = *state;

	run(s, "too short", "person add tessa Tessa technician --data plant");
	expect(s, 2, "at least 10 characters");
	run(s, "", "person add tessa Tessa technician --data plant");
	expect(s, 2, "a password is needed");
	run(s, "quiet brass 7", "person add tessa Tessa owner --data plant");
	expect(s, 2, "roles");
	run(s, "quiet brass 7", "person add tessa Tessa technician --data plant");
	expect(s, 0, "");
	run(s, "quiet brass 7", "person add TESSA Other technician --data plant");
	expect(s, 1, "somebody signs in as tessa already");
	run(s, "quiet brass 7", "person password nobody --data plant");
	expect(s, 1, "there is no such person");
}

/* ---- the ledger ---- */

static void sql(const struct shell *s, const char *text)
{
	char path[100];
	sqlite3 *db;

	snprintf(path, sizeof path, "%s/plant/plant.db", s->folder);
	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, text, NULL, NULL, NULL), SQLITE_OK);
	sqlite3_close(db);
}

static void the_ledger_is_verified_from_outside(void **state)
{
	struct shell *s = *state;

	run(s, "quiet brass 7", "person add tessa Tessa technician --data plant");
	run(s, "quiet brass 8", "person password tessa --data plant");
	run(s, "", "ledger verify --data plant");
	expect(s, 0, "2 entries, unbroken");
	sql(s, "DROP TRIGGER ledger_entry_stays; UPDATE ledger_entry SET person_name = 'Somebody' WHERE number = 1;");
	run(s, "", "ledger verify --data plant");
	expect(s, 1, "broken at entry 1");
	run(s, "", "ledger verify --data nowhere");
	expect(s, 1, "there is no plant in nowhere");
}

static void a_file_that_is_no_certificate_is_called_so(void **state)
{
	struct shell *s = *state;

	run(s, "quiet brass 7", "person add tessa Tessa technician --data plant");
	run(s, "%PDF-1.7 certainly", "verify - --data plant");
	expect(s, 1, "not a certificate that was sealed here");
	expect(s, 1, "No certificate was issued here with exactly these bytes.");
	run(s, "", "verify - --data plant");
	expect(s, 2, "the file is empty");
	run(s, "", "verify missing.pdf --data plant");
	expect(s, 1, "missing.pdf cannot be read");
	run(s, "", "verify --data plant");
	expect(s, 2, "one file");
	run(s, "x", "verify - --data nowhere");
	expect(s, 2, "--seal-roots");
	run(s, "x", "verify - --data nowhere --seal-roots missing.crt");
	expect(s, 1, "missing.crt");
}

/* ---- serving ---- */

/* Starts it in the folder and waits until it has said where it is; what it says goes to FOLDER/NAME. */
static pid_t start(const struct shell *s, const char *name)
{
	char command[400], path[100], said[2000] = "";
	pid_t child = fork();

	if (child == 0) {
		snprintf(command, sizeof command,
			 "cd '%s' && exec '" LOOPLEDGER "' serve --port 0 --data plant >%s 2>&1", s->folder, name);
		execl("/bin/sh", "sh", "-c", command, (char *)NULL);
		_exit(127);
	}
	assert_true(child > 0);
	snprintf(path, sizeof path, "%s/%s", s->folder, name);
	for (int i = 0; i < 1000 && !strstr(said, "Ctrl-C"); i++) {
		FILE *file = fopen(path, "r");
		size_t n = file ? fread(said, 1, sizeof said - 1, file) : 0;

		said[n] = '\0';
		if (file)
			fclose(file);
		usleep(10000);
	}
	assert_non_null(strstr(said, "http://127.0.0.1:"));
	assert_non_null(strstr(said, "make the first administrator"));
	return child;
}

static void it_stops_cleanly_when_told_to(void **state)
{
	struct shell *s = *state;
	static const int signals[] = {SIGTERM, SIGINT};

	for (int i = 0; i < 2; i++) {
		pid_t child = start(s, i ? "second.log" : "first.log");
		int status;

		kill(child, signals[i]);
		assert_int_equal(waitpid(child, &status, 0), child);
		assert_true(WIFEXITED(status));
		assert_int_equal(WEXITSTATUS(status), 0);
	}
}

static void a_second_server_on_the_same_folder_is_refused(void **state)
{
	struct shell *s = *state;
	pid_t child = start(s, "first.log");
	int status;

	run(s, "", "serve --port 0 --data plant");
	kill(child, SIGTERM);
	waitpid(child, &status, 0);
	expect(s, 1, "another loopledger serves plant already");
}

static void a_plant_is_never_mixed_with_the_demo(void **state)
{
	struct shell *s = *state;

	run(s, "quiet brass 7", "person add tessa Tessa technician --data plant");
	run(s, "", "serve --demo --port 0 --data plant");
	expect(s, 1, "no demo");
	run(s, "", "ledger verify --data plant");
	expect(s, 0, "1 entry, unbroken");
}

#define T(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		T(what_cannot_be_understood_exits_with_2_and_says_why),
		T(a_fault_in_the_file_names_its_line),
		T(the_command_line_wins_over_the_file),
		T(help_names_every_setting_with_its_default),
		T(compute_answers_on_standard_output),
		T(a_bad_document_exits_with_2_and_points_at_the_member),
		T(accounts_are_made_without_a_browser),
		T(an_account_keeps_the_rules),
		T(the_ledger_is_verified_from_outside),
		T(a_file_that_is_no_certificate_is_called_so),
		T(it_stops_cleanly_when_told_to),
		T(a_second_server_on_the_same_folder_is_refused),
		T(a_plant_is_never_mixed_with_the_demo),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
