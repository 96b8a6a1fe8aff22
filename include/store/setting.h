/* Rows of table setting: text by key. */
#ifndef STORE_SETTING_H
#define STORE_SETTING_H

#include "store/db.h"

/* *value is allocated from a; NULL when the key was never set. */
enum status store_setting_get(struct db *db, const char *key, struct arena *a, const char **value, struct err *err);
enum status store_setting_put(struct db *db, const char *key, const char *value, int64_t at, struct err *err);

#endif
