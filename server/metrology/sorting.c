/*
 * Radix sort: the bits of a double, with the sign turned, count like an unsigned integer. Six passes of eleven bits,
 * from the lowest on; a pass that would move nothing is skipped.
 */
#include "sorting.h"

#include <stdint.h>
#include <string.h>

#define BITS	11
#define BUCKETS (1u << BITS)

static inline uint64_t key_of(double v)
{
	uint64_t bits;

	memcpy(&bits, &v, sizeof bits);
	return bits >> 63 ? ~bits : bits | (uint64_t)1 << 63;
}

static inline unsigned bucket_of(double v, int shift)
{
	return (unsigned)(key_of(v) >> shift) & (BUCKETS - 1);
}

static void pass(const double *from, double *to, size_t n, int shift, uint32_t *start)
{
	uint32_t sum = 0;

	for (unsigned b = 0; b < BUCKETS; b++) {
		uint32_t count = start[b];

		start[b] = sum;
		sum += count;
	}
	for (size_t i = 0; i < n; i++)
		to[start[bucket_of(from[i], shift)]++] = from[i];
}

void sort_numbers(double *v, double *scratch, size_t n)
{
	double *from = v, *to = scratch;

	if (n == 0)
		return;
	for (int shift = 0; shift < 64; shift += BITS) {
		uint32_t count[BUCKETS] = {0};
		double *other = from;

		for (size_t i = 0; i < n; i++)
			count[bucket_of(from[i], shift)]++;
		if (count[bucket_of(from[0], shift)] == n)
			continue;
		pass(from, to, n, shift, count);
		from = to;
		to = other;
	}
	if (from != v)
		memcpy(v, from, n * sizeof *v);
}
