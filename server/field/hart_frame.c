#include "hart_frame.h"

#define PREAMBLE 0xff

static uint8_t checksum(const uint8_t *bytes, size_t size)
{
	uint8_t x = 0;

	for (size_t i = 0; i < size; i++)
		x ^= bytes[i];
	return x;
}

static bool type_is_known(uint8_t delimiter)
{
	uint8_t type = delimiter & 7;

	return type == HART_BURST || type == HART_REQUEST || type == HART_ANSWER;
}

static void parse_address(const uint8_t *p, bool is_long, struct hart_frame *out)
{
	out->address = (struct hart_address){.is_long = is_long, .primary = p[0] & 0x80};
	out->burst_mode = p[0] & 0x40;
	if (!is_long) {
		out->address.poll = p[0] & 0x3f;
		return;
	}
	out->address.device_type = (uint16_t)((p[0] & 0x3f) << 8 | p[1]);
	out->address.device_id = (uint32_t)p[2] << 16 | (uint32_t)p[3] << 8 | p[4];
}

enum hart_result hart_parse(const uint8_t *bytes, size_t size, struct hart_frame *out, size_t *taken)
{
	size_t address, head, length;

	*taken = 0;
	if (size < 1)
		return HART_INCOMPLETE;
	/* Bits 4 and 3 are the physical layer: 0 here (FSK, and in every message of the captures). */
	if (!type_is_known(bytes[0]) || bytes[0] & 0x18)
		return HART_BROKEN;
	address = bytes[0] & 0x80 ? 5 : 1;
	head = 1 + address + (bytes[0] >> 5 & 3) + 2;
	if (size < head)
		return HART_INCOMPLETE;
	length = head + bytes[head - 1] + 1;
	if (size < length)
		return HART_INCOMPLETE;
	*taken = length;
	*out = (struct hart_frame){.type = (enum hart_type)(bytes[0] & 7)};
	parse_address(bytes + 1, address == 5, out);
	out->command = bytes[head - 2];
	out->data = bytes + head;
	out->size = bytes[head - 1];
	if (checksum(bytes, length - 1) != bytes[length - 1])
		return HART_CHECKSUM;
	if (out->type == HART_REQUEST)
		return HART_OK;
	if (out->size < 2)
		return HART_BROKEN;
	out->code = out->data[0];
	out->status = out->data[1];
	out->data += 2;
	out->size -= 2;
	return HART_OK;
}

enum hart_result hart_find(const uint8_t *bytes, size_t size, bool ended, struct hart_frame *out, size_t *taken)
{
	size_t i = 0, start, length;
	enum hart_result rc;

	*taken = 0;
	while (i + 1 < size) {
		if (bytes[i] != PREAMBLE || bytes[i + 1] != PREAMBLE) {
			i++;
			continue;
		}
		for (start = i; start < size && bytes[start] == PREAMBLE;)
			start++;
		rc = hart_parse(bytes + start, size - start, out, &length);
		if (rc == HART_OK) {
			*taken = start + length;
			return HART_OK;
		}
		if (rc == HART_INCOMPLETE && !ended) {
			*taken = i;
			return HART_INCOMPLETE;
		}
		/* A false beginning: a true one may stand inside what it claimed. */
		i = start;
	}
	*taken = size > 0 && bytes[size - 1] == PREAMBLE && !ended ? size - 1 : size;
	return HART_BROKEN;
}

bool hart_is_query(uint8_t command)
{
	static const uint8_t queries[] = {0, 1, 2, 3, 7, 8, 9, 12, 13, 14, 15, 16, 20, 48};

	for (size_t i = 0; i < sizeof queries; i++) {
		if (queries[i] == command)
			return true;
	}
	return false;
}

