/* SPDX-License-Identifier: MIT */
/*
 * Rules and states that cannot be: numbers past every array, ways and states that do not exist. Nothing outside
 * the arrays is touched (the sanitizers look on), nothing is powered, nothing is lost silently.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/step.h"
#include "core/travel.h"
#include "tests/support/rule_cart.h"

struct scene {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
};

static void step(struct scene *scene, td_ns at_ns, struct td_event event)
{
	event.at_ns = at_ns;
	td_core_step(&scene->core, &scene->rules, &event, &scene->result);
}

static uint32_t clear_levels(const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(rules, sw, false))
			word |= 1U << sw;
	return word;
}

static void stand(struct scene *scene)
{
	memset(scene, 0, sizeof(*scene));
	scene->rules = rule_cart();
	td_core_init(&scene->core, &scene->rules, 0);
	step(scene, 0, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = clear_levels(&scene->rules)});
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
	step(scene, TD_MS(1000), (struct td_event){.kind = TD_EVENT_TIME});
}

static struct td_event event_of(unsigned int kind, uint8_t axis)
{
	return (struct td_event){.kind = (enum td_event_kind)kind,
				 .axis = axis,
				 .role = TD_ROLE_KEEPER,
				 .session = 7,
				 .hold = 70,
				 .levels = UINT32_MAX};
}

/* Every event, for axes that do not exist: what lies behind the last axis stays as it is. */
static void what_lies_behind_the_last_axis_is_not_touched(void **state)
{
	static const enum td_axis_state states[] = {TD_AXIS_RUN, TD_AXIS_TRIPPED, TD_AXIS_COAST,
						    TD_AXIS_WAIT};
	static const uint8_t targets[] = {RULE_AXES, TD_ALL_AXES, TD_NO_AXIS};
	static struct scene scene;

	(void)state;
	for (unsigned int kind = 0; kind <= TD_EVENT_KINDS; kind++)
		for (size_t i = 0; i < sizeof(states) / sizeof(states[0]) * 3; i++) {
			stand(&scene);
			struct td_axis *behind = &scene.core.axis[RULE_AXES];

			behind->state = states[i / 3];
			behind->way = 0;
			behind->unwritten = true;
			behind->hold = (struct td_hold){7, 70, 0, TD_MS(1000)};
			struct td_axis before = *behind;

			step(&scene, TD_MS(1001), event_of(kind, targets[i % 3]));
			assert_memory_equal(behind, &before, sizeof(before));
			assert_int_equal(scene.result.outputs >> (RULE_AXES * TD_WAYS), 0);
			for (uint16_t n = 0; n < scene.result.news_count; n++)
				assert_true(scene.result.news[n].axis != RULE_AXES ||
					    scene.result.news[n].cause == TD_CAUSE_BAD_REQUEST);
		}
}

static void what_lies_behind_the_last_switch_is_not_touched(void **state)
{
	static struct scene scene;

	(void)state;
	for (int first = 0; first < 2; first++) {
		stand(&scene);
		struct td_switch *behind = &scene.core.sw[RULE_SWITCHES];

		scene.core.levels_known = first == 0;
		behind->raw = true;
		struct td_switch before = *behind;

		step(&scene, TD_MS(2000), event_of(TD_EVENT_TIME, 0));
		assert_memory_equal(behind, &before, sizeof(before));
		assert_int_equal(scene.result.deadline_ns, TD_NEVER);
		step(&scene, TD_MS(3000),
		     (struct td_event){.kind = TD_EVENT_LEVELS, .levels = clear_levels(&scene.rules)});
		assert_memory_equal(behind, &before, sizeof(before));
		assert_int_equal(scene.result.deadline_ns, TD_NEVER);
		assert_int_equal(scene.result.news_count, 0);
	}
}

