/* One test at the demo plant, with readings that an instrument of its age would give. */
#ifndef DOMAIN_DEMO_TEST_H
#define DOMAIN_DEMO_TEST_H

#include "demo_internal.h"
#include "store/record_parts.h"

/* The number-th test of an instrument, begun at this hour, up to the technician's signature; its record's id goes to id. */
enum status demo_test(struct demo *d, int instrument, int number, int32_t day, double hour, char id[UUID_SIZE]);
/* A test that is under way: the next one, as far as the fourth reading. */
enum status demo_test_begun(struct demo *d, int instrument);

/* Ambient conditions of a day, by chance around those of the season. */
struct environment demo_environment(struct demo_chance *c, int32_t day);
/* How the instrument is received at its number-th test; hysteresis in as-found limits. */
const char *demo_condition(const struct demo_instrument *in, int number, double hysteresis);

#endif
