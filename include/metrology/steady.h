/*
 * May a live value be recorded yet? Looks at the last seconds of a value that is sampled again and again, and says steady or
 * why not.
 *
 * With T the tolerance of the test point and W the window, a value is steady when over the last W, by least squares against
 * time: |slope| W <= T/4, the scatter about that line <= T/4, highest - lowest <= T; when no sample of the window carried a
 * status that forbids recording, none is missing, and the procedure's hold has passed. Testing the slope alone would accept a
 * noisy signal, whose slope cannot be told from 0. The thresholds are common practice, no source; IEC 61298-2 asks only that
 * the output has settled, so the hold is the procedure's to say.
 *
 * The rule sees movement, not what is still to come: on an exponential approach with the time constant tau the mean is then off
 * its end by at most 1.02 T/4 when W = tau, and by about tau/W as much when tau is longer. So W is to be no shorter than the slowest time
 * constant on the way, damping included.
 *
 * What is recorded is the mean of the window, with its standard deviation and count for the uncertainty budget.
 */
#ifndef METROLOGY_STEADY_H
#define METROLOGY_STEADY_H

#include <stdbool.h>
#include <stddef.h>

#define STEADY_SAMPLES	  1024
#define STEADY_WORDS_SIZE 128

struct steady_rule {
	double tolerance; /* T, > 0, in the unit of the value */
	double window_s;  /* W; 0: 10 */
	double sample_s;  /* how often it is sampled; more than twice this between two samples is a gap; 0: 1 */
	double hold_s;	  /* least time since the last steady_clear; 0: no more than the window */
	int least;	  /* samples in the window, >= 3; 0: 10 */
};

enum steady_reason {
	STEADY_NONE,	/* nothing seen yet */
	STEADY_HOLDING, /* too short a time so far */
	STEADY_GAP,	/* the same, and a gap was the reason to begin again */
	STEADY_STATUS,	/* the last sample may not be recorded: its status forbids it, or it is no number */
	STEADY_MOVING,
	STEADY_NOISY,
	STEADY_CROWDED, /* samples come so much faster than sample_s that the window cannot hold them */
	STEADY_ACCEPTED
};

struct steady {
	struct steady_rule rule;
	double t_s[STEADY_SAMPLES], value[STEADY_SAMPLES]; /* a ring */
	size_t first, count;
	double held_from_s, now_s;
	bool any, barred, after_gap;
	double gap_s;
};

struct steady_result {
	enum steady_reason reason;
	double held_s, needed_s; /* of the hold or the window, whichever is longer to wait for */
	/* Of the window, NaN while there are fewer than 3 samples: */
	double mean, s; /* arithmetic mean, sample standard deviation about it */
	double slope;	/* per second */
	double scatter; /* standard deviation about the line, n - 2 degrees of freedom */
	double range;	/* highest - lowest */
	double from_s, to_s;
	int n;
	double gap_s; /* STEADY_GAP */
};

/* False for a rule that is none (tolerance not positive, window below two samples or beyond STEADY_SAMPLES of them). */
bool steady_begin(struct steady *s, const struct steady_rule *rule);
/* The input was changed, or the device connected anew: everything so far is forgotten. */
void steady_clear(struct steady *s);
/*
 * One sample. t_s is a clock's reading in seconds that only goes forward; going back begins the window again, as a gap does. barred: its
 * status forbids recording it.
 */
void steady_add(struct steady *s, double t_s, double value, bool barred);
/* As of the last sample. */
struct steady_result steady_judge(const struct steady *s);
/* Why it waits, for the person who does: "held 6 of 10 s", "still moving", "too noisy"; "steady". */
void steady_words(const struct steady_result *r, char out[STEADY_WORDS_SIZE]);

#endif
