/* SPDX-License-Identifier: MIT */
/*
 * The real td_core_step() between stages that only note that they were called: for any event, rules and state it calls each one in its place, once, starts in rounds, touches nothing of the core between them but the time,
 * and returns the outputs of the state and the earliest of all deadlines. PROOF_AXES: how
 * many axes there are.
 */
#include "core/step.h"
#include "tests/proof/course.h"
#include "tests/proof/proof.h"

enum { DRIVE, SENSE, FEEL, ORDER, STOP_INPUT, WATCH };

static struct td_rules rules;
static struct td_core core;
static struct td_event event;
static struct td_result result;

static td_ns before_ns; /* the time of the core before */
static unsigned int axes;
static unsigned int calls;  /* so far */
static unsigned int rounds; /* begun */
static bool dropped;        /* in this round */
static td_ns earliest_ns = TD_NEVER;

/* What the last stage left. */
static struct {
	td_ns now_ns;
	bool armed;
	uint8_t latch;
	uint32_t locked;
	struct td_axis axis[TD_AXES_MAX];
} left;

static bool is_as_left(void)
{
	bool same = core.now_ns == left.now_ns && core.armed == left.armed && core.latch == left.latch &&
		    core.locked == left.locked;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		same = same && same_axis(&core.axis[axis], &left.axis[axis]);
	return same;
}

static void leave(void)
{
	left.now_ns = core.now_ns;
	left.armed = core.armed;
	left.latch = core.latch;
	left.locked = core.locked;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		left.axis[axis] = core.axis[axis];
}

/* A stage does anything to the axes. */
static void called(const struct td_step *step, unsigned int in_place)
{
	CLAIM(calls == in_place, "R7, R10, R11: every stage is called in its place, once");
	CLAIM(step->core == &core && step->rules == &rules && step->event == &event && step->result == &result,
	      "every stage is told of the same step");
	CLAIM(step->now_ns == course_time(before_ns, &event), "the time of a step is that of its event, and never runs back");
	CLAIM(is_as_left(), "nothing but stages touches the core");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		core.axis[axis] = nondet_axis();
	leave();
	calls++;
}

void td_cable_drive(struct td_step *step)
{
	CLAIM(step->rose == 0, "a step begins");
	called(step, DRIVE);
}

void td_sense(struct td_step *step)
{
	called(step, SENSE);
}

void td_cable_feel(struct td_step *step)
{
	called(step, FEEL);
}

void td_order(struct td_step *step)
{
	called(step, ORDER);
}

void td_order_stop_input(struct td_step *step)
{
	called(step, STOP_INPUT);
}

void td_watch(struct td_step *step, uint8_t axis)
{
	called(step, WATCH + (unsigned int)axis);
}

void td_ask(struct td_step *step)
{
	called(step, WATCH + axes);
}

void td_cable_watch(struct td_step *step)
{
	called(step, WATCH + axes + 1);
}

bool td_ask_due(struct td_step *step, uint8_t axis)
{
	bool drops = nondet_bool();

	if (axis == 0) {
		CLAIM(rounds == 0 || dropped, "R13: another round is made for who was dropped only");
		rounds++;
		dropped = false;
	}
	called(step, WATCH + axes + 2 + (rounds - 1) * axes + axis);
	dropped = dropped || drops;
	return drops;
}

static td_ns any_deadline(void)
{
	td_ns deadline_ns = nondet_ns();

	CLAIM(rounds > 0 && calls == WATCH + axes + 2 + rounds * axes, "deadlines are those of the end");
	if (deadline_ns < earliest_ns)
		earliest_ns = deadline_ns;
	return deadline_ns;
}

td_ns td_sense_deadline(const struct td_core *of, const struct td_rules *by)
{
	CLAIM(of == &core && by == &rules, "the deadline of this core");
	return any_deadline();
}

static unsigned int watched; /* deadlines of axes asked for */

td_ns td_watch_deadline(const struct td_core *of, const struct td_rules *by, uint8_t axis)
{
	CLAIM(of == &core && by == &rules && axis == watched, "the deadline of every axis");
	watched++;
	return any_deadline();
}

static unsigned int cables;

td_ns td_cable_deadline(const struct td_core *of, const struct td_rules *by)
{
	CLAIM(of == &core && by == &rules, "the deadline of this core");
	cables++;
	return any_deadline();
}

static void claim_end(void)
{
	uint32_t word = 0;

	CLAIM(rounds > 0 && calls == WATCH + axes + 2 + rounds * axes, "R7, R10, R11: no stage is left out");
	CLAIM(!dropped || rounds > axes, "R13: rounds go on while somebody is dropped");
	CLAIM(is_as_left(), "nothing but stages touches the core");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			if (axis < axes && powered(&core.axis[axis], way))
				word |= UINT32_C(1) << (axis * TD_WAYS + way);
	CLAIM(result.outputs == word, "R1: the outputs are those of the state");
	CLAIM(watched == axes && cables == 1 && result.deadline_ns == earliest_ns, "the earliest deadline counts");
}

int main(void)
{
	rules = nondet_rules();
	rules.axes = PROOF_AXES;
	core = nondet_core();
	event = nondet_event();
	axes = rules.axes < TD_AXES_MAX ? rules.axes : TD_AXES_MAX;
	ASSUME(core.now_ns >= 0);
	before_ns = core.now_ns;
	leave();
	left.now_ns = course_time(before_ns, &event);
	td_core_step(&core, &rules, &event, &result);
	claim_end();
	return 0;
}
