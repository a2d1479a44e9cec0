/* SPDX-License-Identifier: MIT */
/*
 * Random events, most of them nonsense, for a long simulated time, on the cart's rules and on random ones. After
 * each step the monitor, which sees only rules, events and outputs, says whether the rule book held. The seed is
 * printed; TD_SEED repeats a run, TD_STEPS sets its length.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/monitor.h"
#include "core/step.h"
#include "tests/support/insight.h"
#include "tests/support/rule_cart.h"

enum { STEPS = 1000000, WALK_STEPS = 5000 };

struct walk {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor;
	uint64_t random;
	td_ns now_ns;
	uint32_t active;
	uint32_t holds;
	bool calm; /* most events are those of somebody who drives */
	size_t starts;
	size_t locks;   /* made by two trips */
	size_t twisted; /* cuts and refusals for the twist of the cable */
	size_t duty_cuts;
	size_t duty_refusals;
	size_t supply_waits;
	struct insight insight;
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
				 .session = 1 + dice(walk, dice(walk, 5) ? 2 : 8)};

	event.lease_ns = TD_MS(dice(walk, 1600));
	event.heard_ns = dice(walk, 4) ? 0 : walk->now_ns - TD_MS(dice(walk, 500));
	if (dice(walk, 3) == 0) {
		event.hold = ++walk->holds;
	} else if (event.axis < RULE_AXES) { /* renew what is held, in order or not */
		const struct td_hold *hold = &walk->core.axis[event.axis].hold;

		event.session = hold->session;
		event.hold = hold->number;
		event.seq = hold->seq + dice(walk, 3);
		if (walk->core.axis[event.axis].way < TD_WAYS && dice(walk, 20) != 0)
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

/* Holds on to what is held, and asks for what is not. */
static struct td_event drive(struct walk *walk)
{
	uint8_t axis = (uint8_t)dice(walk, RULE_AXES);
	const struct td_axis *self = &walk->core.axis[axis];
	bool held = self->way < TD_WAYS;

	return (struct td_event){.kind = TD_EVENT_REQUEST,
				 .axis = axis,
				 .way = held ? self->way : (uint8_t)dice(walk, TD_WAYS),
				 .session = held ? self->hold.session : 1,
				 .hold = held ? self->hold.number : ++walk->holds,
				 .seq = held ? self->hold.seq + 1 : 0,
				 .lease_ns = TD_MS(500)};
}

/* Any number, but for the one that says that the core is not as it should be. */
static enum td_event_kind any_kind(struct walk *walk, uint32_t beyond)
{
	enum td_event_kind kind = (enum td_event_kind)dice(walk, TD_EVENT_KINDS + beyond);

	return kind == TD_EVENT_BREACH ? TD_EVENT_TIME : kind;
}

/* Now by one role, now by the other, of all or of one. */
static struct td_event reset(struct walk *walk)
{
	return (struct td_event){.kind = TD_EVENT_RESET,
				 .role = (uint8_t)dice(walk, 3),
				 .axis = dice(walk, 2) ? TD_ALL_AXES : (uint8_t)dice(walk, 6),
				 .session = 1 + dice(walk, 2)};
}

static struct td_event lock_kept(struct walk *walk)
{
	return (struct td_event){.kind = TD_EVENT_LOCK_KEPT,
				 .axis = (uint8_t)dice(walk, RULE_AXES + 1),
				 .way = (uint8_t)dice(walk, TD_WAYS + 1)};
}

static struct td_event cooled(struct walk *walk)
{
	struct td_event event = reset(walk);

	event.kind = TD_EVENT_COOLED;
	return event;
}

static struct td_event any_event(struct walk *walk)
{
	static const enum td_event_kind orders[] = {TD_EVENT_RELEASE, TD_EVENT_GONE, TD_EVENT_TURN_OVER,
						    TD_EVENT_STOP, TD_EVENT_ARM};
	uint32_t roll = dice(walk, 1000);
	uint32_t mood = walk->calm ? dice(walk, 25) : 0;

	if (mood == 1)
		return reset(walk);
	if (mood == 2)
		return (struct td_event){.kind = TD_EVENT_ARM};
	if (mood > 2)
		return drive(walk);
	if (roll < 500)
		return request(walk);
	if (roll < 700)
		return levels(walk);
	if (roll < 900)
		return (struct td_event){.kind = TD_EVENT_TIME};
	if (roll < 950)
		return reset(walk);
	if (roll < 952)
		return lock_kept(walk);
	if (roll < 955)
		return cooled(walk);
	if (roll < 958) {
		struct td_event event = reset(walk);

		event.kind = TD_EVENT_UNTWISTED;
		return event;
	}
	if (roll < 990)
		return (struct td_event){
			.kind = orders[dice(walk, (uint32_t)(sizeof(orders) / sizeof(orders[0])))],
			.axis = (uint8_t)dice(walk, 5),
			.session = 1 + dice(walk, 2),
			.hold = walk->holds};
	return (struct td_event){.kind = any_kind(walk, 2)};
}

static void count_news(struct walk *walk)
{
	for (uint16_t i = 0; i < walk->result.news_count; i++) {
		enum td_cause cause = walk->result.news[i].cause;

		walk->locks += cause == TD_CAUSE_LOCK_MADE;
		walk->twisted += cause == TD_CAUSE_TWIST_CUT || cause == TD_CAUSE_TWIST_LIMIT;
		walk->duty_cuts += cause == TD_CAUSE_DUTY_CUT;
		walk->duty_refusals += cause == TD_CAUSE_DUTY_SPENT;
		walk->supply_waits += cause == TD_CAUSE_SUPPLY_WAIT;
	}
}

static void judge(struct walk *walk)
{
	struct td_verdict verdict;
	uint32_t before = walk->monitor.outputs;

	if (!td_monitor_judge(&walk->monitor, &walk->rules, walk->core.now_ns, walk->result.outputs,
			      &verdict))
		fail_msg("R%u axis %u way %u at %lld ns: %s (%lld of %lld ns)", verdict.rule, verdict.axis,
			 verdict.way, (long long)verdict.at_ns, td_breach_info(verdict.breach)->sentence,
			 (long long)verdict.measured_ns, (long long)verdict.bound_ns);
	walk->starts += (size_t)__builtin_popcount(walk->result.outputs & ~before);
	count_news(walk);
	assert_int_equal(walk->result.news_lost, 0);
	assert_true(walk->result.deadline_ns > walk->core.now_ns);
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		assert_int_not_equal(walk->core.axis[axis].trip, TD_CAUSE_INTERNAL);
	insight_check(&walk->insight, &walk->rules, &walk->core, &walk->monitor, &walk->result);
}

static bool take(struct walk *walk, const struct td_event *event)
{
	uint32_t before = walk->monitor.outputs;

	td_core_step(&walk->core, &walk->rules, event, &walk->result);
	td_monitor_see(&walk->monitor, &walk->rules, event);
	judge(walk);
	return (before & ~walk->result.outputs) != 0;
}

/* A write takes a while, and a caller may forget to tell of it. */
static void step(struct walk *walk, struct td_event event)
{
	event.at_ns = walk->now_ns;
	for (bool cut = take(walk, &event); cut && dice(walk, 10) != 0;) {
		walk->now_ns += TD_US(dice(walk, 3000));
		cut = take(walk, &(struct td_event){.kind = TD_EVENT_WRITTEN, .at_ns = walk->now_ns});
	}
}

static void begin(struct walk *walk, const struct td_rules *rules, uint64_t seed)
{
	memset(walk, 0, sizeof(*walk));
	walk->rules = *rules;
	walk->random = seed;
	td_core_init(&walk->core, &walk->rules, 0);
	td_monitor_init(&walk->monitor, &walk->rules, 0);
	walk->result.deadline_ns = TD_NEVER;
	walk->now_ns = 1;
}

static void go_on(struct walk *walk)
{
	td_ns next = walk->now_ns + TD_US(dice(walk, 2) ? dice(walk, 20000) : dice(walk, 300));
	bool asleep = dice(walk, 5000) == 0; /* deadlines are missed */

	if (asleep)
		next += TD_S(dice(walk, dice(walk, 4) ? 100 : 20000));
	else if (dice(walk, 300) == 0)
		next += TD_S(dice(walk, 20)); /* nobody asks for anything */
	for (; !asleep && walk->result.deadline_ns <= next;
	     step(walk, (struct td_event){.kind = TD_EVENT_TIME}))
		walk->now_ns = walk->result.deadline_ns;
	walk->now_ns = next;
}

static uint64_t seed(void)
{
	const char *given = getenv("TD_SEED");

	return given ? strtoull(given, NULL, 10) : 20261125;
}

static size_t steps(void)
{
	const char *given = getenv("TD_STEPS");

	return given ? strtoull(given, NULL, 10) : STEPS;
}

static void go(struct walk *walk, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		go_on(walk);
		step(walk, any_event(walk));
	}
}

