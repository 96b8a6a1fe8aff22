/*
 * Targets that take any bytes: each goes the whole way from a document to the JSON of its answer and aborts, saying why,
 * when the answer breaks a promise. main_fuzz.c hands them to libFuzzer, test_corpus.c replays the kept documents.
 */
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include <jansson.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

struct fuzz_target {
	const char *name; /* of its corpus and its dictionary too */
	void (*run)(const char *text, size_t size);
};

extern const struct fuzz_target fuzz_targets[]; /* the last has no name */
const struct fuzz_target *fuzz_target_find(const char *name);

void fuzz_certificate_file(const char *bytes, size_t size); /* fuzz_certificate_file.c */
void fuzz_json(const char *text, size_t size);		    /* fuzz_json.c */
void fuzz_hart(const char *bytes, size_t size);		    /* fuzz_hart.c */
void fuzz_modbus(const char *bytes, size_t size);	    /* fuzz_modbus.c */
void fuzz_scpi(const char *bytes, size_t size);		    /* fuzz_scpi.c */

/* Ends the program with the sentence unless what is promised holds. */
void promise(int holds, const char *sentence);
/* A refusal: INVALID, a clean sentence, a pointer whose parent is in the document (NULL: no pointer at all). */
void promise_refusal(enum status rc, const struct err *err, json_t *document);
/* Canonical text that reads back as the same; the caller frees it. */
char *promise_canonical(const json_t *json);

/* What must hold between the members of an answer of this kind; answers.c. */
void promise_of_kind(const char *kind, const json_t *answer);

/* Changes one value, name or element of a JSON document; 0 when the text is none. Same arguments as libFuzzer's own. */
size_t mutate_json(uint8_t *data, size_t size, size_t max_size, unsigned int seed);

#endif
