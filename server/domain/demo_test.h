/* One test at the demo plant, with readings that an instrument of its age would give. */
#ifndef DOMAIN_DEMO_TEST_H
#define DOMAIN_DEMO_TEST_H

#include "demo_internal.h"

/* The number-th test of an instrument, begun at this hour, up to the technician's signature; its record's id goes to id. */
enum status demo_test(struct demo *d, int instrument, int number, int32_t day, double hour, char id[UUID_SIZE]);
/* A test that is under way: the next one, as far as the fourth reading. */
enum status demo_test_begun(struct demo *d, int instrument);

#endif
