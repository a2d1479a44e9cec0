/* SPDX-License-Identifier: MIT */
/*
 * The course of a step: what holds between its stages. Two kinds of it: of the state at that point by itself
 * (course_state), and of that state compared with the one the step began with (course_axis, course_machine). A link
 * (prove_link.c) takes one stage: what holds before it implies what the stage needs, and with what the stage gives it
 * implies what holds after it. The last link makes of it the invariant and the rules.
 */
#ifndef TD_PROOF_COURSE_H
#define TD_PROOF_COURSE_H

#include "tests/proof/contract.h"
#include "tests/proof/invariant.h"
#include "tests/proof/look.h"

enum course_point {
	COURSE_BEGUN,   /* time is taken */
	COURSE_SENSED,  /* after td_sense() */
	COURSE_ORDERED, /* after td_order_stop_input(); `passed` axes have been watched */
	COURSE_ASKED,   /* after td_ask() */
	COURSE_DUE,     /* `passed` axes of a round of td_ask_due() */
};

struct course {
	enum course_point point;
	uint8_t passed;
};

/* The time of a step that begins at `now_ns` with this event. */
td_ns course_time(td_ns now_ns, const struct td_event *event);

/* `around`: but for the axes. */
bool course_around(const struct td_step *step, struct course at);
bool course_state(const struct td_step *step, struct course at);

/* R1, R3, R4, R7, R11, R15 of one axis; `from` is the state before the step. */
bool course_axis(const struct td_step *step, const struct td_core *from, struct course at, uint8_t axis);

/* R10, R14. */
bool course_machine(const struct td_step *step, const struct td_core *from, struct course at);

#endif
