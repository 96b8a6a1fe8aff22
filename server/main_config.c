/* The settings: one row each, which makes it an option, a key of the file and a line of --help. */
#include <errno.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "domain/ledger.h"
#include "main.h"

enum kind { TEXT, NUMBER, FLAG };

static const struct setting {
	const char *name;
	size_t offset;
	enum kind kind;
	int low, high, absent; /* NUMBER */
	const char *argument, *help;
} settings[] = {
	{"config", offsetof(struct config, config), TEXT, 0, 0, 0, "FILE", "read settings from this file (none)"},
	{"listen", offsetof(struct config, listen), TEXT, 0, 0, 0, "ADDRESS",
	 "IPv4 or IPv6 address to answer at (127.0.0.1: this machine alone)"},
	{"port", offsetof(struct config, port), NUMBER, 0, 65535, 8470, "N", "TCP port, 0 picks a free one"},
	{"data", offsetof(struct config, data), TEXT, 0, 0, 0, "DIR",
	 "folder of the plant's file (loopledger in $XDG_DATA_HOME or ~/.local/share; with --demo loopledger-demo)"},
	{"demo", offsetof(struct config, demo), FLAG, 0, 1, 0, "",
	 "the invented plant Brackenholm Water Works, to try things out"},
	{"host", offsetof(struct config, host), TEXT, 0, 0, 0, "NAMES",
	 "names, separated by commas, under which browsers may ask besides the address and localhost (none)"},
	{"tls-certificate", offsetof(struct config, tls_certificate), TEXT, 0, 0, 0, "FILE",
	 "PEM certificate chain, for https (none)"},
	{"tls-key", offsetof(struct config, tls_key), TEXT, 0, 0, 0, "FILE",
	 "PEM private key of the certificate (none)"},
	{"seal-passphrase-file", offsetof(struct config, seal_passphrase_file), TEXT, 0, 0, 0, "FILE",
	 "passphrase of the seal's key, in its first line (LOOPLEDGER_SEAL_PASSPHRASE, else none)"},
	{"seal-pkcs12", offsetof(struct config, seal_pkcs12), TEXT, 0, 0, 0, "FILE",
	 "the company's key and certificate to seal with (a seal of the plant's own)"},
	{"seal-module", offsetof(struct config, seal_module), TEXT, 0, 0, 0, "FILE",
	 "library of a PKCS#11 device that holds the key (none)"},
	{"seal-token", offsetof(struct config, seal_token), TEXT, 0, 0, 0, "URI",
	 "the key on the device, pkcs11:token=...;object=... (none)"},
	{"seal-pin-file", offsetof(struct config, seal_pin_file), TEXT, 0, 0, 0, "FILE",
	 "PIN of the device, in its first line (LOOPLEDGER_SEAL_PIN, else none)"},
	{"seal-certificate", offsetof(struct config, seal_certificate), TEXT, 0, 0, 0, "FILE",
	 "PEM certificate and chain of the key on the device (the one on it)"},
	{"seal-roots", offsetof(struct config, seal_roots), TEXT, 0, 0, 0, "FILE",
	 "PEM roots under which a seal is this plant's too (none)"},
	{"stamp-roots", offsetof(struct config, stamp_roots), TEXT, 0, 0, 0, "FILE",
	 "PEM roots of the time stamp authorities to believe (none)"},
	{"unsealed", offsetof(struct config, unsealed), FLAG, 0, 1, 0, "",
	 "issue certificates without a seal; each says so on its face"},
	{"threads", offsetof(struct config, threads), NUMBER, 1, 16, 4, "N", "threads that answer reads"},
	{"readers", offsetof(struct config, readers), NUMBER, 1, 16, 4, "N",
	 "connections that read the plant's file at the same time"},
	{"idle-minutes", offsetof(struct config, idle_minutes), NUMBER, 1, 10080, 120, "N",
	 "sign out who has not done anything for this long"},
	{"session-hours", offsetof(struct config, session_hours), NUMBER, 1, 720, 12, "N",
	 "sign out after this long in any case"},
	{"static", offsetof(struct config, static_dir), TEXT, 0, 0, 0, "DIR",
	 "serve pages from this folder, for work on them (those built in)"},
};

#define SETTINGS (sizeof settings / sizeof *settings)

