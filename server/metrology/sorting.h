/* Sorting of many numbers in equal time whatever their order. */
#ifndef METROLOGY_SORTING_H
#define METROLOGY_SORTING_H

#include <stddef.h>

/* Ascending; no NaN among them; scratch holds n too. */
void sort_numbers(double *v, double *scratch, size_t n);

#endif
