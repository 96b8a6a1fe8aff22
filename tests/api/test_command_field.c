/* "loopledger field" as it is called: what it refuses, and a reading of the simulated plant. */
#include "support/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

struct shell {
	int status;
	char out[8192];
};

static void run(struct shell *s, const char *arguments)
{
	char command[1000];
	FILE *pipe;
	size_t n;
	int status;

	snprintf(command, sizeof command, "timeout 20 '" LOOPLEDGER "' 2>&1 field %s", arguments);
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

static void what_cannot_be_understood_exits_with_2_and_says_why(void **state)
{
	static const struct {
		const char *arguments, *said;
	} cases[] = {
		{"", "field read PROTOCOL ADDRESS"},
		{"write", "field read PROTOCOL ADDRESS"},
		{"read", "field read PROTOCOL ADDRESS"},
		{"read hart-tcp", "field read PROTOCOL ADDRESS"},
		{"read hart 127.0.0.1", "PROTOCOL is hart-udp, hart-tcp"},
		{"read hart-tcp 127.0.0.1:0", "the port after the colon must be a whole number from 1 to 65535"},
		{"read hart-tcp 127.0.0.1:65536", "the port after the colon"},
		{"read hart-tcp 127.0.0.1: pv", "the port after the colon"},
		{"read hart-tcp ''", "ADDRESS must have 1 to 127 characters"},
		{"read hart-tcp 127.0.0.1 travel", "one of: current, percent, pv"},
		{"read hart-tcp 127.0.0.1 pv pv", "too many words: pv"},
		{"read hart-tcp 127.0.0.1 --address", "--address needs a value"},
		{"read hart-tcp 127.0.0.1 --address 248", "--address must be a whole number from 0 to 247"},
		{"read hart-tcp 127.0.0.1 --address 64", "a HART poll address is 0 to 63"},
		{"read hart-tcp 127.0.0.1 --factor 0", "--factor must be a number other than 0"},
		{"read hart-tcp 127.0.0.1 --factor nan", "--factor must be a number other than 0"},
		{"read hart-tcp 127.0.0.1 --timeout 60001", "--timeout must be a whole number from 1 to 60000"},
		{"read hart-tcp 127.0.0.1 --parity X", "--parity is N, E or O"},
		{"read hart-tcp 127.0.0.1 --color red", "field read has no option --color"},
		{"read modbus-tcp 127.0.0.1 0 --format f64", "one of: f32-abcd, f32-cdab"},
		{"read modbus-tcp 127.0.0.1 0 --scale 0,4000,0", "--scale is RAW_LOW,RAW_HIGH,LOW,HIGH"},
		{"read modbus-tcp 127.0.0.1 0 --scale 0,4000,0,1,2", "--scale is RAW_LOW,RAW_HIGH,LOW,HIGH"},
		{"read modbus-tcp 127.0.0.1 0 --scale 0,nan,0,1", "--scale is RAW_LOW,RAW_HIGH,LOW,HIGH"},
		{"read modbus-tcp 127.0.0.1 0 --scale 0,4000,0,1", "only whole numbers are scaled"},
		{"read modbus-rtu /dev/null 0 --address 0", "a unit on a line is 1 to 247"},
		{"read modbus-rtu /dev/null 0 --baud 9601", "one of 1200, 2400, 4800"},
		{"read modbus-tcp 127.0.0.1 70000", "the register must be a whole number from 0 to 65535"},
		{"simulate --port-base 70000", "--port-base must be a whole number from 0 to 65500"},
		{"simulate --port-base 9.5", "--port-base must be a whole number"},
		{"simulate --port-base", "--port-base must be a whole number"},
		{"simulate --seed -1", "--seed must be a whole number"},
		{"simulate --speed 0", "--speed must be a number from 0.01 to 1000"},
		{"simulate --speed nan", "--speed must be a number"},
		{"simulate now", "field simulate knows --port-base, --seed and --speed, not now"},
	};
	struct shell s;

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		run(&s, cases[i].arguments);
		expect(&s, 2, cases[i].said);
	}
}

