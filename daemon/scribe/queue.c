/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/queue.h"

#include <assert.h>

#include "daemon/scribe/shared_bytes.h"

struct td_queue *td_queue_make(uint64_t size, struct td_error *err)
{
	struct td_queue *queue = td_shared_bytes(sizeof(*queue) + size * sizeof(struct td_entry), err);

	assert(size > 0 && (size & (size - 1)) == 0);
	if (queue)
		queue->size = size;
	return queue;
}

size_t td_queue_bytes(const struct td_queue *queue)
{
	return sizeof(*queue) + queue->size * sizeof(struct td_entry);
}

uint64_t td_queue_room(struct td_queue *queue)
{
	uint64_t put = atomic_load_explicit(&queue->put, memory_order_relaxed);

	return queue->size - (put - atomic_load_explicit(&queue->left, memory_order_acquire));
}

bool td_queue_put(struct td_queue *queue, const struct td_entry *entry)
{
	uint64_t put = atomic_load_explicit(&queue->put, memory_order_relaxed);

	if (td_queue_room(queue) == 0)
		return false;
	queue->entry[put & (queue->size - 1)] = *entry;
	atomic_store_explicit(&queue->put, put + 1, memory_order_release);
	return true;
}

const struct td_entry *td_queue_first(struct td_queue *queue)
{
	uint64_t left = atomic_load_explicit(&queue->left, memory_order_relaxed);

	if (left == atomic_load_explicit(&queue->put, memory_order_acquire))
		return NULL;
	return &queue->entry[left & (queue->size - 1)];
}

void td_queue_drop(struct td_queue *queue)
{
	uint64_t left = atomic_load_explicit(&queue->left, memory_order_relaxed);

	atomic_store_explicit(&queue->left, left + 1, memory_order_release);
}
