/* The handlers that the route table names, resource by resource. */
#ifndef API_HANDLERS_H
#define API_HANDLERS_H

#include "http/http.h"

/* plant, session, people, settings, ledger: server/api/session.c, people.c, settings.c, ledger.c */
enum status api_plant_get(struct request *req, struct reply *reply);
enum status api_setup(struct request *req, struct reply *reply);
enum status api_session_open(struct request *req, struct reply *reply);
enum status api_session_get(struct request *req, struct reply *reply);
enum status api_session_close(struct request *req, struct reply *reply);
enum status api_session_password(struct request *req, struct reply *reply);
enum status api_people_list(struct request *req, struct reply *reply);
enum status api_people_add(struct request *req, struct reply *reply);
enum status api_people_get(struct request *req, struct reply *reply);
enum status api_people_change(struct request *req, struct reply *reply);
enum status api_people_password(struct request *req, struct reply *reply);
enum status api_settings_get(struct request *req, struct reply *reply);
enum status api_settings_change(struct request *req, struct reply *reply);
enum status api_ledger_list(struct request *req, struct reply *reply);
enum status api_ledger_check(struct request *req, struct reply *reply);

/* register */

/* test records */

/* computation: server/api/computation.c */
enum status api_compute(struct request *req, struct reply *reply);

/* pages and the API's own description: server/api/pages.c */
enum status api_openapi(struct request *req, struct reply *reply);
enum status api_page(struct request *req, struct reply *reply);

#endif
