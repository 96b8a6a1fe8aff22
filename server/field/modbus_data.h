/*
 * Numbers in Modbus registers: four orders of a float's bytes, integers as they are or scaled. Own code, because libraries
 * differ in what they call an order; the table in the test says which bytes are meant.
 */
#ifndef FIELD_MODBUS_DATA_H
#define FIELD_MODBUS_DATA_H

#include "field/source.h"

/* Registers that a value of this format takes, 1 or 2; 0: no such format (the names stand in field/source.h). */
int modbus_words(const char *format);
/* bytes: the registers as they stand in an answer, two bytes each, high byte first. NaN for an infinite or no number.
 * c->format must be known; raw_low and raw_high must differ unless all four of the scale are 0. */
double modbus_decode(const struct field_config *c, const uint8_t *bytes);
/* The other way, an integer rounded to nearest. false: the number does not fit in the format; bytes are untouched then. */
bool modbus_encode(const struct field_config *c, double value, uint8_t bytes[4]);

#endif