static void where_nothing_answers_it_says_so_and_exits_with_1(void **state)
{
	struct shell s;

	(void)state;
	run(&s, "read hart-tcp 127.0.0.1:1 pv");
	expect(&s, 1, "HART-IP device at 127.0.0.1");
	run(&s, "read hart-udp 127.0.0.1:1 pv --timeout 100");
	expect(&s, 1, "no answer within the time");
	run(&s, "read hart-serial /dev/there-is-none pv");
	expect(&s, 1, "/dev/there-is-none");
}

/* The simulated plant, on free ports. */
struct plant {
	pid_t pid;
	FILE *out;
	char table[4096];
};

static void start(struct plant *p, const char *seed)
{
	int ends[2];
	size_t n = 0;

	assert_int_equal(pipe(ends), 0);
	p->pid = fork();
	assert_true(p->pid >= 0);
	if (p->pid == 0) {
		alarm(60); /* whatever happens to the test, it ends */
		dup2(ends[1], STDOUT_FILENO);
		close(ends[0]);
		execl(LOOPLEDGER, "loopledger", "field", "simulate", "--port-base", "0", "--seed", seed, (char *)NULL);
		_exit(127);
	}
	close(ends[1]);
	p->out = fdopen(ends[0], "r");
	assert_non_null(p->out);
	while (n < sizeof p->table - 100 && fgets(p->table + n, 100, p->out) && !strstr(p->table, "Ctrl-C"))
		n += strlen(p->table + n);
	assert_non_null(strstr(p->table, "Ctrl-C"));
}

static void stop(struct plant *p)
{
	int status;

	assert_int_equal(kill(p->pid, SIGTERM), 0);
	assert_int_equal(waitpid(p->pid, &status, 0), p->pid);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
	fclose(p->out);
}

/* What the table says to type for this tag and protocol, behind "loopledger field". */
static void command_of(const struct plant *p, const char *tag, const char *protocol, char out[200])
{
	char line[200];

	for (const char *at = p->table; at; at = strchr(at, '\n')) {
		const char *command;

		at += *at == '\n';
		snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
		command = strstr(line, "loopledger field ");
		if (strncmp(line, tag, strlen(tag)) != 0 || !command || !strstr(command, protocol))
			continue;
		snprintf(out, 200, "%s", command + strlen("loopledger field "));
		return;
	}
	fail_msg("%s with %s is not in the table:\n%s", tag, protocol, p->table);
}

static double value_of(const struct shell *s)
{
	const char *at = strstr(s->out, "value ");

	assert_non_null(at);
	return strtod(at + 6, NULL);
}

/* What the demo plant's register says: FCV-2107 is shut at 4 mA, the delivery main stands between 5.8 and 6.6 bar. */
static void each_line_of_the_simulated_plants_table_reads_as_it_says(void **state)
{
	static const struct {
		const char *tag, *protocol, *unit;
		double low, high;
	} rows[] = {
		{"FCV-2107", "hart-udp", " %\n", -0.5, 2},     {"FCV-2107", "hart-tcp", " %\n", -0.5, 2},
		{"PT-4101", "hart-udp", " bar\n", 5.7, 6.7},   {"PT-4101", "hart-tcp", " bar\n", 5.7, 6.7},
		{"PT-2109", "hart-udp", " kPa\n", 34, 42},     {"TT-4111", "hart-tcp", " °C\n", 29, 33},
		{"LT-1103", "hart-udp", " kPa\n", 31.5, 34.5}, {"PL-01", "modbus-tcp", " kPa\n", 34, 42},
	};
	struct plant plant;
	struct shell s;

	(void)state;
	start(&plant, "1");
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char command[200];

		command_of(&plant, rows[i].tag, rows[i].protocol, command);
		run(&s, command);
		expect(&s, 0, rows[i].unit);
		expect(&s, 0, "status   good\n");
		if (value_of(&s) < rows[i].low || value_of(&s) > rows[i].high)
			print_error("%s", s.out);
		assert_true(value_of(&s) >= rows[i].low && value_of(&s) <= rows[i].high);
		/* A register has no tag in its device. */
		expect(&s, 0, strcmp(rows[i].tag, "PL-01") ? rows[i].tag : "PM-100k");
	}
	stop(&plant);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_cannot_be_understood_exits_with_2_and_says_why),
		cmocka_unit_test(where_nothing_answers_it_says_so_and_exits_with_1),
		cmocka_unit_test(each_line_of_the_simulated_plants_table_reads_as_it_says),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
