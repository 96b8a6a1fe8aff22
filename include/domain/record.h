/*
 * A test record as a whole: what pages, certificate and API show of one test. Built from the store's rows and the frozen
 * documents, judged by the metrology core; nothing in here is computed twice elsewhere.
 */
#ifndef DOMAIN_RECORD_H
#define DOMAIN_RECORD_H

#include "domain/actor.h"
#include "domain/procedure_document.h"
#include "metrology/diagnosis.h"
#include "metrology/loop.h"
#include "metrology/switch.h"
#include "store/db.h"

enum record_state { RECORD_OPEN, RECORD_PERFORMED, RECORD_REVIEWED, RECORD_CERTIFIED, RECORD_RETURNED, RECORD_VOID };
enum record_phase {
	PHASE_PREPARE,
	PHASE_PROVE,
	PHASE_AS_FOUND,
	PHASE_ADJUST,
	PHASE_AS_LEFT,
	PHASE_SIGN,
	PHASE_REVIEW,
	PHASE_CERTIFICATE,
	PHASE_DONE
};
enum run_kind { RUN_AS_FOUND, RUN_AS_LEFT };

struct frozen_instrument {
	const char *id, *tag, *service, *kind, *area, *location, *maker, *model, *serial; /* last four may be NULL */
	const char *input_quantity, *input_unit, *output_quantity, *output_unit;
	struct range input, output;
	struct characteristic characteristic;
	bool has_loop, hart;
	struct loop loop;
	bool has_switch;
	struct switch_points switch_points; /* only with has_switch */
	const char **hazards;
	size_t n_hazards;
};

struct record_caution {
	const char *key, *text;
	const char *by; /* name; NULL until acknowledged */
	int64_t at;
};

struct record_check {
	const char *key, *step_title, *text;
	double apply;	    /* input value; NaN when nothing is applied */
	const char *answer; /* "yes", "no", "not_applicable"; NULL until answered */
	const char *observed, *note, *by;
	int64_t at;
};

struct record_standard {
	enum standard_role role;
	const char *need; /* what the procedure asks for */
	bool optional, chosen;
	const char *id, *code, *name, *maker, *model, *serial;
	const char *certificate_number, *issued_by, *calibrated_on, *valid_until, *traceability, *unit;
	double low, high, expanded_uncertainty, coverage_factor;
};

struct record_point {
	struct test_point at;
	double expected;       /* output at the set point */
	struct limits allowed; /* output allowed at the set point: expected + limits */
	bool read;
	const char *reading_id, *applied_text, *observed_text, *by;
	const char *client_verdict; /* what the tablet's own core said; NULL without */
	int64_t taken_at;
	const char *captured_json; /* which devices said it, over which time; NULL when typed */
	struct reading reading;	   /* applied, observed, u */
	struct judged_reading judged;
};

/*
 * A run of a switch step. Its points go actuation by actuation: where it acts, and, when the procedure reads it, where it
 * goes back; observed is the input there.
 */
struct record_switch {
	struct switch_spec spec; /* u: the largest of the readings' */
	bool reads_reset;
	int per_cycle; /* points of one actuation: 1 or 2 */
	size_t wanted; /* actuations that the procedure asks for */
	struct actuation *actuations;
	struct judged_actuation *judged;
	size_t n; /* those that have acted */
	struct switch_summary sum;
	struct switch_diagnosis diagnosis;
};

/* One place where the dead band is sought: the input is moved slowly until the output moves, then back until it moves back. */
struct record_dead_place {
	double percent, set; /* where, % of the input span and in the input's unit */
	bool read;
	struct dead_band_reading reading;	/* input's unit */
	const char *rising_text, *falling_text; /* as typed */
	const char *by;
	int64_t at;
	int decimals;		     /* as typed */
	double value, value_percent; /* input's unit, % of its span; NaN until read */
	enum verdict verdict;	     /* not_judged without a limit */
};

struct record_dead_band {
	struct record_dead_place *places;
	size_t n, n_read;
	double limit, limit_percent;	       /* the most allowed, input's unit and % of its span; NaN: none is set */
	const struct record_dead_place *worst; /* the largest; NULL for none */
	enum verdict verdict;		       /* that of the worst place */
	double hysteresis_alone; /* hysteresis of a cycle less dead band, % of span, for a linear instrument; NaN */
};

struct record_run {
	enum run_kind kind;
	int attempt;
	const char *id; /* NULL before the first reading */
	const char *started_by;
	int64_t started_at;
	const struct tolerance *tolerance; /* as-found or as-left limits */
	struct record_point *points;
	size_t n_points, n_read;
	bool complete;
	struct point_summary *averages; /* of a run with several cycles, by set point; n_averages 0 otherwise */
	size_t n_averages;
	struct evaluation sum; /* over the readings there are; n_read 0: verdict not_judged, NaN */
	struct diagnosis diagnosis;
	struct record_dead_band *dead_band; /* NULL unless the procedure asks for it. sum.verdict counts its verdict */
	struct record_switch
		*switched; /* a switch step's; NULL for points. sum and diagnosis then hold what it comes to */
	char sentence[SENTENCE_SIZE], advice[SENTENCE_SIZE];
};

