/*
 * Our own terms: what a value is when no published list that we could read has a name for it. Each document tells the ones
 * it uses, so that it can be understood without us.
 */
#include "dcc_quantity.h"

#include <string.h>

static const struct {
	const char *term, *name, *text;
} terms[] = {
	{TERM("asFound"), "As found", "The readings of the instrument as it was met, before any adjustment."},
	{TERM("asLeft"), "As left", "The readings of the instrument as it was left, after an adjustment."},
	{TERM("readings"), "Readings",
	 "The readings of one run, in the order they were taken; columns of equal length."},
	{TERM("summary"), "Summary", "What the readings of one run say together, in percent of the output span."},
	{TERM("direction"), "Direction", "Whether the input was rising or falling when it reached the set point."},
	{TERM("actuations"), "Actuations",
	 "Where a switch acted and went back in one run, in the order it happened; columns of equal length."},
	{TERM("actuationSummary"), "Summary of actuations", "What the actuations of one run say together."},
	{TERM("switchPoint"), "Set point of the switch", "The input at which the switch is to act."},
	{TERM("resetPoint"), "Reset point", "The input at which the switch is to go back."},
	{TERM("resetValue"), "Went back at", "The input at which the switch went back."},
	{TERM("deadBand"), "Dead band",
	 "How far the input came back from where it moved the output, or made a switch act, until the output moved back."},
	{TERM("deadBands"), "Dead bands", "The dead band at each place where it was sought; columns of equal length."},
	{TERM("movedRising"), "Moved while rising", "The input that moved the output while it was raised slowly."},
	{TERM("movedFalling"), "Moved back while falling",
	 "The input that moved the output back while it was lowered slowly."},
	{TERM("meanSwitchPoint"), "Mean of where it acted", "The input at which the switch acted, averaged."},
	{TERM("cycle"), "Cycle", "Which passage up and down the reading belongs to, counted from 1."},
	{TERM("setPoint"), "Set point", "The input that the procedure asks for."},
	{TERM("appliedInput"), "Applied input", "The input as the reference standard shows it."},
	{TERM("errorOfSpan"), "Error of span", "The error in percent of the output span."},
	{TERM("toleranceLimitLower"), "Lower limit", "The lowest error permitted, without any guard band."},
	{TERM("toleranceLimitUpper"), "Upper limit", "The highest error permitted, without any guard band."},
	{TERM("greatestErrorPositive"), "Greatest positive error",
	 "The largest error above zero; 0 when there is none."},
	{TERM("greatestErrorNegative"), "Greatest negative error",
	 "The largest error below zero; 0 when there is none."},
	{TERM("zeroError"), "Zero error", "The averaged error at the lowest set point."},
	{TERM("spanError"), "Span error", "The averaged error at the highest set point less that at the lowest."},
	{TERM("hysteresis"), "Hysteresis",
	 "The largest difference between the averaged readings of one point, rising and falling."},
	{TERM("repeatability"), "Repeatability", "The largest range of readings of one point in the same direction."},
	{TERM("linearityIndependent"), "Independent linearity",
	 "The largest deviation of the averaged curve from the straight line that makes it smallest."},
	{TERM("linearityTerminal"), "Terminal-based linearity",
	 "The largest deviation of the averaged curve from the straight line through its ends."},
	{TERM("linearityZero"), "Zero-based linearity",
	 "The largest deviation of the averaged curve from the best straight line through its lowest point."},
	{TERM("linearityLeastSquares"), "Linearity by least squares",
	 "The largest deviation of the averaged curve from its line of least squares."},
	{TERM("resetError"), "Error of the reset point", "Where it went back less where it should."},
	{TERM("deadBandLeast"), "Least dead band", "The smallest dead band permitted."},
	{TERM("deadBandGreatest"), "Greatest dead band", "The largest dead band permitted."},
	{TERM("setErrorMean"), "Mean error of the set point", "The mean of where it acted less the set point."},
	{TERM("setErrorGreatest"), "Greatest error of the set point", "The largest error of a single actuation."},
	{TERM("rangeLow"), "Start of range",
	 "The value at which a range begins; higher than its end when it is reversed."},
	{TERM("rangeHigh"), "End of range", "The value at which a range ends."},
	{TERM("expandedUncertainty"), "Expanded uncertainty", "U of a reference standard, from its own certificate."},
	{TERM("coverageFactor"), "Coverage factor", "k of that expanded uncertainty."},
	{TERM("certificateNumber"), "Certificate number", "The number of a reference standard's own certificate."},
	{TERM("issuedBy"), "Issued by", "Who issued that certificate."},
	{TERM("calibratedOn"), "Calibrated on", "The date of that calibration."},
	{TERM("validUntil"), "Valid until", "The last day on which the plant may use the standard."},
	{TERM("condition"), "Condition", "The state in which the instrument was received."},
	{TERM("signedAt"), "Signed at", "When somebody signed, by RFC 3339 in UTC."},
	{TERM("contentHash"), "SHA-256 of the record",
	 "SHA-256 of the record's content, which the signatures stand for."},
	{TERM("verification"), "Verification", "The address under which the plant shows the record."},
	{TERM("decisionRule"), "Decision rule", "The rule by which readings are judged against limits."},
	{TERM("deviations"), "Deviations", "What was left out or done otherwise than the procedure says."},
	{TERM("interpretation"), "Interpretation", "An opinion on the results: what is wrong and what to do."},
	{TERM("originOfReadings"), "Origin of the readings",
	 "Which readings were read from devices and not typed, and from which."},
	{TERM("remarks"), "Remarks", "Remarks of those who made the test."},
	{TERM("withdrawn"), "Withdrawn", "This certificate no longer stands."},
};

_Static_assert(sizeof terms / sizeof terms[0] <= DCC_TERMS_MAX, "struct dcc has room for every term");

void dcc_term_used(struct dcc *d, const char *term)
{
	for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++)
		if (strcmp(terms[i].term, term) == 0)
			d->used[i] = true;
}

void dcc_terms(struct dcc *d, xmlNodePtr list)
{
	for (size_t i = 0; i < sizeof terms / sizeof terms[0]; i++) {
		xmlNodePtr node;

		if (!d->used[i])
			continue;
		node = dcc_add(d, list, "refTypeDefinition", NULL);
		dcc_attribute(d, node, "refType", terms[i].term);
		dcc_words(d, node, "name", terms[i].name);
		dcc_attribute(d, dcc_words(d, node, "description", terms[i].text), "id", terms[i].term);
		dcc_add(d, node, "namespace", "loopledger");
		/* no outside list: each term is told here */
		dcc_add(d, node, "link", words_say(d->w, "#%s", terms[i].term));
	}
}