/* More axes and switches than there can be. */
static void numbers_past_the_arrays_stay_inside_them(void **state)
{
	static struct scene scene;

	(void)state;
	for (unsigned int kind = 0; kind <= TD_EVENT_KINDS; kind++) {
		stand(&scene);
		scene.rules.axes = TD_AXES_MAX;
		scene.rules.switches = 200;
		step(&scene, TD_MS(1001), event_of(kind, TD_AXES_MAX));
		step(&scene, TD_MS(1002), event_of(kind, TD_ALL_AXES));
		step(&scene, TD_MS(9000), event_of(TD_EVENT_TIME, 0));
		assert_int_equal(scene.result.outputs, 0);
		assert_int_equal(scene.result.news_lost, 0);
		assert_int_equal(scene.result.deadline_ns, TD_NEVER);
	}
}

static void first_levels_past_the_arrays_stay_inside_them(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	scene.rules.switches = 200;
	step(&scene, TD_MS(1001), event_of(TD_EVENT_LINES_LOST, 0));
	step(&scene, TD_MS(1002), event_of(TD_EVENT_LEVELS, 0));
	assert_int_equal(scene.core.axis[0].trip, TD_CAUSE_LINES_LOST);
	assert_true(scene.core.sw[TD_SWITCHES_MAX - 1].active);
}

/* The last axis and the last switch there can be take part. */
static void the_last_axis_and_the_last_switch_count(void **state)
{
	static struct scene scene;
	const uint8_t axis = TD_AXES_MAX - 1;
	const uint8_t sw = TD_SWITCHES_MAX - 1;

	(void)state;
	stand(&scene);
	scene.rules.axes = scene.rules.supply.axes = TD_AXES_MAX;
	scene.rules.switches = TD_SWITCHES_MAX;
	scene.rules.axis[axis] = scene.rules.axis[RULE_BOOM];
	scene.rules.axis[axis].way[1].bars = 0;
	scene.rules.axis[axis].way[1].end_switch = sw;
	scene.rules.sw[sw] = scene.rules.sw[RULE_OPEN];
	struct td_event ask = {.kind = TD_EVENT_REQUEST,
			       .axis = axis,
			       .way = 1,
			       .session = 1,
			       .hold = 1,
			       .lease_ns = TD_MS(1500)};

	step(&scene, TD_MS(1000), ask);
	assert_int_equal(scene.result.answer, TD_CAUSE_STARTED);
	assert_true(scene.result.outputs == UINT32_C(1) << 31);
	uint32_t levels = clear_levels(&scene.rules);

	for (uint8_t i = RULE_SWITCHES; i < sw; i++)
		levels |= td_switch_reads_active(&scene.rules.sw[i], true) ? 0 : UINT32_C(1) << i;
	levels |= td_switch_reads_active(&scene.rules.sw[sw], true) ? UINT32_C(1) << sw : 0;
	step(&scene, TD_MS(1100), (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels});
	step(&scene, TD_MS(1102), event_of(TD_EVENT_TIME, 0));
	assert_true((td_core_active(&scene.core, &scene.rules) >> sw & 1) == 1);
	assert_int_equal(scene.result.outputs, 0);
	assert_int_equal(scene.core.axis[axis].state, TD_AXIS_COAST);
}

static void more_axes_than_there_can_be_ask_for_nothing(void **state)
{
	static struct scene scene;
	struct td_event ask = {.kind = TD_EVENT_REQUEST,
			       .axis = TD_AXES_MAX,
			       .session = 1,
			       .hold = 1,
			       .lease_ns = TD_MS(300)};

	(void)state;
	stand(&scene);
	scene.rules.axes = 200;
	step(&scene, TD_MS(1000), ask);
	assert_int_equal(scene.result.answer, TD_CAUSE_BAD_REQUEST);
	struct td_axis_view view;

	td_core_view(&scene.core, &scene.rules, TD_AXES_MAX, TD_MS(1000), &view);
	assert_int_equal(view.trip, TD_CAUSE_INTERNAL);
}

