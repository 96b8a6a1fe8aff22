/*
 * The core as the browser has it: the same sources compiled to WebAssembly, and one struct through which both sides speak.
 * JavaScript writes into it, calls a function below, and reads the answer from it; nothing is parsed and nothing copied.
 * Where each member lies the module itself says (core_layout), so no offset is written down anywhere else.
 *
 * There are two modules of it. The one that pages load judges readings, and holds nothing that no page asks for. With CORE_WHOLE
 * everything of the core that a browser could ask is in it: for the proof that native code and WebAssembly give the same bits
 * (tests/wasm), for which it is compiled natively too.
 */
#ifndef METROLOGY_WASM_EXCHANGE_H
#define METROLOGY_WASM_EXCHANGE_H

#include <stdint.h>
#include "metrology/diagnosis.h"
#include "metrology/format.h"
#include "metrology/points.h"
#include "metrology/switch.h"
#include "metrology/uncertainty.h"
#include "metrology/unit.h"

/* Raised when a function or a member's meaning changes; static/js/lib/metrology.js refuses another. */
#define CORE_VERSION 3

#define UNIT_TEXT_SIZE	64
#define PERCENTAGES_MAX 100

/* Members that only JavaScript writes stand first in each group. All texts are UTF-8 and end with a zero. */
struct exchange {
	struct test_setup
		setup; /* also the characteristic, ranges, tolerance and decision rule of the functions below */
	struct tolerance adjust, left; /* of the diagnosis; without terms where not set */
	char input_unit[UNIT_TEXT_SIZE], output_unit[UNIT_TEXT_SIZE];
	int32_t input_decimals, output_decimals; /* as the readings are shown */
	struct reading readings[READINGS_MAX];
	struct judged_reading judged[READINGS_MAX];
	struct evaluation sum;
	struct diagnosis diagnosis;
	char sentence[SENTENCE_SIZE], advice[SENTENCE_SIZE];
	struct point_summary summaries[READINGS_MAX];
	int32_t n_summaries;

	struct reference input_reference, output_reference; /* standards, in the units of input and output */

	double percent[PERCENTAGES_MAX];
	struct test_point points[READINGS_MAX];

	struct switch_spec spec;
	struct actuation actuations[ACTUATIONS_MAX];
	struct judged_actuation judged_actuations[ACTUATIONS_MAX];
	struct switch_summary switch_sum;

	struct range range;   /* answer of core_domain, core_image, core_reach; question of core_clip */
	struct limits limits; /* answer of core_limits; question of core_judge */
	char from[UNIT_TEXT_SIZE], to[UNIT_TEXT_SIZE]; /* question of core_convert */
	char text[SENTENCE_SIZE];		       /* answer, or question, of what speaks of text */
};

/* One member of a struct of the exchange. */
struct layout_field {
	const char *of;	  /* "reading"; NULL ends the list */
	const char *name; /* "observed" */
	const char *type; /* "double", "int", "bool", "char", or the name of a struct in the list */
	int32_t offset, count;
};

#ifdef __wasm__
#define EXPORTED __attribute__((visibility("default")))
#else
#define EXPORTED
#endif

EXPORTED int core_version(void);
EXPORTED struct exchange *core_exchange(void);
EXPORTED const struct layout_field *core_layout(void);

/* setup, readings[0] -> judged[0]. False when the setup is impossible, as evaluate_reading() says it. */
EXPORTED bool core_judge_reading(void);
EXPORTED void core_reading_sentence(int i); /* of readings[i] as judged -> text */

/* Of judged[i], see evaluation.h: so many that the shown error never contradicts its verdict. */
EXPORTED int core_judged_error_decimals(int i, int least);
EXPORTED int core_judged_percent_decimals(int i, int least);
EXPORTED int core_error_decimals(int output_decimals); /* of the setup's tolerance, see evaluation.h */
EXPORTED int core_percent_decimals(void);

EXPORTED double core_forward(double input); /* along the setup's characteristic */
/* Standard uncertainty of a reading's error at an input, with the two references; decimals as typed, below 0 unknown. */
EXPORTED double core_uncertainty(double applied, int input_decimals, int output_decimals);

EXPORTED void core_format(double value, int decimals, bool plus); /* -> text */
EXPORTED int core_decimals_of_text(void);			  /* of text; -1 when it is no plain decimal number */
EXPORTED double core_round(double value, int decimals);

EXPORTED bool core_switch(int n);		     /* spec, actuations[0..n) -> judged_actuations, switch_sum */
EXPORTED int core_switch_decimals(int n, int least); /* of errors, by the n that were judged */
/* Where actuations[i] acted, or went back, with its verdict -> text; input_unit, and decimals of points and errors. */
EXPORTED void core_switch_sentence(int i, bool back, int decimals, int error_decimals);
EXPORTED int core_switch_back_verdict(int i); /* enum verdict of judged_actuations[i] */

#ifdef CORE_WHOLE
/*
 * setup, adjust, left, units, decimals and readings[0..n) -> judged, sum, diagnosis, sentence, advice, summaries. False
 * when the setup is impossible, as evaluate() says it, or n is not 0..READINGS_MAX.
 */
EXPORTED bool core_evaluate(int n);

EXPORTED void core_limits(double expected);	 /* setup's tolerance and output -> limits */
EXPORTED int core_judge(double error, double u); /* limits, setup's output and decision -> enum verdict */

/* The setup's characteristic between its ranges. */
EXPORTED double core_inverse(double output);
EXPORTED double core_slope(double input);
EXPORTED void core_domain(void);	      /* -> range */
EXPORTED void core_image(void);		      /* -> range */
EXPORTED bool core_fault(void);		      /* what is wrong with it -> text; false when nothing is */
EXPORTED void core_characteristic_text(void); /* -> text */

EXPORTED int core_decimals_for(double step);

/* A value of unit `from` in unit `to`; NaN when one is unknown or the dimensions differ. */
EXPORTED double core_convert(double value, bool difference);

EXPORTED int core_points(int n, int pattern, int cycles); /* percent[0..n), setup's input -> points; how many */
EXPORTED int core_points_even(int n);			  /* -> percent; how many */
EXPORTED int core_points_chosen(int choice);		  /* -> percent; how many */
EXPORTED void core_reach(bool input_ma, bool output_ma);  /* -> range */
EXPORTED int core_clip(int n);				  /* points[0..n) into range; how many are left */
EXPORTED int core_signal_state(double ma);		  /* enum signal_state of NE 43 */
#endif

#endif