/* Missed deadlines are the caller's breach: power may then last longer, but not a step longer. */
static void rules_hold_for_random_events(void **state)
{
	static struct walk walk;
	const struct td_rules rules = rule_cart();

	(void)state;
	begin(&walk, &rules, seed());
	go(&walk, steps());
	printf("# measured: %zu random events, %zu starts, seed %llu\n", steps(), walk.starts,
	       (unsigned long long)seed());
	assert_true(walk.starts > steps() / 500);
}

static td_ns between(struct walk *walk, td_ns least_ns, td_ns most_ns)
{
	return least_ns + TD_US(dice(walk, (uint32_t)((most_ns - least_ns) / 1000) + 1));
}

static void vary_way(struct walk *walk, struct td_way_rules *way)
{
	way->reach_ns = between(walk, TD_REACH_MIN_NS, TD_MS(2000));
	way->limit_ns = dice(walk, 3) ? between(walk, way->reach_ns, 2 * way->reach_ns) : way->reach_ns;
	way->leave_ns = between(walk, TD_LEAVE_MIN_NS, TD_MS(600));
	if (way->end_switch != TD_NO_SWITCH)
		way->early_ns = dice(walk, 2) ? between(walk, 0, way->reach_ns / 2) : 0;
}

static void vary_axis(struct walk *walk, struct td_rules *rules, uint8_t axis)
{
	struct td_axis_rules *self = &rules->axis[axis];

	self->dead_ns = between(walk, TD_DEAD_TIME_MIN_NS, TD_MS(400));
	self->rest_ns = between(walk, TD_REST_MIN_NS, TD_MS(400));
	if (self->restored_ns > 0)
		self->restored_ns = between(walk, 0, TD_MS(3000));
	if (axis == RULE_BOOM && dice(walk, 3) == 0) /* one end switch only */
		self->way[dice(walk, TD_WAYS)] = rules->axis[RULE_WHEEL].way[0];
	for (uint8_t way = 0; way < TD_WAYS; way++)
		vary_way(walk, &self->way[way]);
}

