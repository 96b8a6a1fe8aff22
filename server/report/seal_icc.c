/*
 * The profile is built here, so that no file is needed beside the program. Colorants are those of IEC 61966-2-1, adapted
 * from D65 to the profile's D50 by Bradford's matrix (ICC.1 annex E); a test computes them from the chromaticities.
 */
#include "seal_icc.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define TAGS	   9
#define TABLE	   (128 + 4 + 12 * TAGS)
#define DESC	   TABLE
#define DESC_SIZE  108 /* 12 + text of 18 + 4 + 4 + 2 + 1 + 67 */
#define CPRT	   (DESC + DESC_SIZE)
#define CPRT_SIZE  24
#define WTPT	   (CPRT + CPRT_SIZE)
#define XYZ_SIZE   20
#define CURVE	   (WTPT + 4 * XYZ_SIZE)
#define CURVE_SIZE (12 + 2 * STEPS)
#define STEPS	   1024

_Static_assert(CURVE + CURVE_SIZE == SEAL_ICC_SIZE, "the parts fill the profile");

static const char name[] = "sRGB IEC61966-2.1";

static void put32(unsigned char *at, uint32_t v)
{
	at[0] = (unsigned char)(v >> 24);
	at[1] = (unsigned char)(v >> 16);
	at[2] = (unsigned char)(v >> 8);
	at[3] = (unsigned char)v;
}

static void put16(unsigned char *at, unsigned int v)
{
	at[0] = (unsigned char)(v >> 8);
	at[1] = (unsigned char)v;
}

/* Four or more letters without an end, as ICC writes its names. */
static void put_letters(unsigned char *at, const char *letters)
{
	while (*letters)
		*at++ = (unsigned char)*letters++;
}

static void put_fixed(unsigned char *at, double v) /* s15Fixed16 */
{
	put32(at, (uint32_t)lround(v * 65536));
}

static void put_xyz(unsigned char *at, const double xyz[3])
{
	put_letters(at, "XYZ ");
	for (int i = 0; i < 3; i++)
		put_fixed(at + 8 + 4 * i, xyz[i]);
}

static void put_tag(unsigned char *table, int i, const char *sign, uint32_t at, uint32_t size)
{
	put_letters(table + 4 + 12 * i, sign);
	put32(table + 8 + 12 * i, at);
	put32(table + 12 + 12 * i, size);
}

static void put_header(unsigned char *out)
{
	static const double d50[3] = {0.9642, 1.0, 0.8249}; /* ICC.1:2001-04 6.1.9 */

	put32(out, SEAL_ICC_SIZE);
	put32(out + 8, 0x02100000); /* version 2.1 */
	put_letters(out + 12, "mntrRGB XYZ ");
	put16(out + 24, 2026); /* made: 2026-01-01 */
	put16(out + 26, 1);
	put16(out + 28, 1);
	put_letters(out + 36, "acsp");
	for (int i = 0; i < 3; i++)
		put_fixed(out + 68 + 4 * i, d50[i]);
}

/* IEC 61966-2-1 5.2: from a coded value to light. */
static double light(double v)
{
	return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static void put_curve(unsigned char *at)
{
	put_letters(at, "curv");
	put32(at + 8, STEPS);
	for (int i = 0; i < STEPS; i++)
		put16(at + 12 + 2 * i, (unsigned int)lround(65535 * light(i / (double)(STEPS - 1))));
}

void seal_icc_srgb(unsigned char out[SEAL_ICC_SIZE])
{
	static const double white[3] = {0.9642, 1.0, 0.8249}, red[3] = {0.43607, 0.22249, 0.01392},
			    green[3] = {0.38515, 0.71687, 0.09708}, blue[3] = {0.14307, 0.06061, 0.71410};
	static const char copyright[] = "No copyright"; /* facts of a standard */
	unsigned char *table = out + 128;

	memset(out, 0, SEAL_ICC_SIZE);
	put_header(out);
	put32(table, TAGS);
	put_tag(table, 0, "desc", DESC, DESC_SIZE);
	put_tag(table, 1, "cprt", CPRT, 8 + sizeof copyright);
	put_tag(table, 2, "wtpt", WTPT, XYZ_SIZE);
	put_tag(table, 3, "rXYZ", WTPT + XYZ_SIZE, XYZ_SIZE);
	put_tag(table, 4, "gXYZ", WTPT + 2 * XYZ_SIZE, XYZ_SIZE);
	put_tag(table, 5, "bXYZ", WTPT + 3 * XYZ_SIZE, XYZ_SIZE);
	put_tag(table, 6, "rTRC", CURVE, CURVE_SIZE);
	put_tag(table, 7, "gTRC", CURVE, CURVE_SIZE);
	put_tag(table, 8, "bTRC", CURVE, CURVE_SIZE);
	put_letters(out + DESC, "desc");
	put32(out + DESC + 8, sizeof name);
	put_letters(out + DESC + 12, name);
	put_letters(out + CPRT, "text");
	put_letters(out + CPRT + 8, copyright);
	put_xyz(out + WTPT, white);
	put_xyz(out + WTPT + XYZ_SIZE, red);
	put_xyz(out + WTPT + 2 * XYZ_SIZE, green);
	put_xyz(out + WTPT + 3 * XYZ_SIZE, blue);
	put_curve(out + CURVE);
}
