/* The dead band of a run, place by place: the inputs that moved the output, what lies between, its limit and its verdict. */
#include "dcc_internal.h"

#include <math.h>
#include <stdlib.h>

enum figure { FIGURE_SET, FIGURE_RISING, FIGURE_FALLING, FIGURE_WIDTH, FIGURE_LIMIT };

static double value_of(const struct record_dead_band *d, const struct record_dead_place *p, enum figure f)
{
	const double all[] = {[FIGURE_SET] = p->set,
			      [FIGURE_RISING] = p->reading.rising,
			      [FIGURE_FALLING] = p->reading.falling,
			      [FIGURE_WIDTH] = p->value,
			      [FIGURE_LIMIT] = d->limit};

	return all[f];
}

static xmlNodePtr column(struct dcc *d, xmlNodePtr list, const struct record_dead_band *band, enum figure f,
			 struct dcc_column *c)
{
	static const struct {
		const char *name, *ref_type;
		bool difference;
	} what[] = {[FIGURE_SET] = {"Near", TERM("setPoint"), false},
		    [FIGURE_RISING] = {"Moved while rising", TERM("movedRising"), false},
		    [FIGURE_FALLING] = {"Moved back while falling", TERM("movedFalling"), false},
		    [FIGURE_WIDTH] = {"Dead band", TERM("deadBand"), true},
		    [FIGURE_LIMIT] = {"Greatest dead band", TERM("deadBandGreatest"), true}};
	bool measured = f == FIGURE_RISING || f == FIGURE_FALLING;

	c->what = (struct dcc_value){.name = what[f].name,
				     .ref_type = what[f].ref_type,
				     .ref_id = measured && dcc_standard(d->r, STANDARD_INPUT) ? ID_STANDARD_INPUT :
												NULL,
				     .of = d->r->instrument.input_quantity,
				     .unit = d->r->instrument.input_unit,
				     .difference = what[f].difference};
	c->n = 0;
	for (size_t i = 0; i < band->n; i++) {
		const struct record_dead_place *p = &band->places[i];

		if (!p->read)
			continue;
		c->value[c->n] = value_of(band, p, f);
		c->decimals[c->n++] = f == FIGURE_SET	? d->r->input_decimals :
				      f == FIGURE_LIMIT ? p->decimals + 1 :
							  p->decimals;
	}
	return dcc_column(d, list, c, NULL);
}

static const char *verdicts(struct dcc *d, const struct record_dead_band *band)
{
	const char *out = "";

	for (size_t i = 0; i < band->n; i++)
		if (band->places[i].read)
			out = words_joined(d->w, out, " ", dcc_conformity(band->places[i].verdict));
	return out;
}

static void times(struct dcc *d, xmlNodePtr list, const struct record_dead_band *band)
{
	const char *out = "";
	char when[WHEN_SIZE];

	for (size_t i = 0; i < band->n; i++)
		if (band->places[i].read)
			out = words_joined(d->w, out, " ", dcc_time(band->places[i].at, when));
	dcc_add(d, list, "dateTimeXMLList", out);
}

void dcc_dead_band(struct dcc *d, xmlNodePtr results, const struct record_run *run)
{
	const struct record_dead_band *band = run->dead_band;
	struct dcc_column *c;
	xmlNodePtr node, list, meta;

	if (!band || !band->worst || !(c = calloc(1, sizeof *c)))
		return;
	node = dcc_add(d, results, "result", NULL);
	dcc_attribute(d, node, "refType", TERM("deadBands"));
	dcc_words(d, node, "name", "Dead band");
	list = dcc_add(d, dcc_add(d, node, "data", NULL), "list", NULL);
	times(d, list, band);
	column(d, list, band, FIGURE_SET, c);
	column(d, list, band, FIGURE_RISING, c);
	column(d, list, band, FIGURE_FALLING, c);
	node = column(d, list, band, FIGURE_WIDTH, c);
	if (node && isfinite(band->limit)) {
		meta = dcc_meta(d, node, "basic_conformity");
		dcc_words(d, meta, "declaration", "Limit of the dead band, from the procedure.");
		dcc_add(d, meta, "conformityXMLList", verdicts(d, band));
		column(d, dcc_add(d, dcc_add(d, meta, "data", NULL), "list", NULL), band, FIGURE_LIMIT, c);
	}
	free(c);
}
