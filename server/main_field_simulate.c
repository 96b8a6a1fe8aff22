/* field simulate: the demo plant's instruments on this machine, until a signal ends it. */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "field/sim_demo.h"
#include "main.h"

static enum status set_number(const char *name, const char *text, double low, double high, bool whole, double *out,
			      struct err *err)
{
	char *end;

	*out = strtod(text, &end);
	/* Asked this way round, what is no number is refused. */
	if (end == text || *end || !(*out >= low && *out <= high) ||
	    (whole && strspn(text, "0123456789") != strlen(text)))
		return err_set(err, INVALID, "", "%s must be a %snumber from %.10g to %.10g, not \"%s\"", name,
			       whole ? "whole " : "", low, high, text);
	return OK;
}

static enum status understand(int n, char **words, double *port, double *seed, double *speed, struct err *err)
{
	enum status rc = OK;

	for (int i = 0; i < n && !rc; i += 2) {
		const char *value = i + 1 < n ? words[i + 1] : "";

		if (!strcmp(words[i], "--port-base"))
			rc = set_number(words[i], value, 0, 65500, true, port, err);
		else if (!strcmp(words[i], "--seed"))
			rc = set_number(words[i], value, 0, 4294967295.0, true, seed, err);
		else if (!strcmp(words[i], "--speed"))
			rc = set_number(words[i], value, 0.01, 1000, false, speed, err);
		else
			rc = err_set(err, INVALID, "", "field simulate knows --port-base, --seed and --speed, not %s",
				     words[i]);
	}
	return rc;
}

static void print_table(const struct sim_demo *d)
{
	const struct sim_demo_row *rows;
	size_t n = sim_demo_rows(d, &rows);

	puts("Simulated instruments of Brackenholm Water Works. Nothing here reaches a real device.\n");
	printf("%-9s %-38s %s\n", "TAG", "WHAT", "READ IT WITH");
	for (size_t i = 0; i < n; i++) {
		if (*rows[i].line)
			printf("%-9s %-38s loopledger field read %s %s %s\n", rows[i].tag, rows[i].what,
			       rows[i].protocol, rows[i].line, rows[i].example);
		else if (rows[i].port)
			printf("%-9s %-38s loopledger field read %s 127.0.0.1:%d %s\n", rows[i].tag, rows[i].what,
			       rows[i].protocol, rows[i].port, rows[i].example);
	}
	puts("\nCtrl-C ends it.");
	fflush(stdout);
}

int main_field_simulate(int n, char **words)
{
	double port = 9500, seed = 1, speed = 1;
	struct sim_demo *demo = NULL;
	struct err err = {0};
	sigset_t ends;
	int got;
	enum status rc = understand(n, words, &port, &seed, &speed, &err);

	/* Blocked before the devices' thread begins, so that a signal comes here. */
	sigemptyset(&ends);
	sigaddset(&ends, SIGINT);
	sigaddset(&ends, SIGTERM);
	sigaddset(&ends, SIGHUP);
	pthread_sigmask(SIG_BLOCK, &ends, NULL);
	if (!rc)
		rc = sim_demo_start(&demo, (int)port, (uint64_t)seed, speed, &err);
	if (rc)
		return main_fail(&err);
	print_table(demo);
	sigwait(&ends, &got);
	sim_demo_stop(demo);
	return EXIT_SUCCESS;
}
