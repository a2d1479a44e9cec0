/* SPDX-License-Identifier: MIT */
#include "daemon/front/pending.h"

#include <stdlib.h>

#include "daemon/heap.h"

void td_pending_add(struct td_pendings *list, const struct td_pending *like)
{
	struct td_pending *pending = td_heap_take(sizeof(*pending));

	*pending = *like;
	json_incref(pending->id);
	TAILQ_INSERT_TAIL(list, pending, link);
}

struct td_pending *td_pending_find(struct td_pendings *list, uint64_t tag)
{
	for (struct td_pending *pending = TAILQ_FIRST(list); pending; pending = TAILQ_NEXT(pending, link)) {
		if (pending->tag == tag)
			return pending;
	}
	return NULL;
}

struct td_pending *td_pending_old(struct td_pendings *list, td_ns before_ns)
{
	struct td_pending *first = TAILQ_FIRST(list);

	return first && first->sent_ns < before_ns ? first : NULL;
}

bool td_pending_requests(struct td_pendings *list, uint32_t session, uint8_t axis)
{
	for (struct td_pending *pending = TAILQ_FIRST(list); pending; pending = TAILQ_NEXT(pending, link)) {
		if (pending->kind == TD_EVENT_REQUEST && pending->session == session &&
		    (axis == TD_ALL_AXES || pending->axis == axis))
			return true;
	}
	return false;
}

void td_pending_forget(struct td_pendings *list, uint32_t session)
{
	for (struct td_pending *pending = TAILQ_FIRST(list); pending; pending = TAILQ_NEXT(pending, link)) {
		if (pending->session == session)
			pending->exchange = NULL;
	}
}

void td_pending_drop(struct td_pendings *list, struct td_pending *pending)
{
	TAILQ_REMOVE(list, pending, link);
	json_decref(pending->id);
	free(pending);
}
