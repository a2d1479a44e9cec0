/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/shelf.h"

#include <errno.h>
#include <string.h>
#include <sys/mman.h>

struct td_shelf *td_shelf_make(struct td_error *err)
{
	void *memory = mmap(NULL, sizeof(struct td_shelf), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS,
			    -1, 0);

	if (memory != MAP_FAILED)
		return memory;
	td_error_set(err, "no memory to share with the scribe process: %s", strerror(errno));
	return NULL;
}

struct td_shelf_record *td_shelf_place(struct td_shelf *shelf)
{
	return &shelf->record[(atomic_load(&shelf->laid) + 1) % 2];
}

void td_shelf_lay(struct td_shelf *shelf)
{
	atomic_fetch_add(&shelf->laid, 1);
}

bool td_shelf_take(struct td_shelf *shelf, uint32_t *taken, struct td_shelf_record *copy)
{
	uint32_t laid = atomic_load(&shelf->laid);

	if (laid == 0 || laid == *taken)
		return false;
	*copy = shelf->record[laid % 2];
	if (atomic_load(&shelf->laid) != laid)
		return false;
	*taken = laid;
	return true;
}
