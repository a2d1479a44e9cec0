/* SPDX-License-Identifier: MIT */
/* The cart of the tests of twist.c, and a swivel to turn. */
#ifndef TD_TESTS_UNIT_TWIST_CART_H
#define TD_TESTS_UNIT_TWIST_CART_H

#include "core/twist.h"

enum { BACK, AHEAD };

/* A tenth of a turn a second while driving ahead with the steering to one side; two turns of cable. */
static inline struct td_twist_rules cart(enum td_twist_source source)
{
	return (struct td_twist_rules){
		.source = source,
		.limit_uturn = 2000000,
		.rate_ppm_s = {[AHEAD] = {[TD_TWIST_LEFT] = 100000, [TD_TWIST_RIGHT] = -100000},
			       [BACK] = {[TD_TWIST_LEFT] = -100000, [TD_TWIST_RIGHT] = 100000}},
		.steps_per_turn = 24};
}

static const uint8_t gray[4] = {0, 1, 3, 2};

/* Turns the sensor by so many steps. */
static inline void turn(struct td_twist *twist, int *place, int steps)
{
	for (; steps != 0; steps += steps > 0 ? -1 : 1) {
		*place += steps > 0 ? 1 : 3;
		td_twist_contacts(twist, gray[*place % 4]);
	}
}

#endif
