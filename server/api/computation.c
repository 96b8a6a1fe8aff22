#include "api/api.h"
#include "api/compute.h"
#include "api/handlers.h"

enum status api_compute(struct request *req, struct reply *reply)
{
	return compute_run(req->params[0], req->body, &reply->json, &reply->err);
}