static size_t write_head(uint8_t *out, const struct hart_address *a, enum hart_type type, bool burst_mode)
{
	uint8_t bits = (uint8_t)((a->primary ? 0x80 : 0) | (burst_mode ? 0x40 : 0));

	if (!a->is_long) {
		out[0] = (uint8_t)type;
		out[1] = bits | (a->poll & 0x3f);
		return 2;
	}
	out[0] = 0x80 | (uint8_t)type;
	out[1] = bits | (a->device_type >> 8 & 0x3f);
	out[2] = (uint8_t)a->device_type;
	out[3] = (uint8_t)(a->device_id >> 16);
	out[4] = (uint8_t)(a->device_id >> 8);
	out[5] = (uint8_t)a->device_id;
	return 6;
}

size_t hart_request(uint8_t *out, size_t room, const struct hart_address *to, uint8_t command, const uint8_t *data,
		    size_t size)
{
	size_t n;

	/* Device variables of command 9 are all that any query carries. */
	if (!hart_is_query(command) || (size > 0 && command != 9) || size > 8 || room < 6 + 2 + size + 1)
		return 0;
	n = write_head(out, to, HART_REQUEST, false);
	out[n++] = command;
	out[n++] = (uint8_t)size;
	for (size_t i = 0; i < size; i++)
		out[n++] = data[i];
	out[n] = checksum(out, n);
	return n + 1;
}

size_t hart_answer(uint8_t *out, size_t room, const struct hart_frame *answer)
{
	size_t n;

	if (answer->size > 253 || room < 6 + 4 + answer->size + 1)
		return 0;
	n = write_head(out, &answer->address, answer->type, answer->burst_mode);
	out[n++] = answer->command;
	out[n++] = (uint8_t)(answer->size + 2);
	out[n++] = answer->code;
	out[n++] = answer->status;
	for (size_t i = 0; i < answer->size; i++)
		out[n++] = answer->data[i];
	out[n] = checksum(out, n);
	return n + 1;
}

bool hart_answers(const struct hart_address *asked, uint8_t command, const struct hart_frame *answer)
{
	const struct hart_address *a = &answer->address;

	if (answer->type != HART_ANSWER || answer->command != command || a->is_long != asked->is_long ||
	    a->primary != asked->primary)
		return false;
	return a->is_long ? a->device_type == (asked->device_type & 0x3fff) && a->device_id == asked->device_id :
			    a->poll == asked->poll;
}

static uint16_t u16(const uint8_t *p)
{
	return (uint16_t)(p[0] << 8 | p[1]);
}

bool hart_ip_head_parse(const uint8_t *bytes, size_t size, struct hart_ip_head *out)
{
	if (size < HART_IP_HEAD)
		return false;
	/* Bit 7 of the type is left for what comes; the low four tell it (from memory). */
	*out = (struct hart_ip_head){.version = bytes[0],
				     .type = bytes[1] & 15,
				     .id = bytes[2],
				     .status = bytes[3],
				     .sequence = u16(bytes + 4),
				     .length = u16(bytes + 6)};
	return out->length >= HART_IP_HEAD && out->length <= HART_IP_MAX;
}

void hart_ip_head_write(uint8_t out[HART_IP_HEAD], const struct hart_ip_head *head)
{
	out[0] = head->version;
	out[1] = head->type;
	out[2] = head->id;
	out[3] = head->status;
	out[4] = (uint8_t)(head->sequence >> 8);
	out[5] = (uint8_t)head->sequence;
	out[6] = (uint8_t)(head->length >> 8);
	out[7] = (uint8_t)head->length;
}

const char *hart_ip_refusal(uint8_t status)
{
	switch (status) {
	case 0:	 /* none */
	case 8:	 /* timer set to the nearest possible */
	case 14: /* version not supported: it answers in its own */
	case 30: /* an insecure session exists */
		return NULL;
	case 2:
		return "it does not take this kind of master";
	case 5:
		return "it received too few bytes";
	case 6:
		return "it refuses for a reason of its own";
	case 9:
		return "its security is not set up";
	case 15:
		return "all its sessions are in use";
	case 16:
		return "it has a session with us already";
	}
	return "it refuses";
}
