/* What a technician at the demo plant meets: the weather in the building, and the instrument as it is found. Invented. */
#include <math.h>
#include <string.h>

#include "base/time.h"
#include "demo_test.h"
#include "metrology/format.h"

#define YEAR	365.25
#define COLDEST 20 /* day of the year */

/* Halls that are aired but hardly heated: around 16 °C, with the season. */
struct environment demo_environment(struct demo_chance *c, int32_t day)
{
	double season = -cos(2 * acos(-1) * (fmod(day, YEAR) - COLDEST) / YEAR);
	double temperature = 16 + 4.5 * season + demo_uniform(c, -2.5, 2.5);

	return (struct environment){round_decimals(temperature, 1), round_decimals(demo_uniform(c, 45, 78), 0),
				    round_decimals(demo_uniform(c, 992, 1028), 0), time_now_ms()};
}

struct found_as {
	const char *kind;
	const char *texts[4];
};

static const struct found_as conditions[] = {
	{"control_valve",
	 {"Clean, stem bright and greased, no leak at the gland.", "Dusty, scale legible; air supply dry and steady.",
	  "Sound. Cover of the positioner tight, filter of the air supply clean.",
	  "Sound, paint chipped at the yoke; linkage without play."}},
	{"transmitter",
	 {"Clean and dry, cover seals sound.", "Sound; terminals tight, no trace of damp.",
	  "Dusty outside, dry inside; tag plate legible.", "Sound, cable gland retightened before the test."}},
	{"sensing_element",
	 {"Sheath straight and clean, terminals tight.", "Sheath discoloured by heat, no damage.",
	  "Clean; insulation of the leads sound.", "Light scale on the tip, wiped off."}},
	{"analyser",
	 {"Cell lightly fouled, cleaned as the procedure says.", "Cell clean, flow steady.",
	  "A thin film on the cell, wiped off before the first solution.", "Clean; tubing renewed lately."}},
	{"switch",
	 {"Sound, seal of the set screw unbroken.", "Clean and dry, contacts bright.", "Dusty, impulse line clear.",
	  "Sound; tag plate legible."}},
	{"indicator",
	 {"Glass clean, pointer free.", "Glass scratched but legible, pointer free.", "Clean, case dry.",
	  "Sound, rests at zero when vented."}},
};

const char *demo_condition(const struct demo_instrument *in, int number, double hysteresis)
{
	struct demo_chance c = demo_chance_of(in->tag, 200 + number);
	const char *kind = demo_models[in->model].kind;
	int which = (int)demo_uniform(&c, 0, 4);

	if (!strcmp(kind, "control_valve") && hysteresis > 1)
		return "Stem dry and dull, gland weeping a little; it moves in jerks.";
	for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++)
		if (!strcmp(conditions[i].kind, kind))
			return conditions[i].texts[which];
	return "Sound.";
}
