/* The map of the server: what can be asked for, who may, and what the handler needs from the store. */
#include "api/api.h"
#include "api/handlers.h"

const struct route api_routes[] = {
	/* plant and sign-in */
	{"GET", "/api/v1/plant", PERM_PUBLIC, ROUTE_READ, false, api_plant_get},
	{"POST", "/api/v1/setup", PERM_PUBLIC, ROUTE_PLAIN, false, api_setup},
	{"POST", "/api/v1/session", PERM_PUBLIC, ROUTE_PLAIN, false, api_session_open},
	{"GET", "/api/v1/session", PERM_SIGNED_IN, ROUTE_READ, false, api_session_get},
	{"DELETE", "/api/v1/session", PERM_SIGNED_IN, ROUTE_WRITE, false, api_session_close},
	{"POST", "/api/v1/session/password", PERM_SIGNED_IN, ROUTE_PLAIN, true, api_session_password},
	{"GET", "/api/v1/settings", PERM_VIEW, ROUTE_READ, false, api_settings_get},
	{"PUT", "/api/v1/settings", PERM_ADMINISTER, ROUTE_WRITE, false, api_settings_change},

	/* people */
	{"GET", "/api/v1/people", PERM_VIEW, ROUTE_READ, false, api_people_list},
	{"POST", "/api/v1/people", PERM_ADMINISTER, ROUTE_PLAIN, false, api_people_add},
	{"GET", "/api/v1/people/{id}", PERM_VIEW, ROUTE_READ, false, api_people_get},
	{"PUT", "/api/v1/people/{id}", PERM_ADMINISTER, ROUTE_WRITE, false, api_people_change},
	{"POST", "/api/v1/people/{id}/password", PERM_ADMINISTER, ROUTE_PLAIN, false, api_people_password},

	/* register */

	/* test records */

	/* ledger */
	{"GET", "/api/v1/ledger", PERM_VIEW, ROUTE_READ, false, api_ledger_list},
	{"GET", "/api/v1/ledger/check", PERM_VIEW, ROUTE_READ, false, api_ledger_check},

	/* computation */
	{"POST", "/api/v1/compute/{kind}", PERM_VIEW, ROUTE_PLAIN, false, api_compute},

	/* the API's own description, and the pages */
	{"GET", "/api/v1/openapi.json", PERM_PUBLIC, ROUTE_PLAIN, false, api_openapi},
	{"GET", "*", PERM_PUBLIC, ROUTE_PLAIN, false, api_page},
	{NULL, NULL, PERM_PUBLIC, ROUTE_PLAIN, false, NULL},
};