static void vary_cable(struct walk *walk, struct td_rules *rules)
{
	struct td_twist_rules *twist = &rules->cable.twist;

	rules->cable.drive = dice(walk, 2) ? RULE_DRIVE : RULE_WHEEL;
	rules->cable.steering = dice(walk, 2) ? RULE_BOOM : RULE_VENT;
	if (rules->cable.drive == RULE_DRIVE && dice(walk, 2))
		rules->cable.steering = RULE_WHEEL; /* without end switches */
	rules->cable.left = (uint8_t)dice(walk, TD_WAYS);
	rules->cable.springs = (uint8_t)dice(walk, 2);
	twist->limit_uturn = 1 + (int32_t)dice(walk, 1000000);
	twist->doubt_ppm = dice(walk, 2) ? dice(walk, 200000) : 0;
	for (int way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_LEFT; side <= TD_TWIST_RIGHT; side++)
			twist->rate_ppm_s[way][side] = (int32_t)dice(walk, 2000000) - 1000000;
	twist->source = dice(walk, 2) ? TD_TWIST_ESTIMATE : TD_TWIST_SENSOR;
	if (twist->source == TD_TWIST_ESTIMATE)
		return;
	twist->steps_per_turn = 1 + (int32_t)dice(walk, 100);
	rules->stop_switch = TD_NO_SWITCH;
	rules->axis[RULE_VENT].way[1] = rules->axis[RULE_WHEEL].way[0];
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		for (uint8_t axis = 0; axis < RULE_AXES; axis++)
			rules->axis[axis].way[way].bars = 0; /* some were about that end */
		rules->cable.contact[way] = way == 0 ? RULE_OPEN : RULE_STOP;
	}
}

