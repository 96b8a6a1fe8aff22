#include "api/api.h"
#include "api/handlers.h"
#include "listing.h"
#include "metrology/unit.h"

enum status api_unit_list(struct request *req, struct reply *reply)
{
	json_t *items = json_array();
	const struct unit *u;

	(void)req;
	for (int i = 0; (u = unit_at(i)) != NULL; i++)
		json_array_append_new(items, json_pack("{s:s, s:s}", "symbol", u->symbol, "dimension", u->dimension));
	return listing_reply(reply, items, NULL);
}