static const struct setting *find(const char *name, size_t length)
{
	for (size_t i = 0; i < SETTINGS; i++) {
		if (strlen(settings[i].name) == length && !memcmp(settings[i].name, name, length))
			return &settings[i];
	}
	return NULL;
}

static char **text_of(struct config *c, const struct setting *s)
{
	return (char **)(void *)((char *)c + s->offset);
}

static int *number_of(struct config *c, const struct setting *s)
{
	return (int *)(void *)((char *)c + s->offset);
}

static enum status set_number(struct config *c, const struct setting *s, const char *value, struct err *err)
{
	char *end;
	long n = strtol(value, &end, 10);

	if (*value < '0' || *value > '9' || *end || n < s->low || n > s->high)
		return err_set(err, INVALID, "", "%s must be a whole number from %d to %d, not \"%s\"", s->name, s->low,
			       s->high, value);
	*number_of(c, s) = (int)n;
	return OK;
}

static enum status set_flag(struct config *c, const struct setting *s, const char *value, struct err *err)
{
	if (strcmp(value, "yes") != 0 && strcmp(value, "no") != 0)
		return err_set(err, INVALID, "", "%s must be yes or no, not \"%s\"", s->name, value);
	*number_of(c, s) = !strcmp(value, "yes");
	return OK;
}

static enum status set(struct config *c, const struct setting *s, const char *value, struct err *err)
{
	char *copy;

	if (s->kind == NUMBER)
		return set_number(c, s, value, err);
	if (s->kind == FLAG)
		return set_flag(c, s, value, err);
	if (!*value)
		return err_set(err, INVALID, "", "%s needs a value", s->name);
	copy = strdup(value);
	if (!copy)
		return err_set(err, NO_MEMORY, "", "out of memory");
	free(*text_of(c, s));
	*text_of(c, s) = copy;
	return OK;
}

/* ---- the file ---- */

static char *trim(char *s)
{
	char *end;

	while (*s == ' ' || *s == '\t')
		s++;
	end = s + strlen(s);
	while (end > s && (end[-1] == ' ' || end[-1] == '\t' || end[-1] == '\n' || end[-1] == '\r'))
		*--end = '\0';
	return s;
}

static enum status read_line(struct config *c, char *line, struct err *err)
{
	const struct setting *s;
	char *equals;

	line = trim(line);
	if (!*line || *line == '#')
		return OK;
	equals = strchr(line, '=');
	if (!equals)
		return err_set(err, INVALID, "", "name=value is expected");
	*equals = '\0';
	trim(line);
	s = find(line, strlen(line));
	if (!s || !strcmp(s->name, "config"))
		return err_set(err, INVALID, "", "there is no setting \"%s\"", line);
	return set(c, s, trim(equals + 1), err);
}

static enum status read_file(struct config *c, const char *path, struct err *err)
{
	FILE *file = fopen(path, "re");
	struct err why = {0};
	char *line = NULL;
	size_t room = 0;
	int number = 0;
	enum status rc = OK;

	if (!file)
		return err_set(err, INVALID, "", "%s cannot be read: %s", path, strerror(errno));
	while (!rc && getline(&line, &room, file) >= 0) {
		number++;
		rc = read_line(c, line, &why);
	}
	if (rc)
		err_set(err, rc, "", "%s, line %d: %s", path, number, why.message);
	free(line);
	fclose(file);
	return rc;
}

/* ---- the command line ---- */

/* Sets from argv[*i], which begins with --, and moves on over a value of its own. */
static enum status set_option(struct config *c, int argc, char **argv, int *i, struct err *err)
{
	const char *name = argv[*i] + 2;
	size_t length = strcspn(name, "=");
	const struct setting *s = find(name, length);

	if (!s)
		return err_set(err, INVALID, "", "there is no option %s; loopledger --help lists them", argv[*i]);
	if (name[length] == '=')
		return set(c, s, name + length + 1, err);
	if (s->kind == FLAG)
		return set(c, s, "yes", err);
	if (*i + 1 == argc)
		return err_set(err, INVALID, "", "--%s needs a value", s->name);
	return set(c, s, argv[++*i], err);
}

static enum status read_arguments(struct config *c, int argc, char **argv, const char **words, int max, int *n,
				  struct err *err)
{
	enum status rc = OK;