/* An end switch that cannot be is never active; the way it ends runs to its limit. */
static void a_switch_that_cannot_be_is_never_active(void **state)
{
	static struct scene scene;
	static const uint8_t numbers[] = {TD_SWITCHES_MAX, TD_SWITCHES_MAX + 1, 254};

	(void)state;
	for (size_t i = 0; i < sizeof(numbers) / sizeof(numbers[0]); i++) {
		stand(&scene);
		scene.rules.axis[RULE_BOOM].way[1].end_switch = numbers[i];
		scene.rules.stop_switch = numbers[i];
		assert_false(td_sense_active(&scene.core, numbers[i]));
		assert_false(td_sense_maybe_active(&scene.core, numbers[i]));
		step(&scene, TD_MS(1001), event_of(TD_EVENT_LEVELS, 0));
		step(&scene, TD_MS(1002), event_of(TD_EVENT_LATCH, 0));
		step(&scene, TD_MS(1003), event_of(TD_EVENT_RESET, TD_ALL_AXES));
		assert_int_equal(scene.core.latch, 0);
	}
}

/* RUN in a way that does not exist is no power; what ends a hold then finds the impossible and trips. */
static void r1_a_way_that_cannot_be_is_no_power(void **state)
{
	static const uint8_t ways[] = {TD_WAYS, 7, TD_NO_WAY};
	static struct scene scene;

	(void)state;
	for (size_t i = 0; i < sizeof(ways) / sizeof(ways[0]); i++) {
		stand(&scene);
		struct td_axis *boom = &scene.core.axis[RULE_BOOM];

		boom->state = TD_AXIS_RUN;
		boom->way = ways[i];
		boom->hold = (struct td_hold){7, 70, 0, TD_MS(1200)};
		step(&scene, TD_MS(1100), event_of(TD_EVENT_TIME, 0));
		assert_int_equal(scene.result.outputs, 0);
		assert_int_equal(boom->state, TD_AXIS_TRIPPED);
		assert_int_equal(boom->trip, TD_CAUSE_INTERNAL);
		assert_int_equal(scene.result.deadline_ns, TD_NEVER);
	}
}

static void a_way_that_cannot_be_has_no_deadline(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	scene.core.axis[RULE_BOOM].state = TD_AXIS_RUN;
	scene.core.axis[RULE_BOOM].way = TD_WAYS;
	assert_int_equal(td_watch_deadline(&scene.core, &scene.rules, RULE_BOOM), TD_NEVER);
}

static void r17_an_axis_that_waits_for_a_way_that_cannot_be_lets_go(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	struct td_axis *boom = &scene.core.axis[RULE_BOOM];

	boom->state = TD_AXIS_WAIT;
	boom->way = TD_WAYS;
	boom->hold = (struct td_hold){7, 70, 0, TD_MS(5000)};
	step(&scene, TD_MS(1100), event_of(TD_EVENT_TIME, 0));
	assert_int_equal(scene.result.outputs, 0);
	assert_int_equal(boom->way, TD_NO_WAY);
	assert_false(td_held(boom));
}

/* A state that does not exist is held by nobody, has no deadline, and ends as a trip at the next order. */
static void a_state_that_cannot_be_is_off(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	struct td_axis *boom = &scene.core.axis[RULE_BOOM];

	boom->state = (enum td_axis_state)TD_AXIS_STATES;
	boom->way = 1;
	step(&scene, TD_MS(1100), event_of(TD_EVENT_STOP, TD_ALL_AXES));
	assert_int_equal(scene.result.outputs, 0);
	assert_int_equal(scene.result.deadline_ns, TD_NEVER);
	step(&scene, TD_MS(1200), event_of(TD_EVENT_LINES_LOST, 0));
	assert_int_equal(boom->state, TD_AXIS_TRIPPED);
}

/* Between its start and the write of a cut no last way but 0, 1 and "none" exists; doubt reads as either. */
static void r8_a_last_way_that_cannot_be_may_coast_either_way(void **state)
{
	static struct scene scene;
	uint32_t levels;

	(void)state;
	stand(&scene);
	struct td_axis *boom = &scene.core.axis[RULE_BOOM];

	boom->last_way = TD_WAYS;
	boom->located = true;
	boom->cut_ns = TD_MS(1000);
	levels = clear_levels(&scene.rules) ^ 1U << RULE_TOP;
	step(&scene, TD_MS(1100), (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels});
	step(&scene, TD_MS(1102), event_of(TD_EVENT_TIME, 0));
	assert_int_equal(boom->trip, TD_CAUSE_END_TOO_EARLY);
}

