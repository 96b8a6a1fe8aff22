/* One or two of every kind of characteristic, for what must hold of all of them. */
#ifndef TESTS_CHARACTERISTIC_SAMPLES_H
#define TESTS_CHARACTERISTIC_SAMPLES_H

#include "metrology/characteristic.h"

struct characteristic_sample {
	struct characteristic c;
	struct range input, output;
	const char *input_unit, *output_unit;
	double back; /* how near an input comes back, as a part of the input span */
};

#define DEGREES "°C"
#define THERMO(letter, low, high, emf_low, emf_high, back)                                         \
	{                                                                                          \
		{.kind = CHARACTERISTIC_THERMOCOUPLE, .type = THERMOCOUPLE_##letter}, {low, high}, \
			{emf_low, emf_high}, DEGREES, "mV", back                                   \
	}

/* Ranges of use inside the reference functions' own; emfs of the ranges' ends to a microvolt (ITS-90 tables). */
static const struct characteristic_sample samples[] = {
	{{.kind = CHARACTERISTIC_LINEAR}, {4, 20}, {0, 100}, "mA", "%", 1e-14},
	{{.kind = CHARACTERISTIC_LINEAR}, {0, 250}, {20, 4}, "mbar", "mA", 1e-14},
	{{.kind = CHARACTERISTIC_SQUARE_ROOT}, {0, 250}, {4, 20}, "mbar", "mA", 1e-14},
	{{.kind = CHARACTERISTIC_SQUARE_ROOT, .cutoff = 5}, {0, 250}, {4, 20}, "mbar", "mA", 1e-14},
	{{.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 50}, {0, 100}, {0, 100}, "%", "%", 1e-14},
	{{.kind = CHARACTERISTIC_EQUAL_PERCENTAGE, .rangeability = 30, .linear_below = 10},
	 {4, 20},
	 {0, 80},
	 "mA",
	 "m3/h",
	 1e-14},
	{{.kind = CHARACTERISTIC_RTD, .r0 = 100}, {-50, 400}, {80.31, 247.09}, DEGREES, "ohm", 1e-12},
	{{.kind = CHARACTERISTIC_RTD, .r0 = 1000}, {0, 850}, {1000, 3904.8}, DEGREES, "ohm", 1e-12},
	{{.kind = CHARACTERISTIC_CALLENDAR_VAN_DUSEN, .r0 = 99.987, .a = 3.9091e-3, .b = -5.79e-7, .c = -4.2e-12},
	 {-100, 300},
	 {60.2, 212},
	 DEGREES,
	 "ohm",
	 1e-12},
	THERMO(B, 250, 1800, 0.291, 13.591, 1e-11),
	THERMO(E, -200, 900, -8.825, 68.787, 1e-11),
	THERMO(J, -100, 700, -4.633, 39.132, 1e-11),
	THERMO(K, -200, 1300, -5.891, 52.41, 1e-11),
	THERMO(N, -200, 1200, -3.99, 43.846, 1e-11),
	THERMO(R, -50, 1600, -0.226, 18.849, 1e-11),
	THERMO(S, -50, 1600, -0.235, 16.777, 1e-11),
	THERMO(T, -200, 350, -5.603, 17.819, 1e-11),
	{{.kind = CHARACTERISTIC_TABLE, .n_points = 5, .x = {0, 10, 30, 70, 100}, .y = {0, 2.5, 19, 71, 100}},
	 {0, 100},
	 {0, 100},
	 "%",
	 "%",
	 1e-14},
	{{.kind = CHARACTERISTIC_TABLE,
	  .interpolation = INTERPOLATION_MONOTONE_CUBIC,
	  .n_points = 5,
	  .x = {0, 10, 30, 70, 100},
	  .y = {100, 71, 19, 2.5, 0}},
	 {0, 100},
	 {100, 0},
	 "%",
	 "%",
	 1e-12},
	{{.kind = CHARACTERISTIC_POLYNOMIAL,
	  .n_coefficients = 4,
	  .coefficient = {4, 0.1, 4e-4, 2e-6},
	  .validity = {-10, 110}},
	 {0, 100},
	 {4, 20},
	 "%",
	 "mA",
	 1e-12},
};

#define SAMPLES (sizeof samples / sizeof samples[0])

#endif