struct record_signature {
	const char *meaning, *name, *role, *reason; /* meaning as in table signature */
	const char *person_id;
	int64_t at;
};

struct record {
	const char *id, *number;
	enum record_state state;
	enum record_phase phase;
	int version;
	const char *schedule_id; /* NULL */
	/* As frozen; for a switch step output, its unit and the characteristic are the input's, for what is judged is the
	 * input at which the contact changes. */
	struct frozen_instrument instrument;
	json_t *instrument_json; /* as frozen; lives as long as the arena, as all of the record does */
	json_t *procedure_json;	 /* {"id", "version_id", "code", "number", "approved_by", "approved_at", "document"} */
	const char *procedure_code, *procedure_approved_by;
	int procedure_number;
	int64_t procedure_approved_at;
	struct procedure_document procedure;
	struct record_caution *cautions;
	size_t n_cautions;
	struct record_check *checks;
	size_t n_checks;
	struct record_standard standards[STANDARD_ROLES];
	size_t n_standards; /* needs, chosen or not */
	bool has_environment;
	double temperature_c, humidity_percent, pressure_hpa; /* NaN when not given */
	const char *condition, *remarks;
	struct record_run runs[2]; /* as found; as left (the last attempt) */
	size_t n_runs;
	int adjusted; /* 1 made, 0 not made, -1 not decided */
	const char *adjustment, *adjusted_by;
	int64_t adjusted_at;
	struct record_signature *signatures;
	size_t n_signatures;
	const char *opened_by;
	int64_t opened_at, performed_at;
	const char *certificate_number, *certificate_by, *certificate_state; /* NULL without */
	int64_t certificate_at;
	bool certificate_sealed;
	const char *certificate_reason, *certificate_replaced_by; /* why it no longer stands; NULL while it does */
	const char *amends,
		*amends_record; /* number of the certificate that this record's one amends, and its record; NULL */
	const char *amendment_reason;		/* NULL without amends */
	const char *limitation, *limitation_by; /* what the instrument may be used for only, by whose word; NULL */
	int64_t limitation_at;
	const char *amended_by, *amended_by_number; /* record that amends this one, in hand or certified; NULL */
	const char *finding_id, *finding_state, *finding_sentence; /* NULL without */
	char content_sha256[65];				   /* of everything above that a signature stands for */
	int input_decimals, output_decimals; /* as typed in the readings; before that from ranges and limits */
};

/* Reads and judges the whole record, which lives as long as a. NOT_FOUND. */
enum status record_load(struct db *db, const char *id, struct arena *a, struct record *out, struct err *err);

/* The points that a judged step goes through on an instrument, in order; 0 when they cannot be laid out, as a switch step
 * on an instrument without a set point. Of an actuation first where it acts, then, if that is read, where it goes back. */
size_t step_points(const struct step *step, const struct frozen_instrument *i, struct test_point out[READINGS_MAX]);
/* Where a dead band within its limits lets a switch go back that acted at set; NaN on a side without limit. */
struct limits step_allowed_reset(const struct switch_points *s, double set);
/*
 * Decimals of a run's errors and limits in the output's unit, and in % of span: two digits of the tightest limit, and
 * enough for every reading to be seen on the side of its limits where its verdict says that it is. Screen and certificate ask here.
 */
int record_error_decimals(const struct record *r, const struct record_run *run);
int record_percent_decimals(const struct record *r, const struct record_run *run);

/* Limits of the error in % of span at an input, for the chart's band; acceptance drawn in by the guard band of u. */
void record_band_at(const struct record *r, const struct record_run *run, double input, struct limits *limits,
		    struct limits *acceptance);

/* Of a run with actuations: how its figures are written, and one reading in words. */
struct switch_manner record_switch_manner(const struct record *r, const struct record_run *run);
void record_switch_reading_sentence(const struct record *r, const struct record_run *run, const struct record_point *p,
				    char out[SENTENCE_SIZE]);

/* Which of the run's readings were read from devices, from which, and over which time; "" when all were typed. */
#define CAPTURED_SIZE 640
void record_captured_sentence(const struct record_run *run, char out[CAPTURED_SIZE]);

/* Decimals of a run's dead band in % of the input span: enough to see on which side of the limit each place lies. */
int record_dead_band_decimals(const struct record_run *run);

const char *record_state_word(enum record_state s);
const char *record_phase_word(enum record_phase p);
const char *run_kind_word(enum run_kind k);

#endif