static void news_that_find_no_room_are_counted(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	struct td_step inside = {.core = &scene.core, .rules = &scene.rules, .result = &scene.result};

	scene.result.news_count = 0;
	for (int i = 0; i < TD_NEWS_MAX + 3; i++)
		td_report(&inside, TD_CAUSE_LEVELS_SEEN, TD_AXES_MAX, TD_NO_WAY, (uint8_t)i);
	assert_int_equal(scene.result.news_count, TD_NEWS_MAX);
	assert_int_equal(scene.result.news_lost, 3);
	assert_int_equal(scene.result.news[TD_NEWS_MAX - 1].sw, TD_NEWS_MAX - 1);
}

/* The first bytes behind the switches are those of an axis. */
static void r8_a_reset_of_an_axis_whose_end_cannot_be_forgives_nothing_else(void **state)
{
	static struct scene scene;
	static struct td_core before;

	(void)state;
	stand(&scene);
	scene.rules.axis[RULE_BOOM].way[0].end_switch = TD_SWITCHES_MAX;
	scene.rules.axis[RULE_BOOM].way[1].end_switch = TD_NO_SWITCH;
	memset(scene.core.chatter, 1, sizeof(scene.core.chatter));
	scene.core.axis[RULE_BOOM].state = TD_AXIS_TRIPPED;
	scene.core.axis[RULE_BOOM].trip = TD_CAUSE_BOTH_ENDS;
	before = scene.core;
	step(&scene, TD_MS(1000), event_of(TD_EVENT_RESET, RULE_BOOM));
	assert_int_equal(scene.result.answer, TD_CAUSE_RESET_DONE);
	assert_memory_equal(scene.core.chatter, before.chatter, sizeof(before.chatter));
}

static void r12_beyond_the_time_that_duty_counts_nothing_starts(void **state)
{
	static const td_ns moments_ns[] = {TD_BUDGET_TIME_MAX_NS, TD_BUDGET_TIME_MAX_NS + 1};
	static struct scene scene;

	(void)state;
	for (int i = 0; i < 2; i++) {
		stand(&scene);
		scene.rules.axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_MINUTE] = TD_S(1);
		struct td_event ask = event_of(TD_EVENT_REQUEST, RULE_DRIVE);

		ask.session = ask.hold = 1;
		ask.lease_ns = TD_S(1);
		step(&scene, moments_ns[i], ask);
		assert_int_equal(scene.result.answer, i == 0 ? TD_CAUSE_STARTED : TD_CAUSE_DUTY_SPENT);
		assert_true(scene.result.deadline_ns > scene.core.now_ns);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_lies_behind_the_last_axis_is_not_touched),
		cmocka_unit_test(what_lies_behind_the_last_switch_is_not_touched),
		cmocka_unit_test(numbers_past_the_arrays_stay_inside_them),
		cmocka_unit_test(first_levels_past_the_arrays_stay_inside_them),
		cmocka_unit_test(the_last_axis_and_the_last_switch_count),
		cmocka_unit_test(more_axes_than_there_can_be_ask_for_nothing),
		cmocka_unit_test(a_switch_that_cannot_be_is_never_active),
		cmocka_unit_test(r1_a_way_that_cannot_be_is_no_power),
		cmocka_unit_test(a_way_that_cannot_be_has_no_deadline),
		cmocka_unit_test(r17_an_axis_that_waits_for_a_way_that_cannot_be_lets_go),
		cmocka_unit_test(a_state_that_cannot_be_is_off),
		cmocka_unit_test(r8_a_last_way_that_cannot_be_may_coast_either_way),
		cmocka_unit_test(r8_a_reset_of_an_axis_whose_end_cannot_be_forgives_nothing_else),
		cmocka_unit_test(news_that_find_no_room_are_counted),
		cmocka_unit_test(r12_beyond_the_time_that_duty_counts_nothing_starts),
	};

	return cmocka_run_group_tests_name("core_total", tests, NULL, NULL);
}
