/* SPDX-License-Identifier: MIT */
#include "config/nearest.h"

#include <stdint.h>
#include <string.h>

enum { WORD_MAX = 63 };

static size_t smaller(size_t a, size_t b)
{
	return a < b ? a : b;
}

size_t td_edit_distance(const char *a, const char *b)
{
	/* three rows of the usual matrix: the one before last (for swaps), the last, the current */
	size_t rows[3][WORD_MAX + 1];
	size_t *before = rows[0];
	size_t *last = rows[1];
	size_t *row = rows[2];
	size_t a_length = strlen(a);
	size_t b_length = strlen(b);

	if (a_length > WORD_MAX || b_length > WORD_MAX)
		return SIZE_MAX;
	for (size_t j = 0; j <= b_length; j++)
		row[j] = j;
	for (size_t i = 1; i <= a_length; i++) {
		size_t *free_row = before;

		before = last;
		last = row;
		row = free_row;
		row[0] = i;
		for (size_t j = 1; j <= b_length; j++) {
			row[j] = last[j - 1] + (a[i - 1] != b[j - 1]);
			row[j] = smaller(row[j], smaller(last[j], row[j - 1]) + 1);
			if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
				row[j] = smaller(row[j], before[j - 2] + 1);
		}
	}
	return row[b_length];
}

struct td_nearest td_nearest_to(const char *word)
{
	/* a third of the letters, but at least one and at most three, may be wrong */
	size_t wrong = smaller(strlen(word) / 3, 3);

	return (struct td_nearest){.word = word, .best = NULL, .distance = (wrong > 1 ? wrong : 1) + 1};
}

void td_nearest_offer(struct td_nearest *nearest, const char *candidate)
{
	size_t distance = td_edit_distance(nearest->word, candidate);

	if (distance < nearest->distance) {
		nearest->distance = distance;
		nearest->best = candidate;
	}
}
