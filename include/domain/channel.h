/*
 * Channels: from which device, over which protocol, the input or output of an instrument or a standard is read, and whether
 * that device may be driven. docs/api.md says the members of "source".
 */
#ifndef DOMAIN_CHANNEL_H
#define DOMAIN_CHANNEL_H

#include "base/json.h"
#include "domain/actor.h"
#include "field/source.h"
#include "store/channel.h"

/* The source object, member by member, each judged under its own pointer. */
void channel_source_read(struct json_in *source, struct field_config *out);
/* The same from the column, which we wrote; FAILED when it cannot be read. */
enum status channel_config(const struct channel *c, struct field_config *out, struct err *err);
/* In a few words where the value comes from: "HART-IP 10.0.4.17, primary variable". */
void channel_words(const struct field_config *config, char *out, size_t size);
const char *field_protocol_word(enum field_protocol p); /* "hart_ip_udp"; NULL for a number that is none */

/* What a device says of its value, of enum field_status, as a list of words. New reference. */
json_t *channel_status_json(unsigned status);

json_t *channel_to_json(const struct channel *c);
/* Body of POST: instrument_id or standard_id, side, source, period_ms. Of PUT (change): source and period_ms. */
enum status channel_from_json(json_t *body, bool change, struct arena *a, struct channel *out, struct err *err);

enum status channel_add(struct db *db, const struct actor *actor, struct channel *c, struct arena *a, struct err *err);
/* A new source forgets which device was confirmed. */
enum status channel_change(struct db *db, const struct actor *actor, struct channel *c, struct arena *a,
			   struct err *err);
enum status channel_remove(struct db *db, const struct actor *actor, const char *id, int version, struct arena *a,
			   struct err *err);
/* Somebody has looked: this device is the one. INVALID /device_tag when its tag names another instrument. */
enum status channel_confirm(struct db *db, const struct actor *actor, const char *id, int version,
			    const struct field_identity *device, struct arena *a, struct channel *out, struct err *err);

/*
 * Is the device that answered the one that c is about? label is the tag of the instrument or the code of the standard. OK,
 * CONFLICT with both names in the sentence: another device than the one that was confirmed, or one that carries the tag of
 * something else. Tags are compared by their letters and digits alone; a tag of 8 characters, as HART's short one is, may be the
 * beginning or the end of the label.
 */
enum status channel_fits_device(const struct channel *c, const struct field_identity *device, struct err *err);

#endif
