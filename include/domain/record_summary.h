/* The record summary of docs/api.md as JSON, for every page that lists records. */
#ifndef DOMAIN_RECORD_SUMMARY_H
#define DOMAIN_RECORD_SUMMARY_H

#include <jansson.h>
#include "store/test_record.h"

json_t *record_summary_to_json(const struct record_summary *s);		    /* new reference; NULL for no memory */
json_t *record_summaries_to_json(const struct record_summary *s, size_t n); /* array */

#endif
