/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/shared.h"

#include <sys/mman.h>

#include "daemon/mover/meter.h"
#include "daemon/scribe/shared_bytes.h"

int td_shared_make(struct td_shared *shared, struct td_error *err)
{
	*shared = (struct td_shared){
		.records = td_shelf_make(sizeof(struct td_shelf_record), err),
		.snapshots = td_shelf_make(sizeof(struct td_snapshot), err),
		.steps = td_queue_make(TD_QUEUE_STEPS, err),
		.clients = td_queue_make(TD_QUEUE_CLIENTS, err),
		.tally = td_shared_bytes(sizeof(struct td_tally), err),
		.meters = td_shelf_make(sizeof(struct td_meter), err),
	};
	bool made = shared->records && shared->snapshots && shared->steps && shared->clients &&
		    shared->tally && shared->meters;

	return made ? 0 : -1;
}

bool td_shared_bar_front(const struct td_shared *shared)
{
	return munmap(shared->records, td_shelf_bytes(shared->records)) == 0 &&
	       munmap(shared->snapshots, td_shelf_bytes(shared->snapshots)) == 0 &&
	       munmap(shared->steps, td_queue_bytes(shared->steps)) == 0 &&
	       mprotect(shared->meters, td_shelf_bytes(shared->meters), PROT_READ) == 0 &&
	       mprotect(shared->tally, sizeof(*shared->tally), PROT_READ) == 0;
}
