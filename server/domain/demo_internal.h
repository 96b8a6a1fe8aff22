/* What the files of the demo plant share: its tables, its chance, and the plant as far as it is built. */
#ifndef DOMAIN_DEMO_INTERNAL_H
#define DOMAIN_DEMO_INTERNAL_H

#include <jansson.h>

#include "base/arena.h"
#include "base/text.h"
#include "domain/actor.h"
#include "metrology/switch.h"
#include "store/db.h"
#include "store/standard.h"

/* Chance that repeats: SplitMix64, from memory (the constants are Steele, Lea and Flood's). */
struct demo_chance {
	uint64_t state;
};
struct demo_chance demo_chance_of(const char *seed, int number);
double demo_uniform(struct demo_chance *c, double low, double high);
double demo_normal(struct demo_chance *c, double sd); /* sum of twelve uniforms: bounded at 6 sd */

enum { DEMO_TECHNICIAN_1, DEMO_TECHNICIAN_2, DEMO_LEAD_1, DEMO_LEAD_2, DEMO_AUDITOR, DEMO_ADMINISTRATOR, DEMO_PEOPLE };

struct demo_person {
	const char *sign_in, *name;
	int roles;
};
extern const struct demo_person demo_people[DEMO_PEOPLE];

struct demo_area {
	const char *name;
	int parent; /* index; -1 at the top */
};
#define DEMO_AREAS 18
extern const struct demo_area demo_areas[DEMO_AREAS];

/* A kind of instrument with everything that those of the kind have in common. */
struct demo_model {
	const char *kind, *maker, *model;
	const char *input_quantity, *input_unit, *output_quantity, *output_unit;
	double output_low, output_high;		      /* equal: as the input, or as the characteristic gives it */
	const char *characteristic;		      /* JSON */
	double device_v;			      /* 0: no current loop */
	const char *procedure;			      /* code */
	const char *input_standard, *output_standard; /* codes; output NULL: none */
	int input_decimals, output_decimals;
	double limit;  /* as-found limit, % of output span */
	double adjust; /* adjust limit as a part of it; 0: cannot be adjusted */
	double pump;   /* how far the applied input strays from the set point, % of its span */
	const char *hazards[3];
};

enum demo_model_name {
	M_PT,
	M_PT_HIGH,
	M_FT,
	M_LT,
	M_TT,
	M_TE,
	M_TK,
	M_PH,
	M_NTU,
	M_CL,
	M_SWITCH,
	M_GAUGE,
	M_VALVE,
	DEMO_MODELS
};
extern const struct demo_model demo_models[DEMO_MODELS];

enum demo_group { G_REST, G_OVERDUE, G_WEEK, G_OPEN, G_REVIEW };

struct demo_instrument {
	const char *tag, *service;
	enum demo_model_name model;
	int area;
	double low, high; /* input range */
	int interval_months;
	enum demo_group group;
	int offset;			    /* of the due date from today in days, for overdue and this week */
	double zero, zero_rate;		    /* error at the start and per year, in as-found limits; 0: by chance */
	double hysteresis, hysteresis_rate; /* the same */
	int jump;			    /* at which test from the end the zero has jumped outside; 0 never */
};
extern const struct demo_instrument demo_instruments[];
extern const int demo_instruments_count;
#define DEMO_INSTRUMENTS_MAX 80
#define DEMO_TESTS_MAX	     6 /* on file for one instrument; older ones are on paper */

/* The files of demo/, built into the program by server/embed.cmake. */
struct demo_file {
	const char *name;
	const unsigned char *start, *end;
};
extern const struct demo_file demo_files[];
extern const int demo_files_count;

/* The data sheet of a switch, and how wide its dead band really is. */
struct demo_switch {
	const char *tag;
	struct switch_points points;
	double dead_band;
};
const struct demo_switch *demo_switch_of(const char *tag); /* NULL for what is no switch */

struct demo_procedure {
	const char *code, *file;
};
extern const struct demo_procedure demo_procedures[];
extern const int demo_procedures_count;
/* The document that holds today, or the one of another version: "before" it, "draft" on top of it; NULL when there is no
 * such version. The caller's. */
json_t *demo_document(int procedure, const char *version);
#define DEMO_PROCEDURES_MAX 16

struct demo_standard {
	const char *code, *name, *quantity, *model, *serial, *unit, *traceability;
	double low, high, expanded; /* U, k = 2, in unit */
	int age;		    /* days since the last calibration */
	const char *failed;	    /* why it has failed; NULL */
};
extern const struct demo_standard demo_standards[];
extern const int demo_standards_count;
#define DEMO_STANDARDS_MAX 20
#define DEMO_FAILED_DAYS   150 /* since when the failed one is out of use */

#define DEMO_LABORATORY "Fellgate Calibration Laboratory (invented)"
#define DEMO_DAYS	1130 /* of history: a little more than three years */

struct demo {
	struct db *db;
	struct err *err;
	struct arena arena; /* for as long as the plant is being made */
	const char *password_hash;
	bool clock_set; /* to somewhere in the past */
	int32_t today;
	char person[DEMO_PEOPLE][UUID_SIZE];
	struct actor actor[DEMO_PEOPLE];
	const char *area[DEMO_AREAS];
	const char *procedure[DEMO_PROCEDURES_MAX];
	const char *standard[DEMO_STANDARDS_MAX];
	const char *instrument[DEMO_INSTRUMENTS_MAX], *schedule[DEMO_INSTRUMENTS_MAX];
	bool adjusted[DEMO_INSTRUMENTS_MAX][DEMO_TESTS_MAX]; /* at which tests */
};

/* Sets the clock to a time of a day in the plant's time zone; never back. */
void demo_clock(struct demo *d, int32_t day, double hour);
int demo_procedure_index(const char *code);
int demo_standard_index(const char *code);
/* Days of the instrument's tests so far, oldest first; the next one is due at *due. Returns how many, at most max. */
int demo_test_days(const struct demo_instrument *in, int32_t today, int32_t days[DEMO_TESTS_MAX], int32_t *due);

enum status demo_register(struct demo *d); /* people, areas, procedures, standards, instruments, schedules */
/* Approves the document of a procedure that holds today as its next version, as a lead. */
enum status demo_approve(struct demo *d, int procedure);
enum status demo_draft(struct demo *d, int procedure); /* begins the draft on top of it */
/* The calibration that is back years older than the last one. */
void demo_calibration(struct demo *d, int standard, int back, struct standard_calibration *out);
enum status demo_history(struct demo *d); /* three years of tests */

#endif
