/*
 * A HART master's native build on random lines, one deed a line with what came of it, for tests/wasm/hart.test.js to do the same with
 * the module. Usage: hart_cases EXCHANGES SEED. Bytes are hexadecimal, "-" none.
 *
 *   begin POLL / request COMMAND DATA = BYTES / take BYTES = ANSWER CODE / ended = ANSWER CODE / learn = YES REVISION
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "field/hart_frame.h"
#include "field/wasm/modem.h"
#include "metrology/number.h"

#define LINE_MAX_SIZE 700

static uint64_t state;

WRAPS_BY_DESIGN static uint64_t bits(void) /* splitmix64 */
{
	uint64_t z = state += 0x9e3779b97f4a7c15u;

	z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
	z = (z ^ z >> 27) * 0x94d049bb133111ebu;
	return z ^ z >> 31;
}

static int below(int n)
{
	return (int)(bits() % (uint64_t)n);
}

static void put_bytes(const uint8_t *bytes, int n)
{
	putchar(' ');
	for (int i = 0; i < n; i++)
		printf("%02x", bytes[i]);
	if (n == 0)
		putchar('-');
}

static void put_answer(int n)
{
	fputs(" =", stdout);
	put_bytes(modem_buffer(), n);
	printf(" %d\n", n ? modem_code() : 0);
}

/* What a line may bring: whole frames of all kinds and masters, broken ones, parts of some, noise. */
static int some_frame(const struct hart_frame *asked, uint8_t *out)
{
	uint8_t data[253];
	struct hart_frame f = *asked;
	size_t n, preambles = (size_t)below(8);

	for (size_t i = 0; i < sizeof data; i++)
		data[i] = (uint8_t)bits();
	f.type = below(3) ? HART_ANSWER : HART_BURST;
	f.data = data;
	f.size = below(6) ? (size_t)below(40) : (size_t)below(253);
	f.code = below(3) ? 0 : (uint8_t)bits();
	f.status = (uint8_t)bits();
	if (f.command == 0 && below(4)) { /* as a device says who it is */
		data[0] = 254;
		f.code = 0;
		f.size = f.size < 12 ? 22 : f.size;
	}
	if (!below(5))
		f.command = (uint8_t)bits();
	if (!below(5))
		f.address.primary = false;
	if (!below(6))
		f.address.device_id ^= 1;
	for (size_t i = 0; i < preambles; i++)
		out[i] = 0xff;
	n = preambles + (below(8) ? hart_answer(out + preambles, HART_FRAME_MAX, &f) :
				    hart_request(out + preambles, HART_FRAME_MAX, &f.address, f.command, NULL, 0));
	if (!below(5))
		out[below((int)n ? (int)n : 1)] ^= (uint8_t)(1 << below(8));
	return below(6) ? (int)n : below((int)n + 1);
}

static int some_line(const struct hart_frame *asked, uint8_t *out)
{
	int n = 0;

	for (int parts = 1 + below(3); parts > 0 && n < LINE_MAX_SIZE; parts--) {
		for (int noise = below(4) ? 0 : below(30); noise > 0; noise--)
			out[n++] = below(3) ? (uint8_t)bits() : 0xff;
		n += some_frame(asked, out + n);
	}
	return n;
}

static void feed(const uint8_t *bytes, int n)
{
	for (int at = 0; at < n;) {
		int lot = 1 + below(below(3) ? 64 : 1 + below(8));

		lot = lot < n - at ? lot : n - at;
		memcpy(modem_buffer(), bytes + at, (size_t)lot);
		fputs("take", stdout);
		put_bytes(bytes + at, lot);
		modem_take(lot);
		at += lot;
		lot = modem_answer(false);
		put_answer(lot);
		if (lot)
			return;
	}
	fputs("ended", stdout);
	put_answer(modem_answer(true));
}

static void exchange(void)
{
	static uint8_t line[2 * LINE_MAX_SIZE];
	uint8_t data[8];
	int command = below(3) ? (int)"\0\1\2\3\11\15\24\60"[below(8)] : below(256),
	    n = command == 9 ? 1 + below(8) : 0;
	struct hart_frame asked = {0};
	size_t taken, start = 0;

	for (int i = 0; i < 8; i++)
		data[i] = (uint8_t)bits();
	memcpy(modem_buffer(), data, 8);
	printf("request %d", command);
	put_bytes(data, n);
	n = modem_request(command, n);
	fputs(" =", stdout);
	put_bytes(modem_buffer(), n);
	putchar('\n');
	if (!n)
		return;
	while (modem_buffer()[start] == 0xff)
		start++;
	hart_parse(modem_buffer() + start, (size_t)n - start, &asked, &taken);
	feed(line, some_line(&asked, line));
	printf("learn = %d", modem_learn());
	printf(" %d\n", modem_universal());
}

int main(int argc, char **argv)
{
	int exchanges = argc > 1 ? atoi(argv[1]) : 1000;

	state = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
	for (int i = 0; i < exchanges; i++) {
		if (i % 20 == 0) {
			int poll = below(64);

			printf("begin %d\n", poll);
			modem_begin(poll);
		}
		exchange();
	}
	return 0;
}