/* R12: from what a few starts use up to what nothing does. */
static void vary_duty(struct walk *walk, struct td_duty_rules *duty)
{
	if (dice(walk, 2) == 0)
		return;
	duty->least_ns = between(walk, TD_DUTY_LEAST_MIN_NS, TD_MS(100));
	for (int span = 0; span < TD_BUDGET_SPANS; span++)
		if (dice(walk, 2))
			duty->allowed_ns[span] = between(walk, TD_MS(100), TD_S(8) * (span + 1));
	if (dice(walk, 3) == 0)
		return;
	duty->inf_ppm = 900000 + dice(walk, dice(walk, 2) ? 1000000 : 20000000);
	duty->tau_on_ns = between(walk, TD_RATING_TAU_MIN_NS, TD_S(20));
	duty->tau_off_ns = between(walk, TD_RATING_TAU_MIN_NS, TD_S(20));
	duty->restart_ppm = 1000000 - dice(walk, 900000);
	while (!td_duty_rules_ok(duty)) /* hotter than the shortest run allows */
		duty->inf_ppm /= 2;
}

/* R13: every start fits by itself, but not all of them together. */
static void vary_supply(struct walk *walk, struct td_supply_rules *supply)
{
	supply->budget_ma = 2000 + dice(walk, 3000);
	supply->gap_ns = dice(walk, 2) ? between(walk, 0, TD_MS(300)) : 0;
	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		struct td_supply_axis_rules *self = &supply->axis[axis];

		self->start_ma = dice(walk, 4) ? dice(walk, supply->budget_ma + 1) : 0;
		self->run_ma = dice(walk, self->start_ma + 1);
		self->start_ns = between(walk, 0, TD_MS(500));
	}
}

static struct td_rules random_rules(struct walk *walk)
{
	struct td_rules rules = rule_cart();

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++) {
		rules.sw[sw].confirm_ns = dice(walk, 3) ? between(walk, 0, TD_CONFIRM_MAX_NS) : 0;
		rules.sw[sw].clear_ns = TD_CLEAR_MIN_NS + (dice(walk, 3) ? between(walk, 0, TD_MS(99)) : 0);
		rules.sw[sw].contact = dice(walk, 2) ? TD_CONTACT_NC : TD_CONTACT_NO;
		rules.sw[sw].pull = dice(walk, 2) ? TD_PULL_UP : TD_PULL_DOWN;
		if (dice(walk, 3) == 0)
			rules.sw[sw].chatter = (struct td_chatter_rules){
				(uint8_t)between(walk, TD_CHATTER_CHANGES_MIN, TD_CHATTER_CHANGES_MAX),
				between(walk, TD_CHATTER_WINDOW_MIN_NS, TD_CHATTER_WINDOW_MAX_NS)};
	}
	rules.visitor_resets = (uint8_t)dice(walk, dice(walk, 2) ? 3 : TD_VISITOR_RESETS_MAX + 1);
	rules.axis[RULE_VENT].way[0].bar[0].axis = RULE_WHEEL;
	rules.axis[RULE_VENT].way[0].bar[0].kind = TD_BAR_MOVING;
	rules.axis[RULE_WHEEL].way[dice(walk, TD_WAYS)].bars = 1;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		rules.axis[RULE_WHEEL].way[way].bar[0] =
			(struct td_bar){dice(walk, 2) ? TD_BAR_AT_END : TD_BAR_OFF_END, RULE_VENT,
					(uint8_t)dice(walk, TD_WAYS)};
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		vary_axis(walk, &rules, axis);
	if (dice(walk, 2))
		vary_cable(walk, &rules);
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		vary_duty(walk, &rules.axis[axis].duty);
	if (dice(walk, 4) != 0)
		vary_supply(walk, &rules.supply);
	return rules;
}

