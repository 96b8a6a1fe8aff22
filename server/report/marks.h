/* Small signs drawn as vectors: readings, verdicts, the QR code. All do nothing while the page is measuring. */
#ifndef REPORT_MARKS_H
#define REPORT_MARKS_H

#include "page.h"

/* Triangle of a reading, its point up when rising; hollow as found, filled as left. size: its height in points. */
void mark_reading(struct page *p, double x, double y, double size, enum direction direction, enum run_kind kind);
/* Ring around a failing reading. */
void mark_ring(struct page *p, double x, double y, double radius);
/* Sign of a verdict centred at x, y: tick, half-filled ring, crossed ring; a dash when not judged. */
void mark_verdict(struct page *p, double x, double y, double size, enum verdict verdict);
enum ink verdict_ink(enum verdict verdict);
/* QR code of the text as vector squares, size points wide without its quiet zone; error correction M. */
void mark_qr(struct page *p, double x, double y, double size, const char *text);
int mark_qr_modules(const char *text); /* on a side; 0 when the text is too long */

#endif
