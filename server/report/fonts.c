/*
 * fontconfig finds the files, then a second, private configuration holds just those: DejaVu Sans (Latin, Greek, Cyrillic,
 * signs) and Droid Sans Fallback (Chinese, Japanese, Korean). Font maps are not shared between threads; the configuration is.
 */
#include "fonts.h"

#include <fontconfig/fontconfig.h>
#include <pango/pangocairo.h>
#include <pango/pangofc-fontmap.h>
#include <pthread.h>
#include <stdbool.h>
#include <string.h>

#define FALLBACK_FAMILY "Droid Sans Fallback"

static pthread_once_t once = PTHREAD_ONCE_INIT;
static pthread_key_t map_key;
static FcConfig *config; /* NULL: the typeface is not installed; lives as long as the program */

/* Adds the file of a family and weight, if it is really that family and not what fontconfig takes for want of it. */
static bool add_font(FcConfig *to, FcConfig *installed, const char *family, int weight)
{
	FcPattern *wanted = FcPatternCreate(), *found;
	FcResult result;
	FcChar8 *name, *file;
	bool added;

	FcPatternAddString(wanted, FC_FAMILY, (const FcChar8 *)family);
	FcPatternAddInteger(wanted, FC_WEIGHT, weight);
	FcConfigSubstitute(installed, wanted, FcMatchPattern);
	FcDefaultSubstitute(wanted);
	found = FcFontMatch(installed, wanted, &result);
	added = found && FcPatternGetString(found, FC_FAMILY, 0, &name) == FcResultMatch &&
		strcmp((const char *)name, family) == 0 &&
		FcPatternGetString(found, FC_FILE, 0, &file) == FcResultMatch && FcConfigAppFontAddFile(to, file);
	if (found)
		FcPatternDestroy(found);
	FcPatternDestroy(wanted);
	return added;
}

static void map_free(void *map)
{
	g_object_unref(map);
}

static void find_fonts(void)
{
	FcConfig *installed = FcInitLoadConfigAndFonts(), *own = FcConfigCreate();

	pthread_key_create(&map_key, map_free);
	if (installed && own && add_font(own, installed, FONT_FAMILY, FC_WEIGHT_REGULAR) &&
	    add_font(own, installed, FONT_FAMILY, FC_WEIGHT_BOLD)) {
		add_font(own, installed, FALLBACK_FAMILY, FC_WEIGHT_REGULAR);
		config = own;
	} else if (own) {
		FcConfigDestroy(own);
	}
	if (installed)
		FcConfigDestroy(installed);
}

enum status fonts_new(PangoFontMap **map, struct err *err)
{
	pthread_once(&once, find_fonts);
	if (!config)
		return err_set(err, FAILED, "", "the typeface %s is not installed (Debian package fonts-dejavu-core)",
			       FONT_FAMILY);
	*map = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
	if (!*map)
		return err_set(err, FAILED, "", "the text engine was built without FreeType");
	pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(*map), config);
	return OK;
}

enum status fonts_get(PangoFontMap **map, struct err *err)
{
	enum status rc;

	pthread_once(&once, find_fonts);
	*map = pthread_getspecific(map_key);
	if (*map)
		return OK;
	rc = fonts_new(map, err);
	if (!rc)
		pthread_setspecific(map_key, *map);
	return rc;
}
