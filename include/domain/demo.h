/*
 * The demo plant: Brackenholm Water Works, invented from the first tag to the last certificate. Its dates follow today; apart
 * from them it comes out the same each time.
 */
#ifndef DOMAIN_DEMO_H
#define DOMAIN_DEMO_H

#include "base/status.h"
#include "store/store.h"

#define DEMO_PASSWORD "brackenholm-demo" /* of everybody in it */

/* Fills an empty plant's file with some 60 instruments and three years of history, in one transaction; shifts the process's
 * clock (base/time.h) while it does, so nothing else may run. CONFLICT when somebody has an account already. */
enum status demo_load(struct store *store, struct err *err);

#endif
