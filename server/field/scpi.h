/* SCPI over TCP: lines of text. The parts that need no connection, for tests and fuzzing. */
#ifndef FIELD_SCPI_H
#define FIELD_SCPI_H

#include <stdbool.h>
#include <stddef.h>
#include "field/source.h"

/*
 * A number as IEEE 488.2 writes it (NR1, NR2, NR3), spaces around it allowed, and nothing else: "+1.2345E-02". 9.9E37 (either sign) is
 * overload and 9.91E37 no number (SCPI-99 7.2.1.4 and 7.2.1.5, from memory): then *value is NaN and *status says so. False for
 * any other text.
 */
bool scpi_number(const char *text, double *value, unsigned *status);
/* `-113,"Undefined header"`: number and words, doubled quotes undone. False for what is no entry of the error queue. */
bool scpi_error(const char *text, int *number, char *words, size_t size);
/* The four fields of *IDN? (IEEE 488.2 10.14); false unless there are four. */
bool scpi_identity(const char *text, struct field_identity *out);

#endif
