/* The certificate's figures in words, for who cannot see them. */
#include "certificate_internal.h"
#include "chart.h"

static const char *of_chart(struct words *w, const struct record *r)
{
	const char *text = r->runs[0].switched ?
				   words_say(w, "Chart of where the switch acted and went back, along its input in %s.",
					     r->instrument.input_unit) :
				   words_say(w, "Chart of the error in %% of span over the input in %s.",
					     r->instrument.input_unit);

	for (size_t k = 0; k < r->n_runs; k++)
		if (run_stands(&r->runs[k]))
			text = words_say(w, "%s %s: %s. %s", text,
					 r->runs[k].kind == RUN_AS_FOUND ? "As found" : "As left",
					 words_verdict(r->runs[k].sum.verdict), words_outcome(w, r, &r->runs[k]));
	return words_say(w, "%s Every figure of it stands in the tables of results.", text);
}

enum status certificate_alternatives(const struct record *r, const struct certificate_options *options, struct arena *a,
				     const char *out[CERTIFICATE_FIGURES_MAX], size_t *n, struct err *err)
{
	struct words w = {0};
	bool copied = true;

	*n = 0;
	if (chart_stands(r))
		out[(*n)++] = of_chart(&w, r);
	if (options->verify_address)
		out[(*n)++] = words_say(&w, "QR code of the address %s", options->verify_address);
	for (size_t i = 0; i < *n; i++) {
		out[i] = arena_strdup(a, out[i]);
		copied = copied && out[i];
	}
	copied = copied && !w.failed;
	arena_clear(&w.arena);
	return copied ? OK : err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
}
