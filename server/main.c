/* The command line: which command, and what it gets. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "main.h"

#define WORDS_MAX 8

static void print_help(void)
{
	puts("Loopledger, the test book of a process plant.\n"
	     "\n"
	     "  loopledger serve [SETTINGS]              open the book in a browser\n"
	     "  loopledger compute KIND                  one JSON document on standard input, the answer on standard output;\n"
	     "                                           KIND is evaluation, characteristic, points, fit,\n"
	     "                                           uncertainty, conformity, conversion or tolerance_class\n"
	     "  loopledger ledger verify [SETTINGS]      walk the history and say whether it is whole\n"
	     "  loopledger ledger accept REASON [SETTINGS]\n"
	     "                                           go on after a change from outside that was looked into\n"
	     "  loopledger person list [SETTINGS]        who may sign in\n"
	     "  loopledger person add SIGN-IN NAME ROLES [SETTINGS]\n"
	     "                                           ROLES: technician,lead,auditor,administrator; asks for a password\n"
	     "  loopledger person password SIGN-IN [SETTINGS]\n"
	     "                                           a new password for somebody who lost his\n"
	     "  loopledger seal show [SETTINGS]          whose seal certificates get, and until when\n"
	     "  loopledger seal renew [SETTINGS]         a new certificate for the plant's own seal, before the old one expires\n"
	     "  loopledger verify FILE [SETTINGS]        is this certificate (PDF or XML) sealed by the plant, unchanged, and\n"
	     "                                           does it still stand? Away from the plant with --seal-roots\n"
	     "  loopledger field read PROTOCOL ADDRESS [WHAT] [OPTIONS]\n"
	     "                                           one reading, with its status: is the wiring right? Records nothing\n"
	     "                                             hart-udp, hart-tcp  HOST[:PORT] [pv|sv|tv|qv|current|percent]\n"
	     "                                             hart-serial         /dev/ttyUSB0 [pv|...]\n"
	     "                                             scpi                HOST[:PORT] [QUERY] (MEAS:CURR:DC?)\n"
	     "                                             modbus-tcp          HOST[:PORT] [REGISTER] (0)\n"
	     "                                             modbus-rtu          /dev/ttyUSB0 [REGISTER]\n"
	     "                                           --address N (HART poll address 0, Modbus unit 1), --unit UNIT,\n"
	     "                                           --factor X, --function 3|4, --format f32-abcd|i16|u16|...,\n"
	     "                                           --scale RAW_LOW,RAW_HIGH,LOW,HIGH,\n"
	     "                                           --baud N, --parity N|E|O, --timeout MS\n"
	     "  loopledger field simulate [--port-base N] [--seed N] [--speed X]\n"
	     "                                           instruments of the demo plant on this machine, to try it out (9500, 1, 1)\n"
	     "  loopledger --version\n"
	     "  loopledger --help\n"
	     "\n"
	     "Settings, on the command line as --name VALUE, or as name=value in the file given by --config\n"
	     "(# begins a comment); the command line wins.\n");
	config_print_help();
	puts("\nExit status: 0 done, 1 failed, 2 the command line or the document cannot be understood.");
}

int main_fail(const struct err *err)
{
	fprintf(stderr, "loopledger: %s\n", err->message);
	return err->status == INVALID ? EXIT_USAGE : EXIT_FAILURE;
}

static int run(const struct config *c, int n, const char **words)
{
	struct err err = {0};

	if (n == 1 && !strcmp(words[0], "serve"))
		return main_serve(c);
	if (n == 1 && !strcmp(words[0], "guard"))
		return main_guard();
	if (n >= 1 && !strcmp(words[0], "compute"))
		return main_compute(n - 1, words + 1);
	if (n >= 1 && !strcmp(words[0], "ledger"))
		return main_ledger(c, n - 1, words + 1);
	if (n >= 1 && !strcmp(words[0], "person"))
		return main_person(c, n - 1, words + 1);
	if (n >= 1 && !strcmp(words[0], "seal"))
		return main_seal(c, n - 1, words + 1);
	if (n >= 1 && !strcmp(words[0], "verify"))
		return main_verify(c, n - 1, words + 1);
	err_set(&err, INVALID, "", "%s%s; loopledger --help lists the commands",
		n ? "unknown command: " : "a command is needed", n ? words[0] : "");
	return main_fail(&err);
}

int main(int argc, char **argv)
{
	const char *words[WORDS_MAX];
	struct config config = {0};
	struct err err = {0};
	int n, status;

	for (int i = 1; i < argc; i++) {
		if (!strcmp(argv[i], "--help") || !strcmp(argv[i], "-h")) {
			print_help();
			return EXIT_SUCCESS;
		}
		if (!strcmp(argv[i], "--version")) {
			puts("loopledger " LOOPLEDGER_VERSION);
			return EXIT_SUCCESS;
		}
	}
	if (argc > 1 && !strcmp(argv[1], "field"))
		return main_field(argc - 2, argv + 2);
	umask(077); /* the plant's data are its owner's alone */
	tzset();
	if (config_read(&config, argc, argv, words, WORDS_MAX, &n, &err))
		status = main_fail(&err);
	else
		status = run(&config, n, words);
	config_clear(&config);
	return status;
}
