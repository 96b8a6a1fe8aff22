/* Tolerance classes of thermometers, from which a rule can be started. */
#include <stdio.h>

#include "api/api.h"
#include "api/handlers.h"
#include "domain/spec_json.h"
#include "listing.h"
#include "metrology/tolerance_class.h"

static json_t *words_of(const struct tolerance_class *c)
{
	char text[120];

	if (c->from != 0)
		snprintf(text, sizeof text, "±%g °C, above %g °C ±(%g + %g (t − %g)) °C", c->constant, c->from,
			 c->constant, c->slope, c->from);
	else if (c->join == JOIN_SUM)
		snprintf(text, sizeof text, "±(%g + %g |t|) °C", c->constant, c->slope);
	else
		snprintf(text, sizeof text, "±%g °C or ±%g |t|, whichever is greater", c->constant, c->slope);
	return json_string(text);
}

/* rule is null where terms of a rule cannot say it. */
static json_t *class_to_json(const struct tolerance_class *c)
{
	struct tolerance rule;

	tolerance_class_rule(c, &rule);
	return json_pack("{s:s, s:s, s:s, s:s, s:f, s:f, s:o, s:o, s:o}", "code", c->code, "title", c->title, "source",
			 c->source, "unit", "°C", "low", c->low, "high", c->high, "words", words_of(c), "element",
			 characteristic_to_json(&c->element), "rule", tolerance_to_json(&rule));
}

enum status api_tolerance_class_list(struct request *req, struct reply *reply)
{
	json_t *items = json_array();
	const struct tolerance_class *c;

	(void)req;
	for (int i = 0; (c = tolerance_class_at(i)) != NULL; i++)
		json_array_append_new(items, class_to_json(c));
	return listing_reply(reply, items, NULL);
}
