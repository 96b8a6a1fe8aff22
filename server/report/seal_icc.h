/* The colour profile that a sealed file carries: sRGB (IEC 61966-2-1) in the form of ICC.1:2001-04, version 2. */
#ifndef REPORT_SEAL_ICC_H
#define REPORT_SEAL_ICC_H

#include <stddef.h>

#define SEAL_ICC_SIZE 2512

/* Writes the whole profile; always the same bytes. */
void seal_icc_srgb(unsigned char out[SEAL_ICC_SIZE]);

#endif
