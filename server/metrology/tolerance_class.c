#include "metrology/tolerance_class.h"

#include <stddef.h>
#include "number.h"

static const char pt_source[] = "IEC 60751:2008, by public tables of EN 60751:2009";
static const char tc_source[] = "IEC 60584-1:2013, by IEC 584-2:1982; the same in public tables of EN 60584";
static const char noble_source[] =
	"IEC 60584-1:2013, by public tables of IEC 584-2; some print 1000 where others have 1100";

#define PLATINUM(code, title, low, high, constant, slope)                        \
	{                                                                        \
		code, title, pt_source, low, high, constant, slope, JOIN_SUM, 0, \
		{                                                                \
			.kind = CHARACTERISTIC_RTD, .r0 = 100                    \
		}                                                                \
	}
#define THERMO(letter, code, title, low, high, constant, slope)                            \
	{                                                                                  \
		code, title, tc_source, low, high, constant, slope, JOIN_GREATEST, 0,      \
		{                                                                          \
			.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_##letter \
		}                                                                          \
	}
#define NOBLE_CLASS_1(letter, code, title)                                                 \
	{                                                                                  \
		code, title, noble_source, 0, 1600, 1, 0.003, JOIN_GREATEST, 1100,         \
		{                                                                          \
			.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_##letter \
		}                                                                          \
	}

static const struct tolerance_class classes[] = {
	PLATINUM("iec60751_aa_wire", "Pt, class AA, wire wound", -50, 250, 0.1, 0.0017),
	PLATINUM("iec60751_aa_film", "Pt, class AA, film", 0, 150, 0.1, 0.0017),
	PLATINUM("iec60751_a_wire", "Pt, class A, wire wound", -100, 450, 0.15, 0.002),
	PLATINUM("iec60751_a_film", "Pt, class A, film", -30, 300, 0.15, 0.002),
	PLATINUM("iec60751_b_wire", "Pt, class B, wire wound", -196, 600, 0.3, 0.005),
	PLATINUM("iec60751_b_film", "Pt, class B, film", -50, 500, 0.3, 0.005),
	PLATINUM("iec60751_c_wire", "Pt, class C, wire wound", -196, 600, 0.6, 0.01),
	PLATINUM("iec60751_c_film", "Pt, class C, film", -50, 600, 0.6, 0.01),
	THERMO(T, "iec60584_t_1", "Thermocouple type T, class 1", -40, 350, 0.5, 0.004),
	THERMO(T, "iec60584_t_2", "Thermocouple type T, class 2", -40, 350, 1.0, 0.0075),
	THERMO(T, "iec60584_t_3", "Thermocouple type T, class 3", -200, 40, 1.0, 0.015),
	THERMO(E, "iec60584_e_1", "Thermocouple type E, class 1", -40, 800, 1.5, 0.004),
	THERMO(E, "iec60584_e_2", "Thermocouple type E, class 2", -40, 900, 2.5, 0.0075),
	THERMO(E, "iec60584_e_3", "Thermocouple type E, class 3", -200, 40, 2.5, 0.015),
	THERMO(J, "iec60584_j_1", "Thermocouple type J, class 1", -40, 750, 1.5, 0.004),
	THERMO(J, "iec60584_j_2", "Thermocouple type J, class 2", -40, 750, 2.5, 0.0075),
	THERMO(K, "iec60584_k_1", "Thermocouple type K, class 1", -40, 1000, 1.5, 0.004),
	THERMO(K, "iec60584_k_2", "Thermocouple type K, class 2", -40, 1200, 2.5, 0.0075),
	THERMO(K, "iec60584_k_3", "Thermocouple type K, class 3", -200, 40, 2.5, 0.015),
	THERMO(N, "iec60584_n_1", "Thermocouple type N, class 1", -40, 1000, 1.5, 0.004),
	THERMO(N, "iec60584_n_2", "Thermocouple type N, class 2", -40, 1200, 2.5, 0.0075),
	THERMO(N, "iec60584_n_3", "Thermocouple type N, class 3", -200, 40, 2.5, 0.015),
	NOBLE_CLASS_1(R, "iec60584_r_1", "Thermocouple type R, class 1"),
	THERMO(R, "iec60584_r_2", "Thermocouple type R, class 2", 0, 1600, 1.5, 0.0025),
	NOBLE_CLASS_1(S, "iec60584_s_1", "Thermocouple type S, class 1"),
	THERMO(S, "iec60584_s_2", "Thermocouple type S, class 2", 0, 1600, 1.5, 0.0025),
	THERMO(B, "iec60584_b_2", "Thermocouple type B, class 2", 600, 1700, 1.5, 0.0025),
	THERMO(B, "iec60584_b_3", "Thermocouple type B, class 3", 600, 1700, 4.0, 0.005),
};

#define CLASSES ((int)(sizeof classes / sizeof classes[0]))

const struct tolerance_class *tolerance_class_at(int index)
{
	return index >= 0 && index < CLASSES ? &classes[index] : NULL;
}

static bool same(const char *a, const char *b)
{
	while (*a && *a == *b) {
		a++;
		b++;
	}
	return *a == *b;
}

const struct tolerance_class *tolerance_class_find(const char *code)
{
	for (int i = 0; i < CLASSES; i++)
		if (same(classes[i].code, code))
			return &classes[i];
	return NULL;
}

double tolerance_class_limit(const struct tolerance_class *c, double t)
{
	if (!(t >= c->low && t <= c->high))
		return NOT_A_NUMBER;
	if (c->from != 0)
		return c->constant + c->slope * larger(0, t - c->from);
	if (c->join == JOIN_SUM)
		return c->constant + c->slope * fabs(t);
	return larger(c->constant, c->slope * fabs(t));
}

double tolerance_class_limit_output(const struct tolerance_class *c, double r0, double t)
{
	static const struct range any = {0, 1};
	struct characteristic element = c->element;

	if (element.kind == CHARACTERISTIC_RTD)
		element.r0 = r0;
	return tolerance_class_limit(c, t) * characteristic_slope(&element, any, any, t);
}

bool tolerance_class_rule(const struct tolerance_class *c, struct tolerance *out)
{
	static const struct tolerance none = {.n_terms = 0};

	*out = none;
	if (c->from != 0)
		return false;
	out->terms[0] = (struct tolerance_term){TOLERANCE_ABSOLUTE, c->constant, c->constant};
	out->terms[1] = (struct tolerance_term){TOLERANCE_PERCENT_OF_READING, c->slope * 100, c->slope * 100};
	out->n_terms = 2;
	out->join = c->join;
	return true;
}
