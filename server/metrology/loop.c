#include "metrology/loop.h"

#include "number.h"

#define HART_OHM_LOW  230 /* receive impedance, from memory, unverified */
#define HART_OHM_HIGH 600

struct loop_budget loop_budget(const struct loop *l, double current_ma)
{
	struct loop_budget b;
	double available_v = larger(0, l->supply_v - l->device_v);

	b.resistance_ohm = l->series_ohm + l->cable_ohm;
	b.drop_v = current_ma * b.resistance_ohm / 1000;
	b.left_v = l->supply_v - l->device_v - b.drop_v;
	if (available_v == 0)
		b.most_ma = 0;
	else
		b.most_ma = b.resistance_ohm > 0 ? available_v / b.resistance_ohm * 1000 : INFINITE;
	b.drives = b.left_v >= -1e-9; /* 24 V less 12 V less 0.02 A over 600 ohm is 0, whatever the last bit says */
	b.hart = b.resistance_ohm >= HART_OHM_LOW && b.resistance_ohm <= HART_OHM_HIGH;
	return b;
}
