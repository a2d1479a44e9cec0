/* SPDX-License-Identifier: MIT */
/*
 * Random events, most of them nonsense, for a long simulated time. After each step a second opinion that
 * sees only levels, requests and outputs says whether R1, R2, R3, R4, R7 and R10 held. The seed is printed;
 * TD_SEED repeats a run.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/rule_cart.h"

enum { STEPS = 400000 };

struct opinion {
	td_ns fell_ns[RULE_AXES][TD_WAYS];
	td_ns rose_ns[RULE_AXES];
	td_ns asked_until_ns[RULE_AXES];      /* latest lease that any request could have given */
	td_ns active_since_ns[RULE_SWITCHES]; /* -1 = not active */
	uint32_t outputs;
	bool latched;
	bool armed;
};

struct walk {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	struct opinion seen;
	uint64_t random;
	td_ns now_ns;
	uint32_t active;
	uint32_t holds;
	size_t starts;
};

static uint32_t dice(struct walk *walk, uint32_t sides)
{
	/* xorshift64 (Marsaglia 2003, triple 13-7-17), enough for a test */
	walk->random ^= walk->random << 13;
	walk->random ^= walk->random >> 7;
	walk->random ^= walk->random << 17;
	return (uint32_t)(walk->random >> 33) % sides;
}

static struct td_event request(struct walk *walk)
{
	struct td_event event = {.kind = TD_EVENT_REQUEST,
				 .axis = (uint8_t)dice(walk, RULE_AXES + 1),
				 .way = (uint8_t)dice(walk, TD_WAYS + (dice(walk, 20) == 0)),
				 .session = 1 + dice(walk, 2)};

	event.lease_ns = TD_MS(dice(walk, 1600));
	event.heard_ns = dice(walk, 4) ? 0 : walk->now_ns - TD_MS(dice(walk, 500));
	if (dice(walk, 3) == 0) {
		event.hold = ++walk->holds;
	} else if (event.axis < RULE_AXES) { /* renew what is held, in order or not */
		const struct td_hold *hold = &walk->core.axis[event.axis].hold;

		event.session = hold->session;
		event.hold = hold->number;
		event.seq = hold->seq + dice(walk, 3);
		if (walk->core.axis[event.axis].way < TD_WAYS)
			event.way = walk->core.axis[event.axis].way;
	}
	return event;
}

static struct td_event levels(struct walk *walk)
{
	uint32_t word = 0;

	walk->active ^= UINT32_C(1) << dice(walk, dice(walk, 30) ? RULE_STOP : RULE_SWITCHES);
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&walk->rules, sw, (walk->active >> sw & 1) != 0))
			word |= UINT32_C(1) << sw;
	return (struct td_event){.kind = TD_EVENT_LEVELS, .levels = word};
}

static struct td_event any_event(struct walk *walk)
{
	static const enum td_event_kind orders[] = {TD_EVENT_RELEASE, TD_EVENT_GONE, TD_EVENT_STOP,
						    TD_EVENT_ARM};
	uint32_t roll = dice(walk, 1000);

	if (roll < 500)
		return request(walk);
	if (roll < 700)
		return levels(walk);
	if (roll < 900)
		return (struct td_event){.kind = TD_EVENT_TIME};
	if (roll < 950)
		return (struct td_event){.kind = TD_EVENT_RESET,
					 .role = (uint8_t)dice(walk, 3),
					 .axis = dice(walk, 2) ? TD_ALL_AXES : (uint8_t)dice(walk, 6)};
	if (roll < 990)
		return (struct td_event){.kind = orders[dice(walk, 4)],
					 .axis = (uint8_t)dice(walk, 5),
					 .session = 1 + dice(walk, 2),
					 .hold = walk->holds};
	return (struct td_event){.kind = (enum td_event_kind)dice(walk, TD_EVENT_KINDS + 2)};
}

static void note_stimulus(struct walk *walk, const struct td_event *event)
{
	struct opinion *seen = &walk->seen;

	if (event->kind == TD_EVENT_LEVELS)
		for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++) {
			bool active = (walk->active >> sw & 1) != 0;

			if (!active)
				seen->active_since_ns[sw] = -1;
			else if (seen->active_since_ns[sw] < 0)
				seen->active_since_ns[sw] = walk->now_ns;
		}
	if (event->kind == TD_EVENT_REQUEST && event->axis < RULE_AXES &&
	    event->lease_ns <= TD_LEASE_MAX_NS && event->lease_ns > 0) {
		td_ns heard = event->heard_ns > 0 && event->heard_ns <= walk->now_ns ? event->heard_ns
										     : walk->now_ns;
		td_ns until = heard + event->lease_ns;

		if (until > seen->asked_until_ns[event->axis])
			seen->asked_until_ns[event->axis] = until;
	}
	if (event->kind == TD_EVENT_LATCH || event->kind == TD_EVENT_LATCH_KEPT ||
	    (walk->core.levels_known && (walk->active >> RULE_STOP & 1) != 0))
		seen->latched = true;
	if (walk->core.latch == 0)
		seen->latched = false;
}

