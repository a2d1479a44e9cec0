/* SPDX-License-Identifier: MIT */
#include "daemon/front/history.h"

static const struct td_happening *at(const struct td_history_ring *ring, size_t index)
{
	return &ring->kept[(ring->first + index) % TD_HISTORY_KEPT];
}

const struct td_happening *td_history_add(struct td_history *history, td_ns at_ns,
					  const struct td_note_news *news)
{
	struct td_history_ring *ring = &history->ring[td_cause_kind((enum td_cause)news->cause)];

	if (ring->count == TD_HISTORY_KEPT) {
		ring->gone = at(ring, 0)->n;
		ring->first = (ring->first + 1) % TD_HISTORY_KEPT;
		ring->count--;
	}
	struct td_happening *place = &ring->kept[(ring->first + ring->count) % TD_HISTORY_KEPT];

	*place = (struct td_happening){.n = ++history->last, .at_ns = at_ns, .news = *news};
	ring->count++;
	return place;
}

/* How many of the ring have a number of `n` or below. */
static size_t up_to(const struct td_history_ring *ring, int64_t n)
{
	size_t low = 0;
	size_t high = ring->count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (at(ring, middle)->n <= n)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

const struct td_happening *td_history_after(const struct td_history *history, int64_t n)
{
	const struct td_happening *oldest = NULL;

	if (n >= history->last)
		return NULL;
	for (int kind = 0; kind < TD_HISTORY_KINDS; kind++) {
		const struct td_history_ring *ring = &history->ring[kind];
		size_t index = up_to(ring, n);

		if (index < ring->count && (!oldest || at(ring, index)->n < oldest->n))
			oldest = at(ring, index);
	}
	return oldest;
}

const struct td_happening *td_history_newest(const struct td_history *history, enum td_cause_kind kind,
					     uint8_t axis)
{
	const struct td_history_ring *ring = &history->ring[kind];

	for (size_t index = ring->count; index > 0; index--)
		if (at(ring, index - 1)->news.axis == axis)
			return at(ring, index - 1);
	return NULL;
}

struct td_history_missed td_history_missed(const struct td_history *history, int64_t n)
{
	struct td_history_missed missed = {.count = history->last - n};

	for (int kind = 0; kind < TD_HISTORY_KINDS; kind++) {
		const struct td_history_ring *ring = &history->ring[kind];

		missed.count -= (int64_t)(ring->count - up_to(ring, n));
		missed.of[kind] = ring->gone > n;
	}
	return missed;
}

bool td_history_lasts(enum td_cause_kind kind)
{
	return kind == TD_KIND_STOP || kind == TD_KIND_TRIP || kind == TD_KIND_MACHINE;
}

int64_t td_history_lost(const struct td_history *history)
{
	int64_t lost = 0;

	for (int kind = 0; kind < TD_HISTORY_KINDS; kind++)
		if (td_history_lasts((enum td_cause_kind)kind) && history->ring[kind].gone > lost)
			lost = history->ring[kind].gone;
	return lost;
}
