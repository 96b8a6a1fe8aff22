/* The record's chart: error in % of span over the input, from the readings as judged. */
#ifndef REPORT_CHART_H
#define REPORT_CHART_H

#include "page.h"
#include "words.h"

/* Sets the chart from the page's y over its full width, height points high with its title. Nothing when nothing was read. */
void chart_set(struct page *p, const struct record *r, struct words *w, double height);

/* Whether there is a chart: one reading at least can be drawn. */
bool chart_stands(const struct record *r);

/* chart_switch.c: where a switch acted and went back, one line an actuation, as high as that takes. */
void chart_switch_set(struct page *p, const struct record *r, struct words *w);

/* 1, 2 or 5 times a power of ten, giving about n steps; and the decimals that write it. */
double chart_step(double range, int n);
int chart_step_decimals(double step);

#endif
