/* The documents that the fuzz targets keep, each through its target: all that was ever found stays found. */
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fuzz.h"

static char *read_file(const char *folder, const char *name, size_t *size)
{
	char path[1024], *text = malloc(1 << 20);
	FILE *file;

	snprintf(path, sizeof path, "%s/%s", folder, name);
	file = fopen(path, "rb");
	assert_non_null(text);
	assert_non_null(file);
	*size = fread(text, 1, 1 << 20, file);
	fclose(file);
	/* Exactly as long as the document, so that reading beyond it shows. */
	return realloc(text, *size ? *size : 1);
}

static void every_kept_document_keeps_the_promises(void **state)
{
	const struct fuzz_target *target = *state;
	char folder[500], *text;
	struct dirent *entry;
	int documents = 0;
	size_t size;
	DIR *dir;

	snprintf(folder, sizeof folder, CORPUS "/%s", target->name);
	dir = opendir(folder);
	assert_non_null(dir);
	while ((entry = readdir(dir))) {
		if (entry->d_name[0] == '.')
			continue;
		text = read_file(folder, entry->d_name, &size);
		target->run(text, size);
		free(text);
		documents++;
	}
	closedir(dir);
	assert_true(documents > 10);
}

int main(void)
{
	struct CMUnitTest tests[16];
	size_t n = 0;

	for (; fuzz_targets[n].name; n++)
		tests[n] = (struct CMUnitTest){.name = fuzz_targets[n].name,
					       .test_func = every_kept_document_keeps_the_promises,
					       .initial_state = (void *)&fuzz_targets[n]};
	return _cmocka_run_group_tests("kept documents", tests, n, NULL, NULL);
}
