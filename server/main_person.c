/* person: accounts from the command line, for who has the machine but no account. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "base/json.h"
#include "domain/password.h"
#include "domain/person.h"
#include "main.h"

static const struct actor command_line = {.name = "command line"};

/* A change that runs on the writer. */
struct change {
	struct person person;
	const char *sign_in, *hash;
	struct arena arena;
};

/* One line from standard input, at a terminal after a prompt and without echo. */
static enum status ask(const char *prompt, char **out, struct err *err)
{
	bool terminal = isatty(STDIN_FILENO);
	struct termios before, silent;
	size_t room = 0;
	ssize_t n;

	*out = NULL;
	if (terminal && !tcgetattr(STDIN_FILENO, &before)) {
		fputs(prompt, stderr);
		silent = before;
		silent.c_lflag &= ~(tcflag_t)ECHO;
		tcsetattr(STDIN_FILENO, TCSAFLUSH, &silent);
	}
	n = getline(out, &room, stdin);
	if (terminal) {
		tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
		fputc('\n', stderr);
	}
	if (n > 0 && (*out)[n - 1] == '\n')
		(*out)[--n] = '\0';
	return n > 0 ? OK : err_set(err, INVALID, "", "a password is needed on standard input");
}

/* Asked twice at a terminal, where nobody sees what he types. *out is owned by the caller. */
static enum status ask_password(char **out, struct err *err)
{
	char *again = NULL;
	enum status rc = ask("Password: ", out, err);

	if (rc || !isatty(STDIN_FILENO))
		return rc;
	rc = ask("Again: ", &again, err);
	if (!rc && strcmp(*out, again) != 0)
		rc = err_set(err, INVALID, "", "the two passwords differ");
	free(again);
	return rc;
}

/* ---- add ---- */

static enum status add_job(struct db *db, void *context, struct err *err)
{
	struct change *c = context;

	return person_add(db, &command_line, &c->person, &c->arena, err);
}

static json_t *person_document(const char *sign_in, const char *name, const char *roles, const char *password)
{
	return json_pack("{s:s, s:s, s:o, s:s}", "sign_in", sign_in, "name", name, "roles",
			 person_roles_to_json(person_roles_from_text(roles)), "password", password);
}

static enum status add(struct store *store, const char **words, struct change *c, struct err *err)
{
	const char *unused;
	char *password = NULL;
	json_t *document = NULL;
	enum status rc = ask_password(&password, err);

	if (!rc) {
		document = person_document(words[0], words[1], words[2], password);
		rc = document ? person_from_json(document, &c->person, &unused, &c->arena, err) :
				err_set(err, INVALID, "", "this is no UTF-8 text");
	}
	if (!rc)
		rc = password_hash(password, &c->arena, &c->person.password_hash, err);
	if (!rc)
		rc = store_write(store, add_job, c, err);
	json_decref(document);
	free(password);
	return rc;
}

/* ---- password ---- */

static enum status password_job(struct db *db, void *context, struct err *err)
{
	struct change *c = context;
	enum status rc = store_person_by_sign_in(db, c->sign_in, &c->arena, &c->person, err);

	return rc ? rc : person_set_password(db, &command_line, c->person.id, c->hash, &c->arena, err);
}

static enum status check_password(const char *password, struct err *err)
{
	json_t *document = json_pack("{s:s}", "password", password);
	struct json_in in;
	enum status rc;

	json_in_begin(&in, document, err);
	person_password(&in, "password");
	rc = json_in_end(&in);
	json_decref(document);
	return rc;
}

static enum status set_password(struct store *store, const char **words, struct change *c, struct err *err)
{
	char *password = NULL;
	enum status rc = ask_password(&password, err);

	c->sign_in = words[0];
	if (!rc)
		rc = check_password(password, err);
	if (!rc)
		rc = password_hash(password, &c->arena, &c->hash, err);
	if (!rc)
		rc = store_write(store, password_job, c, err);
	free(password);
	return rc;
}

/* ---- list ---- */

void main_print_person(const struct person *p)
{
	printf("  %-20s %s%s (", p->sign_in, p->name, p->active ? "" : ", no longer active");
	for (int role = ROLE_TECHNICIAN, first = 1; role <= ROLE_ADMINISTRATOR; role <<= 1) {
		if (!(p->roles & role))
			continue;
		printf("%s%s", first ? "" : ", ", role_word((enum role)role));
		first = 0;
	}
	puts(")");
}

static enum status list(struct store *store, const char **words, struct change *c, struct err *err)
{
	struct db *db = store_read_begin(store);
	struct person *people;
	size_t n = 0;
	enum status rc = store_person_list(db, &c->arena, &people, &n, err);

	(void)words;
	store_read_end(store, db);
	for (size_t i = 0; i < n; i++)
		main_print_person(&people[i]);
	return rc;
}

static const struct {
	const char *name;
	int words; /* after the name */
	bool make; /* makes an empty plant where there is none */
	enum status (*run)(struct store *store, const char **words, struct change *c, struct err *err);
} commands[] = {
	{"add", 3, true, add},
	{"password", 1, false, set_password},
	{"list", 0, false, list},
};

int main_person(const struct config *c, int n, const char **words)
{
	struct change change = {0};
	struct store *store = NULL;
	struct err err = {0};
	enum status rc = err_set(&err, INVALID, "",
				 "loopledger person list, add SIGN-IN NAME ROLES, or password SIGN-IN");

	for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
		if (n < 1 || strcmp(commands[i].name, words[0]) != 0 || n - 1 != commands[i].words)
			continue;
		rc = main_open(c, commands[i].make, &store, &err);
		if (!rc)
			rc = commands[i].run(store, words + 1, &change, &err);
	}
	store_close(store);
	arena_clear(&change.arena);
	return rc ? main_fail(&err) : EXIT_SUCCESS;
}
