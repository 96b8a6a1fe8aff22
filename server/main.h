/* Between the files of the main program. */
#ifndef SERVER_MAIN_H
#define SERVER_MAIN_H

#include <stdbool.h>
#include "base/status.h"
#include "report/issue.h"
#include "store/person.h"
#include "store/store.h"

#define EXIT_USAGE 2 /* the command line, or the document, cannot be understood */

struct config {
	/* owned; NULL where nothing is set */
	char *config, *listen, *data, *host, *tls_certificate, *tls_key, *static_dir;
	char *seal_passphrase_file, *seal_pkcs12, *seal_module, *seal_token, *seal_pin_file, *seal_certificate,
		*seal_roots, *stamp_roots;
	int port, threads, readers, idle_minutes, session_hours;
	int demo, unsealed; /* 0 or 1 */
};

/*
 * Defaults, then the file named by --config, then the command line. What stands on it without a dash goes to words, a list of
 * at most max. INVALID with a sentence that names the option or the line.
 */
enum status config_read(struct config *c, int argc, char **argv, const char **words, int max, int *n, struct err *err);
void config_clear(struct config *c);
void config_print_help(void); /* every setting with its default, one a line */

/* The folder of the plant's file: as set, else in the user's own data folder. Owned by the caller; NULL for no memory. */
char *config_folder(const struct config *c);
/* Its plant.db, the folder made when make is true; NOT_FOUND when there is none and make is false. *path is owned by the caller. */
enum status config_plant_file(const struct config *c, bool make, char **path, struct err *err);
/* Opens it, with the key of its ledger. What is open after a failure is in *out: close it. */
enum status main_open(const struct config *c, bool make, struct store **out, struct err *err);

/* What certificates are issued and judged with, as the settings say; the caller's, issuer_free. */
enum status main_issuer(const struct config *c, struct issuer **out, struct err *err);

/* Looks once a minute what is due by the clock. NULL when it could not be started (logged). */
struct main_clock;
struct main_clock *main_clock_start(struct store *store, struct issuer *issuer);
void main_clock_stop(struct main_clock *c); /* NULL is allowed */

/* The commands; each gets the words after its own name, and returns the exit status. */
int main_serve(const struct config *c);
int main_compute(int n, const char **words);
int main_ledger(const struct config *c, int n, const char **words);
int main_person(const struct config *c, int n, const char **words);
int main_seal(const struct config *c, int n, const char **words);
int main_verify(const struct config *c, int n, const char **words);
int main_guard(void);
/* These have options of their own and need no settings. */
int main_field(int n, char **words);
int main_field_simulate(int n, char **words);

/* "  owen                 Owen Pike (lead)" */
void main_print_person(const struct person *p);

/* Prints the sentence to standard error. Returns EXIT_USAGE for INVALID, else EXIT_FAILURE. */
int main_fail(const struct err *err);

#endif
