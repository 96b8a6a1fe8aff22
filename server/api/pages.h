/* The files of static/, built into the program by server/embed.cmake. */
#ifndef API_PAGES_H
#define API_PAGES_H

struct page {
	const char *path; /* "/css/book.css" */
	const unsigned char *start, *end;
};

extern const struct page pages[];
extern const int pages_count;

#endif
