/*
 * What stands in the data of HART answers. Pure like hart_frame.h. Numbers come out as double; NaN means that the device
 * gave none: it then sent a "not a number", or an infinity.
 *
 * Texts are UTF-8 without spaces at their end; what no text should hold comes out as '?'.
 */
#ifndef FIELD_HART_DATA_H
#define FIELD_HART_DATA_H

#include "hart_frame.h"

enum hart_unit_code { HART_UNIT_MA = 39, HART_UNIT_PERCENT = 57, HART_NOT_USED = 250, HART_NONE = 251 };
/* Device variable codes with the same meaning in every device, for command 9. */
enum hart_variable_code {
	HART_VARIABLE_PERCENT = 244,
	HART_VARIABLE_CURRENT = 245,
	HART_VARIABLE_PV = 246,
	HART_VARIABLE_SV = 247,
	HART_VARIABLE_TV = 248,
	HART_VARIABLE_QV = 249
};
/* Bits of the device status byte (from memory; 0x10 confirmed by public code). */
enum hart_status {
	HART_MALFUNCTION = 0x80,
	HART_CONFIG_CHANGED = 0x40,
	HART_COLD_START = 0x20,
	HART_MORE = 0x10,
	HART_FIXED = 0x08,
	HART_SATURATED = 0x04,
	HART_OTHER_OUT_OF_LIMITS = 0x02,
	HART_OUT_OF_LIMITS = 0x01
};

struct hart_variable {
	uint8_t code, classification, unit; /* code and classification: command 9 only */
	uint8_t status;			    /* command 9: bits 7-6 0 bad, 1 poor, 2 fixed, 3 good; 5-4 limited */
	double value;
};

struct hart_device {	   /* command 0 */
	uint16_t type;	   /* expanded device type, all 16 bits */
	uint32_t id;	   /* 24 bits */
	uint8_t preambles; /* the device wants before a request */
	uint8_t universal, revision, software, hardware, signalling, flags;
	uint8_t preambles_back; /* from here on: 0 in devices that do not say (before revision 6) */
	uint8_t variables, extended, profile;
	uint16_t changes, maker, label; /* changes of configuration so far */
};

struct hart_values { /* commands 1, 2, 3, 9; NaN where the command does not say */
	double current, percent;
	size_t count;
	struct hart_variable variables[8];
	uint8_t extended; /* command 9 */
	bool has_time;
	uint32_t time_32; /* 1/32 ms since midnight, as the device sees it */
};

struct hart_range { /* commands 14 and 15 */
	uint8_t unit;
	double upper, lower;
	double span;	 /* 14: smallest span */
	uint32_t serial; /* 14: of the transducer */
	double damping_s;
	uint8_t alarm, transfer, protect; /* 15 */
};

struct hart_data {
	uint8_t command;
	struct hart_device device;   /* 0 */
	struct hart_values values;   /* 1 2 3 9 */
	uint8_t poll, loop_current;  /* 7; loop_current 1: it follows, 0: fixed; 1 when the device does not say */
	uint8_t classification[4];   /* 8 */
	char text[100];		     /* 12 message, 20 long tag */
	char tag[9], descriptor[17]; /* 13 */
	int day, month, year;	     /* 13 */
	struct hart_range range;     /* 14 15 */
	uint32_t assembly;	     /* 16 */
	uint8_t more[25];	     /* 48 */
	size_t more_count;
};

/* False: the command is none of those, or its data are shorter than they must be. Only of frames without an error. */
bool hart_decode(const struct hart_frame *answer, struct hart_data *out);

/* What a response code says, other than 0. */
const char *hart_code_words(uint8_t code);
/* A warning: the data are there and right all the same. */
bool hart_code_is_warning(uint8_t code);

double hart_float(const uint8_t bytes[4]);
void hart_float_write(uint8_t out[4], double value); /* NaN and what float does not hold: the "not a number" of HART */
/* count characters, a multiple of 4, in 6 bits each; out holds count + 1. */
void hart_unpack(const uint8_t *bytes, size_t count, char *out);
/* Spaces fill up; letters become capitals; what the alphabet lacks becomes '?'. */
void hart_pack(const char *text, size_t count, uint8_t *out);

/* A symbol of metrology/unit.h; "" for none; NULL when we have no such unit or the code is not known to us. */
const char *hart_unit_symbol(uint8_t code);
uint8_t hart_unit_code(const char *symbol); /* HART_NONE when HART has none */

#endif
