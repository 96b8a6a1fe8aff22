/* What a compiler calls on its own, where there is no C library. */
#include <string.h>

void *memcpy(void *restrict to, const void *restrict from, size_t n)
{
	unsigned char *t = to;
	const unsigned char *f = from;

	while (n-- > 0)
		*t++ = *f++;
	return to;
}

void *memmove(void *to, const void *from, size_t n)
{
	unsigned char *t = to;
	const unsigned char *f = from;

	if (t < f)
		return memcpy(to, from, n);
	while (n-- > 0)
		t[n] = f[n];
	return to;
}

void *memset(void *to, int value, size_t n)
{
	unsigned char *t = to;

	while (n-- > 0)
		*t++ = (unsigned char)value;
	return to;
}

size_t strlen(const char *text)
{
	size_t n = 0;

	while (text[n])
		n++;
	return n;
}
