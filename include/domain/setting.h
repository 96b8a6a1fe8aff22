/* The plant's own settings: how it is named and how its certificates look. */
#ifndef DOMAIN_SETTING_H
#define DOMAIN_SETTING_H

#include "base/json.h"
#include "domain/actor.h"
#include "domain/paper.h"
#include "store/setting.h"

struct settings {
	const char *plant_name;		/* "" before the plant is set up */
	const char *plant_address;	/* lines; "" without */
	const char *country;		/* ISO 3166-1, "GB"; "" without */
	const char *certificate_prefix; /* 1..12 of A-Z 0-9 and - inside: certificate numbers begin with it */
	enum paper paper;
	const char *public_address; /* "https://plant.example:8470", under which QR codes lead here; "" without */
	bool approval;		    /* a third person approves before a certificate is issued */
	bool verify_public;	    /* who holds a certificate may check it without signing in */
	bool seal_each;		/* each person's signature becomes a revision of the PDF of its own; else one seal */
	const char *time_stamp; /* address of the RFC 3161 authority that stamps seals; "" without */
	bool demo;		/* read only: the plant is invented */
};

/* With the values that hold where nothing was set. Text is allocated from a. */
enum status settings_get(struct db *db, struct arena *a, struct settings *out, struct err *err);
enum status settings_from_json(json_t *body, struct settings *out, struct err *err);
json_t *settings_to_json(const struct settings *s);
enum status settings_change(struct db *db, const struct actor *actor, const struct settings *s, struct arena *a,
			    struct err *err);

/* The initials of the plant's name in capitals, as a first certificate prefix: "Brackenholm Water Works" gives "BWW"; "C" where
 * there are none. */
void settings_prefix_of(const char *plant_name, char out[13]);

const char *paper_word(enum paper p); /* "a4", "letter" */

#endif
