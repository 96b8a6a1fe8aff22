/* A table with rules only at head and foot, figures aligned on the decimal point, head repeated on every page. */
#ifndef REPORT_TABLE_H
#define REPORT_TABLE_H

#include "page.h"

#define CELL_SIZE   48
#define COLUMNS_MAX 14

enum column_kind { COLUMN_WORD, COLUMN_NUMBER, COLUMN_READING, COLUMN_VERDICT };

struct column {
	enum column_kind kind;
	const char *head, *unit; /* unit may be NULL */
};

struct row {
	char cell[COLUMNS_MAX][CELL_SIZE]; /* of a reading column: ignored, its triangle stands there */
	enum direction direction;
	enum run_kind kind;
	enum verdict verdict;
	bool gap; /* a little space before it: a new cycle */
};

/*
 * Sets the table from the page's y over its full width, going on over as many pages as it needs. title stands over
 * it, and with "(continued)" over each further part.
 */
void table_set(struct page *p, const char *title, const struct column *columns, size_t n_columns,
	       const struct row *rows, size_t n_rows);
double table_height(struct page *p, size_t n_rows); /* without breaks, title included */

#endif
