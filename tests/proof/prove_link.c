/* SPDX-License-Identifier: MIT */
/*
 * One link of the chain that makes a step of its stages (course.h): two axes, any rules that pass the check, any state a
 * step may begin with, any event, any state at the point before the stage. The stage is its contract, compiled to stand
 * in for it (contract.h): its needs are claimed, what it gives is assumed. prove_sequence.c shows that td_core_step()
 * calls the real ones in this order and touches nothing between them. PROOF_LINK picks the stage.
 */
#include "tests/proof/course.h"
#include "tests/proof/proof.h"
#include "tests/proof/start.h"

/* What the links come to: the rules (link_claims.c). */
void link_claims(const struct td_step *after, const struct td_core *begun);

enum { begin, count, sense, order, watch, ask, twist, due, end };

static struct td_rules rules;
static struct td_event event;
static struct td_core from; /* when the step began */
static struct td_core core; /* now */
static struct td_core old;  /* as the stage met it */
static struct td_step step = {.core = &core, .rules = &rules, .event = &event};

static void assume_point(struct course at)
{
	core = nondet_core();
	step.now_ns = core.now_ns;
	step.rose = at.point < COURSE_SENSED ? 0 : nondet_word();
	ASSUME(course_state(&step, at) && course_machine(&step, &from, at));
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		ASSUME(course_axis(&step, &from, at, axis));
}

/*
 * Not claimed again is what stands in the contract in the very words of course_state(): after td_sense() the axes, and
 * after the orders switches and machine, which stay (gives_same_switches(), gives_same_machine()).
 */
static void claim_point(struct course at)
{
	if (PROOF_LINK <= sense)
		CLAIM(course_state(&step, at), "the state is as the next stage may expect");
	else if (PROOF_LINK == order)
		CLAIM(course_around(&step, at), "the machine is as the next stage may expect");
	CLAIM(course_machine(&step, &from, at), "R10, R14: latch and arming went as they may");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		CLAIM(course_axis(&step, &from, at, axis), "R1, R3, R7, R11, R15: the axis went as it may");
}

/*
 * What a stage leaves is any state of which what it gives is true. What that can be is said field by field first: the
 * solver takes "as it was, or now" as one thing where it has to compare two times as numbers. PROOF_SHAPE: that no
 * more is said here than the stage gives.
 */
#ifdef PROOF_SHAPE
#define SAME(field)	   CLAIM(is->field == was->field, "what stays does")
#define ONE_OF(field, alt) CLAIM(is->field == was->field || is->field == (alt), "what changes becomes what it can")
#define IF_HELD(field, value) CLAIM(!held(is) || is->field == (value), "a hold is what it can be")
#else
#define SAME(field)	   (is->field = was->field)
#define ONE_OF(field, alt) (is->field = nondet_bool() ? was->field : (alt))
#define IF_HELD(field, value) (is->field = held(is) ? (value) : is->field)
#endif

static void shape_switches(void)
{
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++) {
		struct td_switch *is = &core.sw[sw];
		const struct td_switch *was = &old.sw[sw];

		if (PROOF_LINK == sense) {
			ONE_OF(since_ns, step.now_ns);
			continue;
		}
		SAME(raw);
		SAME(active);
		SAME(since_ns);
	}
}

static void shape_axis(void)
{
	struct td_axis *is = &core.axis[0];
	const struct td_axis *was = &old.axis[0];
	bool quiet = PROOF_LINK == sense || PROOF_LINK == count;

	if (quiet) {
		SAME(state);
		SAME(trip);
		SAME(located);
		SAME(unwritten);
		SAME(hold.session);
		SAME(hold.number);
		SAME(hold.seq);
	}
	if (quiet || PROOF_LINK == due)
		SAME(last_way);
	else
		ONE_OF(last_way, was->way);
	if (PROOF_LINK == ask)
		IF_HELD(way, is->way == was->way ? was->way : event.way);
	else
		IF_HELD(way, was->way);
	if (PROOF_LINK == due)
		ONE_OF(since_ns, step.now_ns);
	else
		SAME(since_ns);
	if (quiet || PROOF_LINK == due)
		SAME(cut_ns);
	else
		ONE_OF(cut_ns, step.now_ns);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (quiet || PROOF_LINK == due)
			SAME(way_cut_ns[way]);
		else
			ONE_OF(way_cut_ns[way], step.now_ns);
		if (quiet)
			SAME(spent_ns[way]);
	}
	if (quiet)
		SAME(hold.lease_end_ns);
	else if (PROOF_LINK == ask && is->hold.lease_end_ns != was->hold.lease_end_ns)
		IF_HELD(hold.lease_end_ns, td_time_after(heard(&step), event.lease_ns));
	else
		IF_HELD(hold.lease_end_ns, was->hold.lease_end_ns);
}

