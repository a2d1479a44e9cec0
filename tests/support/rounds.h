/* SPDX-License-Identifier: MIT */
/*
 * What healthy clients go on doing while others misbehave: a keeper and a visitor start something and stop it, by turns, timed from
 * the call to the board's clock at the fall of the input; trips are made at the board, and a visitor that follows has to hear
 * of each one.
 */
#ifndef TD_TESTS_ROUNDS_H
#define TD_TESTS_ROUNDS_H

#include "daemon/msg.h"
#include "tests/support/follower.h"
#include "tests/support/series.h"
#include "tests/support/stage.h"

struct rounds {
	struct stage *stage;
	struct td_link *starter; /* a visitor; so is the follower */
	struct follower follower;
	struct follower_heard heard_before;
	int hold;
	unsigned int round;

	/* Since rounds_forget(). */
	struct series stop_ms[2]; /* by enum td_role */
	unsigned int trips_made;
	struct follower_heard heard;
};

void rounds_open(struct rounds *rounds, struct stage *stage);
void rounds_close(struct rounds *rounds);
void rounds_forget(struct rounds *rounds);

/* Whole rounds until the time is over; the follower has then had time to hear of all. */
void rounds_run(struct rounds *rounds, td_ns for_ns);

#endif
