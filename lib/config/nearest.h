/* SPDX-License-Identifier: MIT */
/*
 * "Did you mean ...?": the candidate nearest to a misspelt word. Offer every candidate; `best` is then
 * the nearest one, or NULL if none is near enough to be worth a guess. Nothing is copied: words and
 * candidates outlive the search. Never fails.
 */
#ifndef TD_CONFIG_NEAREST_H
#define TD_CONFIG_NEAREST_H

#include <stddef.h>

struct td_nearest {
	const char *word;
	const char *best;
	size_t distance; /* of `best`; before there is one, the first distance that is too far */
};

struct td_nearest td_nearest_to(const char *word);
void td_nearest_offer(struct td_nearest *nearest, const char *candidate);

/* Letters to change, insert, leave out or swap with a neighbour to make `a` of `b`. Words longer than
 * 63 bytes count as far from everything. */
size_t td_edit_distance(const char *a, const char *b);

#endif
