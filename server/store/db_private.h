/* What a connection is made of; for db.c and db_open.c. */
#ifndef SERVER_STORE_DB_PRIVATE_H
#define SERVER_STORE_DB_PRIVATE_H

#include <sqlite3.h>

#include "store/db.h"

#define STMT_MAX    512
#define STMT_PLACES 1024 /* of the hash table; a power of two, twice the statements */

struct stmt {
	struct db *db;
	const char *sql;
	sqlite3_stmt *handle;
	int fault;	   /* first failure of prepare or bind; reported by stmt_step */
	char message[120]; /* what SQLite said then: a later call would have replaced it */
};

struct db {
	sqlite3 *handle;
	struct stmt stmts[STMT_MAX];
	int stmts_count;
	const unsigned char *key;  /* the store's; NULL without */
	short places[STMT_PLACES]; /* number of a statement plus one, by the address of its text; 0 is free */
};

#endif
