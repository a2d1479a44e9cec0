/* SPDX-License-Identifier: MIT */
#include "core/decay.h"

enum { TERMS = 21, WHOLE_BITS = 6 };

/* e^-1, e^-2, e^-4, ... e^-32 in 2^-62, rounded down. */
static const uint64_t whole_power[WHOLE_BITS] = {
	UINT64_C(0x178b56362cef37c6), UINT64_C(0x08a95551dfc0e5cf), UINT64_C(0x012c155b8213cf47),
	UINT64_C(0x00057f08410409eb), UINT64_C(0x00000078d56eebba), UINT64_C(0x000000000000e423),
};

/* Whole, as two halves of 32 bits always are. */
static uint64_t product(uint32_t a, uint32_t b)
{
	return (uint64_t)a * b;
}

/* The upper half of a x b, out of four products of halves; no sum here can overflow. */
static uint64_t upper_half(uint64_t a, uint64_t b)
{
	uint32_t a_low = (uint32_t)(a & UINT32_MAX);
	uint32_t a_high = (uint32_t)(a >> 32);
	uint32_t b_low = (uint32_t)(b & UINT32_MAX);
	uint32_t b_high = (uint32_t)(b >> 32);
	uint64_t middle = product(a_high, b_low) + (product(a_low, b_low) >> 32);
	uint64_t carry = (middle & UINT32_MAX) + product(a_low, b_high);

	return product(a_high, b_high) + (middle >> 32) + (carry >> 32);
}

uint64_t td_decay_share(uint64_t amount, uint64_t factor)
{
	if (amount >= TD_DECAY_ONE)
		amount = TD_DECAY_ONE - 1;
	return upper_half(amount << 2, factor);
}

/* rest / tau in 2^-64, rounded down; 0 <= rest < tau <= 2^47. Long division, 16 bits at a time. */
static uint64_t fraction(uint64_t rest, uint64_t tau)
{
	uint64_t bits = 0;

	for (int digit = 0; digit < 4; digit++) {
		rest <<= 16;
		bits = bits << 16 | rest / tau;
		rest %= tau;
	}
	return bits;
}

/* e^-x for 0 <= x < 1 given in 2^-64: 1 - x (1 - x/2 (1 - x/3 (...))). Each bracket is within 0 ... 1. */
static uint64_t series(uint64_t x)
{
	uint64_t sum = TD_DECAY_ONE;

	for (uint64_t k = TERMS; k >= 1; k--)
		sum = TD_DECAY_ONE - upper_half(x, sum) / k;
	return sum;
}

uint64_t td_decay(td_ns span_ns, td_ns tau_ns)
{
	if (span_ns <= 0)
		return TD_DECAY_ONE;
	if (tau_ns < 1)
		tau_ns = 1;
	if (tau_ns > TD_DECAY_TAU_MAX_NS)
		tau_ns = TD_DECAY_TAU_MAX_NS;

	td_ns whole = span_ns / tau_ns;

	if (whole >= 1 << WHOLE_BITS)
		return 0; /* e^-64 is below 2^-92 */
	uint64_t factor = series(fraction((uint64_t)(span_ns % tau_ns), (uint64_t)tau_ns));

	for (int bit = 0; bit < WHOLE_BITS; bit++)
		if ((whole >> bit & 1) != 0)
			factor = td_decay_share(factor, whole_power[bit]);
	return factor;
}

static uint64_t bounded(uint64_t amount)
{
	return amount < TD_DECAY_AMOUNT_MAX ? amount : TD_DECAY_AMOUNT_MAX;
}

/* Falls: what is left is rounded up, with the largest factor that may be true. A nanosecond of the longest time
 * constant takes it below one by 2^15 already, so it stays below one. */
static uint64_t fall(uint64_t from, uint64_t target, uint64_t factor)
{
	uint64_t left = td_decay_share(from - target, factor + TD_DECAY_ERROR) + 1;

	return left < from - target ? target + left : from;
}

/* Rises: what is missing is rounded down, with the smallest factor that may be true. */
static uint64_t rise(uint64_t from, uint64_t target, uint64_t factor)
{
	uint64_t low = factor < TD_DECAY_ERROR ? 0 : factor - TD_DECAY_ERROR;

	return target - td_decay_share(target - from, low);
}

uint64_t td_decay_toward(uint64_t from, uint64_t target, td_ns span_ns, td_ns tau_ns)
{
	from = bounded(from);
	target = bounded(target);
	if (span_ns <= 0)
		return from;
	uint64_t factor = td_decay(span_ns, tau_ns);

	return from >= target ? fall(from, target, factor) : rise(from, target, factor);
}
