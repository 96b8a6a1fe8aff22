/* A serial line of this machine: raw, eight data bits, ours alone while it is open (flock), never blocking. */
#ifndef FIELD_SERIAL_H
#define FIELD_SERIAL_H

#include <stdbool.h>

#include "base/status.h"

/* 1200 to 115200. */
bool serial_has_baud(int baud);
/*
 * parity 'N', 'E' or 'O'; two_stops: two stop bits instead of one. BUSY: it is not there, another program has it, or it cannot
 * be set; INVALID: no serial line. Then *fd is -1.
 */
enum status serial_open(int *fd, const char *device, int baud, char parity, bool two_stops, struct err *err);

#endif
