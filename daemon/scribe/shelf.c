/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/shelf.h"

#include <string.h>

#include "daemon/scribe/shared_bytes.h"

enum { APART = 64 };

/* Both places begin on a cache line. */
static size_t stride(size_t size)
{
	return (size + APART - 1) / APART * APART;
}

static uint8_t *place_of(struct td_shelf *shelf, uint32_t number)
{
	return shelf->place + number % 2 * stride(shelf->size);
}

struct td_shelf *td_shelf_make(size_t size, struct td_error *err)
{
	struct td_shelf *shelf = td_shared_bytes(sizeof(*shelf) + 2 * stride(size), err);

	if (shelf)
		shelf->size = size;
	return shelf;
}

size_t td_shelf_bytes(const struct td_shelf *shelf)
{
	return sizeof(*shelf) + 2 * stride(shelf->size);
}

/* Nothing of the new one may be seen before the number that td_shelf_lay() gave the last: by the number the reader knows
 * that its copy was written over. A processor with weak order (aarch64) lets later writes pass the add without it. */
void *td_shelf_place(struct td_shelf *shelf)
{
	uint32_t laid = atomic_load(&shelf->laid);

	atomic_thread_fence(memory_order_release);
	return place_of(shelf, laid + 1);
}

void td_shelf_lay(struct td_shelf *shelf)
{
	atomic_fetch_add(&shelf->laid, 1);
}

bool td_shelf_take(struct td_shelf *shelf, uint32_t *taken, void *copy)
{
	uint32_t laid = atomic_load(&shelf->laid);

	if (laid == 0 || laid == *taken)
		return false;
	memcpy(copy, place_of(shelf, laid), shelf->size);
	atomic_thread_fence(memory_order_acquire); /* the copy is made before the number is looked at again */
	if (atomic_load(&shelf->laid) != laid)
		return false;
	*taken = laid;
	return true;
}