static void add(struct walk *sum, const struct walk *walk)
{
	sum->starts += walk->starts;
	sum->locks += walk->locks;
	sum->twisted += walk->twisted;
	sum->duty_cuts += walk->duty_cuts;
	sum->duty_refusals += walk->duty_refusals;
	sum->supply_waits += walk->supply_waits;
	insight_add(&sum->insight, &walk->insight);
}

static void rules_hold_for_random_rules(void **state)
{
	static struct walk walk;
	struct walk maker = {.random = seed() + 3};
	struct walk sum = {.starts = 0};
	size_t walks = steps() / WALK_STEPS + 1;

	(void)state;
	for (size_t i = 0; i < walks; i++) {
		const struct td_rules rules = random_rules(&maker);

		assert_int_equal(td_rules_check(&rules).fault, TD_RULES_OK);
		begin(&walk, &rules, maker.random);
		walk.calm = i % 2 == 0;
		go(&walk, WALK_STEPS);
		add(&sum, &walk);
	}
	printf("# measured: %zu random rule sets, %zu starts, %zu locks, %zu times too much twist, %zu duty "
	       "cuts, %zu refusals for "
	       "duty, "
	       "%zu waits for the supply\n",
	       walks, sum.starts, sum.locks, sum.twisted, sum.duty_cuts, sum.duty_refusals, sum.supply_waits);
	insight_print(&sum.insight);
	if (steps() >= STEPS) {
		assert_true(sum.insight.certain > sum.insight.blocked / 10);
		assert_true(sum.insight.noticed > sum.insight.early / 3 && sum.insight.pardoned > 0);
	}
	assert_true(sum.starts > walks * WALK_STEPS / 500);
	assert_true(sum.locks > walks && sum.twisted > walks && sum.duty_cuts > walks &&
		    sum.duty_refusals > walks && sum.supply_waits > walks);
}

static void same_state_and_events_give_the_same_outputs(void **state)
{
	static struct walk a;
	static struct walk b;
	const struct td_rules rules = rule_cart();

	(void)state;
	begin(&a, &rules, seed() + 1);
	begin(&b, &rules, seed() + 1);
	for (size_t i = 0; i < steps() / 10; i++) {
		go(&a, 1);
		go(&b, 1);
		assert_memory_equal(&a.core, &b.core, sizeof(a.core));
		assert_memory_equal(&a.result, &b.result, sizeof(a.result));
	}
}

static void any_bytes_as_event_are_survived(void **state)
{
	static struct walk walk;
	const struct td_rules rules = rule_cart();

	(void)state;
	begin(&walk, &rules, seed() + 2);
	for (size_t i = 0; i < steps() / 4; i++) {
		struct td_event event;
		unsigned char *byte = (unsigned char *)&event;

		for (size_t k = 0; k < sizeof(event); k++)
			byte[k] = (unsigned char)dice(&walk, 256);
		event.kind = any_kind(&walk, 1);
		if (dice(&walk, 2))
			event.at_ns = walk.core.now_ns + TD_MS(dice(&walk, 100));
		take(&walk, &event);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(rules_hold_for_random_events),
		cmocka_unit_test(rules_hold_for_random_rules),
		cmocka_unit_test(same_state_and_events_give_the_same_outputs),
		cmocka_unit_test(any_bytes_as_event_are_survived),
	};

	return cmocka_run_group_tests_name("core_random", tests, NULL, NULL);
}
