/*
 * guard: started by the server before it drives a source, and of no use to anybody else. It waits until the server says that all
 * is well; when the server is gone without a word, it brings the source to its safe value.
 */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "domain/channel.h"
#include "main.h"

#define TRIES 60

static enum status read_config(struct field_config *out, struct err *err)
{
	char line[4096];
	struct json_in in;
	json_t *json;

	if (!fgets(line, sizeof line, stdin))
		return err_set(err, INVALID, "", "a guard is started by the server alone");
	json = json_parse(line, strlen(line), err);
	if (!json)
		return INVALID;
	json_in_begin(&in, json, err);
	channel_source_read(&in, out);
	json_decref(json);
	return in.rc;
}

static int make_safe(const struct field_config *config)
{
	for (int i = 0; i < TRIES; i++) {
		struct field_source *source = NULL;
		struct err err = {0};
		enum status rc = field_open(&source, config, &err);

		if (!rc)
			rc = field_safe(source, &err);
		field_close(source);
		if (!rc) {
			log_warn("the server is gone: its source was brought to the safe value, %g %s", config->safe,
				 config->unit);
			return EXIT_SUCCESS;
		}
		log_error("the server is gone, and the source does not take its safe value: %s", err.message);
		sleep(1);
	}
	return EXIT_FAILURE;
}

int main_guard(void)
{
	struct field_config config;
	struct err err = {0};
	char word[16] = "";

	signal(SIGINT, SIG_IGN); /* what ends the server at the keyboard must not end its guard */
	signal(SIGTERM, SIG_IGN);
	signal(SIGHUP, SIG_IGN);
	signal(SIGPIPE, SIG_IGN);
	setsid();
	if (read_config(&config, &err))
		return main_fail(&err);
	if (fgets(word, sizeof word, stdin) && !strncmp(word, "done", 4))
		return EXIT_SUCCESS;
	return make_safe(&config);
}
