#include "domain/permission.h"

#include <stddef.h>

/* One row a permission: the roles that hold it. Reading is everybody's; an administrator keeps accounts and does not sign. */
static const struct {
	const char *word;
	int roles;
} table[PERMISSIONS] = {
	[PERM_PUBLIC] = {"public", 0},
	[PERM_VERIFY] = {"verify", ROLES_ALL},
	[PERM_SIGNED_IN] = {"signed_in", ROLES_ALL},
	[PERM_VIEW] = {"view", ROLES_ALL},
	[PERM_TEST] = {"test", ROLE_TECHNICIAN | ROLE_LEAD},
	[PERM_REVIEW] = {"review", ROLE_LEAD},
	[PERM_MANAGE] = {"manage", ROLE_LEAD},
	[PERM_ADMINISTER] = {"administer", ROLE_ADMINISTRATOR},
};

bool permission_granted(int roles, enum permission p)
{
	if (p == PERM_PUBLIC)
		return true;
	return (unsigned)p < PERMISSIONS && (table[p].roles & roles) != 0;
}

const char *permission_word(enum permission p)
{
	return (unsigned)p < PERMISSIONS ? table[p].word : NULL;
}

const char *role_word(enum role r)
{
	switch (r) {
	case ROLE_TECHNICIAN:
		return "technician";
	case ROLE_LEAD:
		return "lead";
	case ROLE_AUDITOR:
		return "auditor";
	case ROLE_ADMINISTRATOR:
		return "administrator";
	}
	return NULL;
}