static void shape(void)
{
	struct td_core *is = &core;
	const struct td_core *was = &old;

	SAME(now_ns);
	if (PROOF_LINK != order)
		SAME(stop_ns[0]);
	shape_switches();
	shape_axis();
}

/* The stage has done anything. */
static void become_any(void)
{
	old = core;
	core = nondet_core();
	step.rose = nondet_word();
#ifndef PROOF_SHAPE
	shape();
#endif
}

static void claim_next(struct course at)
{
#ifdef PROOF_SHAPE
	(void)at;
	shape();
#else
	claim_point(at);
#endif
}

static void link_begin(void)
{
	core = from;
	core.now_ns = course_time(from.now_ns, &event);
	step.now_ns = core.now_ns;
	claim_point((struct course){COURSE_BEGUN, 0});
}

/* td_cable_drive(), td_cable_feel(), and a stage that looks at another axis. */
static void link_count(void)
{
	struct course at = {(enum course_point)nondet_word(), nondet_byte()};

	ASSUME(at.point <= COURSE_DUE && at.passed <= TD_AXES_MAX);
	assume_point(at);
	become_any();
	count_gives(&step, &old);
	claim_next(at);
}

static void link_sense(void)
{
	assume_point((struct course){COURSE_BEGUN, 0});
	sense_needs(&step);
	become_any();
	sense_gives(&step, &old);
	claim_next((struct course){COURSE_SENSED, 0});
}

static void link_order(void)
{
	assume_point((struct course){COURSE_SENSED, 0});
	order_needs(&step);
	become_any();
	order_gives(&step, &old);
	claim_next((struct course){COURSE_ORDERED, 0});
}

static void link_watch(uint8_t axis)
{
	assume_point((struct course){COURSE_ORDERED, axis});
	watch_needs(&step, axis);
	become_any();
	watch_gives(&step, axis, &old);
	claim_next((struct course){COURSE_ORDERED, (uint8_t)(axis + 1)});
}

static void link_ask(void)
{
	assume_point((struct course){COURSE_ORDERED, TD_AXES_MAX});
	ask_needs(&step);
	become_any();
	ask_gives(&step, &old);
	claim_next((struct course){COURSE_ASKED, 0});
}

static void link_twist(void)
{
	assume_point((struct course){COURSE_ASKED, 0});
	twist_needs(&step);
	become_any();
	twist_gives(&step, &old);
	claim_next((struct course){COURSE_ASKED, 0});
}

/* A round may follow a round: what holds when all axes have passed is more than what holds when none has. */
static void link_due(uint8_t axis)
{
	assume_point((struct course){COURSE_DUE, axis});
	due_needs(&step, axis);
	become_any();
	due_gives(&step, axis, &old);
	claim_next((struct course){COURSE_DUE, (uint8_t)(axis + 1)});
}

static void link_end(void)
{
	assume_point((struct course){COURSE_DUE, TD_AXES_MAX});
	CLAIM(proof_bools(&core) && proof_invariant(&core, &rules), "the invariant is kept");
	link_claims(&step, &from);
}

static void run_link(void)
{
	switch (PROOF_LINK) {
	case begin: link_begin(); break;
	case count: link_count(); break;
	case sense: link_sense(); break;
	case order: link_order(); break;
	case watch: link_watch(PROOF_TURN); break;
	case ask: link_ask(); break;
	case twist: link_twist(); break;
	case due: link_due(PROOF_TURN); break;
	case end:
	default: link_end(); break;
	}
}

int main(void)
{
	rules = proof_any_rules(PROOF_ENDS);
	rules.axes = nondet_byte(); /* the others are looked at by nobody here */
	rules.cable.drive = nondet_byte();
	ASSUME(rules.axes >= 1 && rules.axes < TD_ALL_AXES);
	event = nondet_event();
	from = nondet_core();
	ASSUME(proof_bools(&from) && proof_invariant(&from, &rules) && proof_event_due(&from, &event));
	run_link();
#ifdef PROOF_REACHED
	CLAIM(false, "the end is reached");
#endif
	return 0;
}
