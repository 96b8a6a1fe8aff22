/* The certificate's typeface, the same on every machine: a font configuration of our own with only the fonts we name. */
#ifndef REPORT_FONTS_H
#define REPORT_FONTS_H

#include <pango/pango.h>
#include "base/status.h"

#define FONT_FAMILY "DejaVu Sans"

/*
 * This thread's font map, borrowed: it lives until the thread ends. FAILED when the typeface is not installed. What else
 * is installed on the machine is never used, so a page does not change with it, and a character neither font has is missed.
 */
enum status fonts_get(PangoFontMap **map, struct err *err);
/* One that is the caller's, g_object_unref; for whoever takes care that no two threads use it at a time. */
enum status fonts_new(PangoFontMap **map, struct err *err);

#endif
