/* SPDX-License-Identifier: MIT */
/*
 * A feeler: one simulated switch, from what presses on it to the electrical level of its line. Its contact
 * bounces in a burst after each change; its wire can be sound, broken or shorted to ground.
 *
 * Deterministic: every feeler has its own stream of pseudo-random numbers, so the order in which several
 * of them are pressed changes nothing.
 */
#ifndef TD_SIM_FEELER_H
#define TD_SIM_FEELER_H

#include <stdbool.h>
#include <stdint.h>

#include "core/rules.h"
#include "core/time.h"

enum td_wire {
	TD_WIRE_SOUND = 0,
	TD_WIRE_BROKEN,  /* the line sees an open contact */
	TD_WIRE_SHORTED, /* the line is at ground */
};

enum { TD_FEELER_FLIPS_MAX = 8 }; /* flips of a burst, after the first change; always an even number */

struct td_feeler {
	enum td_contact contact;
	enum td_pull pull;
	td_ns bounce_ns; /* length of a burst; 0 = a clean contact */
	enum td_wire wire;
	bool cam;     /* pressed by the mechanics */
	bool finger;  /* pressed by force */
	bool pressed; /* as the contact stands this instant, bounce included */
	uint8_t flips;
	uint8_t flipped;
	td_ns flip_ns[TD_FEELER_FLIPS_MAX];
	uint64_t random; /* state of its stream */
};

/* At rest, wire sound. `stream` selects the stream of random numbers. */
void td_feeler_init(struct td_feeler *feeler, const struct td_switch_rules *kind, td_ns bounce_ns,
		    uint64_t stream);

/* What presses on it from `at_ns` on. A change starts a burst and ends the one that may be running. */
void td_feeler_press(struct td_feeler *feeler, td_ns at_ns, bool cam, bool finger);

/* When the contact flips next; TD_NEVER if it is at rest. */
td_ns td_feeler_next(const struct td_feeler *feeler);

/* Makes every flip that is due at `at_ns`. */
void td_feeler_advance(struct td_feeler *feeler, td_ns at_ns);

/* Ends a burst at once. */
void td_feeler_settle(struct td_feeler *feeler);

/* The electrical level of its line. */
bool td_feeler_high(const struct td_feeler *feeler);

#endif