	*n = 0;
	for (int i = 1; i < argc && !rc; i++) {
		if (!strncmp(argv[i], "--", 2))
			rc = set_option(c, argc, argv, &i, err);
		else if (*n == max)
			rc = err_set(err, INVALID, "", "too many words: %s", argv[i]);
		else
			words[(*n)++] = argv[i];
	}
	return rc;
}

static void set_defaults(struct config *c)
{
	for (size_t i = 0; i < SETTINGS; i++) {
		if (settings[i].kind != TEXT)
			*number_of(c, &settings[i]) = settings[i].absent;
	}
}

/* The command line is read twice: for the name of the file, and again over what stands in it. */
enum status config_read(struct config *c, int argc, char **argv, const char **words, int max, int *n, struct err *err)
{
	struct config first = {0};
	enum status rc = read_arguments(&first, argc, argv, words, max, n, err);

	set_defaults(c);
	if (!rc && first.config)
		rc = read_file(c, first.config, err);
	if (!rc)
		rc = read_arguments(c, argc, argv, words, max, n, err);
	if (!rc && !c->tls_certificate != !c->tls_key)
		rc = err_set(err, INVALID, "", "tls-certificate and tls-key go together");
	if (!rc && !c->seal_module != !c->seal_token)
		rc = err_set(err, INVALID, "", "seal-module and seal-token go together");
	if (!rc && c->seal_module && c->seal_pkcs12)
		rc = err_set(err, INVALID, "", "seal-pkcs12 and seal-module exclude each other");
	config_clear(&first);
	return rc;
}

void config_clear(struct config *c)
{
	for (size_t i = 0; i < SETTINGS; i++) {
		if (settings[i].kind == TEXT)
			free(*text_of(c, &settings[i]));
	}
	*c = (struct config){0};
}

void config_print_help(void)
{
	for (size_t i = 0; i < SETTINGS; i++) {
		char option[40];

		snprintf(option, sizeof option, "--%s %s", settings[i].name, settings[i].argument);
		printf("  %-29s %s", option, settings[i].help);
		if (settings[i].kind == NUMBER)
			printf(" (%d)", settings[i].absent);
		puts(settings[i].kind == FLAG ? "; in the file demo=yes (no)" : "");
	}
}

/* ---- the plant's folder ---- */

char *config_folder(const struct config *c)
{
	const char *home = getenv("HOME"), *share = getenv("XDG_DATA_HOME"),
		   *name = c->demo ? "loopledger-demo" : "loopledger";
	char *folder = NULL;
	int rc;

	if (c->data)
		return strdup(c->data);
	if (share && *share == '/')
		rc = asprintf(&folder, "%s/%s", share, name);
	else
		rc = asprintf(&folder, "%s/.local/share/%s", home ? home : ".", name);
	return rc < 0 ? NULL : folder;
}

/* With the folders above it, for the owner alone. */
static bool make_folder(char *path)
{
	for (char *p = path + 1; *p; p++) {
		if (*p != '/')
			continue;
		*p = '\0';
		mkdir(path, 0700); /* it may be there; the last one tells */
		*p = '/';
	}
	return !mkdir(path, 0700) || errno == EEXIST;
}

enum status config_plant_file(const struct config *c, bool make, char **path, struct err *err)
{
	char *folder = config_folder(c);
	enum status rc = OK;

	*path = NULL;
	if (!folder || asprintf(path, "%s/plant.db", folder) < 0) {
		*path = NULL;
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	} else if (make && !make_folder(folder)) {
		rc = err_set(err, FAILED, "", "the folder %s cannot be made: %s", folder, strerror(errno));
	} else if (!make && access(*path, F_OK) != 0) {
		rc = err_set(err, NOT_FOUND, "", "there is no plant in %s; --data names another folder", folder);
	}
	free(folder);
	return rc;
}

/* plant.db, and ledger.key beside it. */
enum status main_open(const struct config *c, bool make, struct store **out, struct err *err)
{
	char *path, *folder = config_folder(c), *key = NULL;
	enum status rc = config_plant_file(c, make, &path, err);

	if (!rc && (!folder || asprintf(&key, "%s/ledger.key", folder) < 0)) {
		key = NULL;
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	}
	if (!rc)
		rc = store_open(out, path, c->readers, err);
	if (!rc)
		rc = ledger_open(*out, key, err);
	free(path);
	free(folder);
	free(key);
	return rc;
}