static void judge_way(struct walk *walk, uint8_t axis, uint8_t way)
{
	const struct td_axis_rules *rules = &walk->rules.axis[axis];
	uint8_t end = rules->way[way].end_switch;
	struct opinion *seen = &walk->seen;
	bool rises = (walk->result.outputs & ~seen->outputs) >> (axis * TD_WAYS + way) & 1;

	if (rises) {
		walk->starts++;
		assert_true(walk->now_ns - seen->fell_ns[axis][1 - way] >= rules->dead_ns); /* R3 */
		assert_true(walk->now_ns - seen->fell_ns[axis][way] >= rules->rest_ns);     /* R3 */
		seen->rose_ns[axis] = walk->now_ns;
		if (end != TD_NO_SWITCH)
			assert_true(seen->active_since_ns[end] < 0); /* R2 */
	}
	if (end != TD_NO_SWITCH && seen->active_since_ns[end] >= 0)
		assert_true(walk->now_ns - seen->active_since_ns[end] <
			    walk->rules.sw[end].confirm_ns);                        /* R2 */
	assert_true(walk->now_ns - seen->rose_ns[axis] < rules->way[way].limit_ns); /* R4, R6 */
	assert_true(walk->now_ns < seen->asked_until_ns[axis]);                     /* R7 */
	assert_int_equal(walk->core.latch, 0);                                      /* R10 */
	assert_false(seen->latched);
}

static void judge(struct walk *walk)
{
	uint32_t now = walk->result.outputs;
	uint32_t fell = walk->seen.outputs & ~now;

	assert_int_equal(walk->result.news_lost, 0);
	assert_true(walk->result.deadline_ns > walk->now_ns);
	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		assert_int_not_equal(now >> (axis * TD_WAYS) & 3, 3); /* R1 */
		assert_int_not_equal(walk->core.axis[axis].trip, TD_CAUSE_INTERNAL);
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			if (now >> (axis * TD_WAYS + way) & 1)
				judge_way(walk, axis, way);
			if (fell >> (axis * TD_WAYS + way) & 1)
				walk->seen.fell_ns[axis][way] = walk->now_ns;
		}
	}
	walk->seen.outputs = now;
}

static void step(struct walk *walk, struct td_event event)
{
	event.at_ns = walk->now_ns;
	td_core_step(&walk->core, &walk->rules, &event, &walk->result);
	note_stimulus(walk, &event);
	judge(walk);
}

static void begin(struct walk *walk, uint64_t seed)
{
	memset(walk, 0, sizeof(*walk));
	walk->rules = rule_cart();
	walk->random = seed;
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			walk->seen.fell_ns[axis][way] = -TD_S(100);
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		walk->seen.active_since_ns[sw] = -1;
	td_core_init(&walk->core, &walk->rules, 0);
	walk->result.deadline_ns = TD_NEVER;
	walk->now_ns = 1;
}

static void go_on(struct walk *walk)
{
	td_ns next = walk->now_ns + TD_US(dice(walk, 2) ? dice(walk, 20000) : dice(walk, 300));

	if (dice(walk, 5000) == 0)
		next += TD_S(dice(walk, 100)); /* the program was asleep: deadlines are missed */
	else
		for (; walk->result.deadline_ns <= next; step(walk, (struct td_event){.kind = TD_EVENT_TIME}))
			walk->now_ns = walk->result.deadline_ns;
	walk->now_ns = next;
}

static uint64_t seed(void)
{
	const char *given = getenv("TD_SEED");

	return given ? strtoull(given, NULL, 10) : 20261125;
}

/* Missed deadlines are the caller's breach: power may then last longer, but not a step longer. */
static void rules_hold_for_random_events(void **state)
{
	static struct walk walk;

	(void)state;
	begin(&walk, seed());
	for (size_t i = 0; i < STEPS; i++) {
		go_on(&walk);
		step(&walk, any_event(&walk));
	}
	printf("# measured: %zu random events, %zu starts, seed %llu\n", (size_t)STEPS, walk.starts,
	       (unsigned long long)seed());
	assert_true(walk.starts > STEPS / 500);
}

static void same_state_and_events_give_the_same_outputs(void **state)
{
	static struct walk a;
	static struct walk b;

	(void)state;
	begin(&a, seed() + 1);
	begin(&b, seed() + 1);
	for (size_t i = 0; i < STEPS / 10; i++) {
		go_on(&a);
		go_on(&b);
		step(&a, any_event(&a));
		step(&b, any_event(&b));
		assert_memory_equal(&a.core, &b.core, sizeof(a.core));
		assert_memory_equal(&a.result, &b.result, sizeof(a.result));
	}
}

static void any_bytes_as_event_are_survived(void **state)
{
	static struct walk walk;

	(void)state;
	begin(&walk, seed() + 2);
	for (size_t i = 0; i < STEPS / 4; i++) {
		struct td_event event;
		unsigned char *byte = (unsigned char *)&event;

		for (size_t k = 0; k < sizeof(event); k++)
			byte[k] = (unsigned char)dice(&walk, 256);
		event.kind = (enum td_event_kind)dice(&walk, TD_EVENT_KINDS + 1);
		if (dice(&walk, 2))
			event.at_ns = walk.core.now_ns + TD_MS(dice(&walk, 100));
		td_core_step(&walk.core, &walk.rules, &event, &walk.result);
		for (uint8_t axis = 0; axis < RULE_AXES; axis++)
			assert_int_not_equal(walk.result.outputs >> (axis * TD_WAYS) & 3, 3);
		assert_int_equal(walk.result.news_lost, 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(rules_hold_for_random_events),
		cmocka_unit_test(same_state_and_events_give_the_same_outputs),
		cmocka_unit_test(any_bytes_as_event_are_survived),
	};

	return cmocka_run_group_tests_name("core_random", tests, NULL, NULL);
}
