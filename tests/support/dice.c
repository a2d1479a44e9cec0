/* SPDX-License-Identifier: MIT */
#include "tests/support/dice.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct dice dice_start(uint64_t seed)
{
	const char *wanted = getenv("TD_SEED");

	if (wanted != NULL)
		seed = strtoull(wanted, NULL, 0);
	if (seed == 0)
		seed = 1;
	printf("# seed: TD_SEED=%" PRIu64 "\n", seed);
	return (struct dice){seed};
}

uint64_t dice_bits(struct dice *dice)
{
	/* xorshift64* (Vigna 2016, shifts 12-25-27), enough for a test */
	dice->state ^= dice->state >> 12;
	dice->state ^= dice->state << 25;
	dice->state ^= dice->state >> 27;
	return dice->state * UINT64_C(2685821657736338717);
}

uint64_t dice_below(struct dice *dice, uint64_t sides)
{
	return sides > 0 ? dice_bits(dice) % sides : 0;
}

/* Binary digits; 1 for what has none. */
static uint64_t width(int64_t value)
{
	uint64_t bits = 1;

	while (value >> bits > 0 && bits < 62)
		bits++;
	return bits;
}

int64_t dice_span(struct dice *dice, int64_t low, int64_t high)
{
	uint64_t least = width(low);
	uint64_t bits = least + dice_below(dice, width(high) - least + 1);
	int64_t from = INT64_C(1) << (bits - 1);
	int64_t value = from + (int64_t)dice_below(dice, (uint64_t)from);

	if (value < low)
		return low;
	return value < high ? value : high;
}

void dice_rubbish(struct dice *dice, void *bytes, size_t count)
{
	static const unsigned char values[] = {0x00, 0xff, 0x80, 0x7f, 0x01, 0xa5};
	unsigned char *at = bytes;

	if (dice_below(dice, 4) == 0) {
		memset(at, values[dice_below(dice, sizeof(values))], count);
		return;
	}
	for (size_t i = 0; i < count; i++)
		at[i] = (unsigned char)dice_bits(dice);
}
