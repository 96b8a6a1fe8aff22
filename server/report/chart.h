/* The record's chart: error in % of span over the input, from the readings as judged. */
#ifndef REPORT_CHART_H
#define REPORT_CHART_H

#include "page.h"
#include "words.h"

/* Sets the chart from the page's y over its full width, height points high with its title. Nothing when nothing was read. */
void chart_set(struct page *p, const struct record *r, struct words *w, double height);

#endif
