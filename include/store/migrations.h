/* The files of migrations/, in order, built into the program by migrations/embed.cmake. */
#ifndef STORE_MIGRATIONS_H
#define STORE_MIGRATIONS_H

struct migration {
	const char *name;
	const char *sql;
};

extern const struct migration migrations[];
extern const int migrations_count;

#endif
