/* Outcome of an operation, and the sentence that explains a failure to the person who can mend it. */
#ifndef BASE_STATUS_H
#define BASE_STATUS_H

enum status {
	OK = 0,
	INVALID,	 /* the caller's data breaks a rule; err->field says which (422) */
	UNAUTHENTICATED, /* nobody is signed in, or the password is wrong (401) */
	FORBIDDEN,	 /* the signed-in person may not do this (403) */
	NOT_FOUND,	 /* (404) */
	CONFLICT,	 /* the data is fine but the record's state forbids it: signed, duplicate tag (409) */
	STALE,		 /* somebody else changed the row since it was read: If-Match does not fit (412) */
	MATCH_REQUIRED,	 /* the write needs an If-Match header (428) */
	TOO_MANY,	 /* slow down: throttled sign-in (429) */
	BUSY,		 /* worth trying again shortly (503) */
	NO_MEMORY,	 /* (500) */
	FAILED		 /* disk, device or a bug; the detail goes to the log, not to the browser (500) */
};

/* A failure in words. Zero-initialise; functions write it only when they return something other than OK. */
struct err {
	enum status status;
	char field
		[96]; /* JSON pointer into the request, "/steps/0/points/percent/3"; empty when no one field is at fault */
	char message[320]; /* one sentence, in the user's terms */
	int retry_after_s; /* TOO_MANY and BUSY: when trying again makes sense; 0 when nobody knows */
};

/*
 * Records the failure and returns its status, so a check reads: return err_set(err, INVALID, "/high", "...").
 * field may be given without the leading slash ("high"); it is added. The sentence is written where the fault is known and
 * passed up unchanged.
 */
enum status err_set(struct err *err, enum status status, const char *field, const char *fmt, ...)
	__attribute__((format(printf, 4, 5)));

/* Puts prefix before the pointer of an error made deeper down: err_within(err, "input") turns /high into /input/high. */
void err_within(struct err *err, const char *prefix);

#endif
