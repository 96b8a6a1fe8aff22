/* Who may do what: the one table. */
#ifndef DOMAIN_PERMISSION_H
#define DOMAIN_PERMISSION_H

#include <stdbool.h>

/* A person's roles, added up. */
enum role { ROLE_TECHNICIAN = 1, ROLE_LEAD = 2, ROLE_AUDITOR = 4, ROLE_ADMINISTRATOR = 8 };

enum permission {
	PERM_PUBLIC, /* nobody needs to be signed in */
	PERM_VERIFY, /* see what is on file of one certificate; where the plant allows it, nobody needs to be signed in */
	PERM_SIGNED_IN, /* one's own session and password */
	PERM_VIEW,
	PERM_TEST,	 /* open, run and sign a test as performed */
	PERM_REVIEW,	 /* second signature, certificates, findings */
	PERM_MANAGE,	 /* register, procedures, standards, schedules */
	PERM_ADMINISTER, /* people and settings */
	PERMISSIONS
};

#define ROLES_ALL (ROLE_TECHNICIAN | ROLE_LEAD | ROLE_AUDITOR | ROLE_ADMINISTRATOR)

/* roles 0 is nobody, who holds PERM_PUBLIC alone. False for a number that is no permission. */
bool permission_granted(int roles, enum permission p);
const char *permission_word(enum permission p); /* "view", "test", ...; NULL for a number that is no permission */
const char *role_word(enum role r);		/* "technician", ...; NULL for a number that is no single role */

#endif
