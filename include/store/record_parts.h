/* What stands beside a record's runs: cautions and checks answered, the standards used, the surroundings. */
#ifndef STORE_RECORD_PARTS_H
#define STORE_RECORD_PARTS_H

#include "store/db.h"

/* A caution acknowledged or a check answered; a check may be answered again, the ledger keeps what was said before. */
struct acknowledgement {
	const char *kind; /* "caution", "check" */
	const char *key;
	const char *answer;	      /* "acknowledged", "yes", "no", "not_applicable" */
	const char *observed, *note;  /* NULL without */
	const char *person_id, *name; /* name is read only */
	int64_t at;
};

enum status store_acknowledgement_put(struct db *db, const char *test_record_id, const struct acknowledgement *k,
				      struct err *err);
enum status store_acknowledgement_list(struct db *db, const char *test_record_id, struct arena *a,
				       struct acknowledgement **items, size_t *n, struct err *err);

struct standard_use {
	const char *role; /* "input", "output" */
	const char *standard_id, *calibration_id;
	const char *standard_json; /* frozen */
	int64_t at;
};

/* Replaces the choice for every role: those not among uses are removed. */
enum status store_standard_use_replace(struct db *db, const char *test_record_id, const struct standard_use *uses,
				       size_t n, struct err *err);
enum status store_standard_use_list(struct db *db, const char *test_record_id, struct arena *a,
				    struct standard_use **items, size_t *n, struct err *err);

struct environment {
	double temperature_c, humidity_percent, pressure_hpa; /* the last two NaN when not given */
	int64_t at;
};

enum status store_environment_put(struct db *db, const char *test_record_id, const struct environment *e,
				  struct err *err);
/* NOT_FOUND when there is none. */
enum status store_environment_get(struct db *db, const char *test_record_id, struct environment *out, struct err *err);

#endif
