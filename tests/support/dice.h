/* SPDX-License-Identifier: MIT */
/* Random numbers of a test that can be had again: the seed is printed, TD_SEED in the environment repeats it. */
#ifndef TD_TESTS_DICE_H
#define TD_TESTS_DICE_H

#include <stddef.h>
#include <stdint.h>

struct dice {
	uint64_t state;
};

/* The fixed seed, or that of TD_SEED; printed. */
struct dice dice_start(uint64_t seed);

/* 64 random bits. */
uint64_t dice_bits(struct dice *dice);

/* 0 ... sides - 1. */
uint64_t dice_below(struct dice *dice, uint64_t sides);

/* low ... high, every order of magnitude as likely as another; 1 <= low <= high < 2^62. */
int64_t dice_span(struct dice *dice, int64_t low, int64_t high);

/* Fills `count` bytes with rubbish, now and then with one value throughout. */
void dice_rubbish(struct dice *dice, void *bytes, size_t count);

#endif
