/* SPDX-License-Identifier: MIT */
/* Requests that arrive in the very step in which something else becomes due: steps that no scenario can make. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/core.h"
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

/* Everything clear and armed at 0. */
static void stand(struct scene *scene)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS};

	scene->rules = rule_cart();
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&scene->rules, sw, false))
			event.levels |= 1U << sw;
	td_core_init(&scene->core, &scene->rules, 0);
	step(scene, 0, event);
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
}

static enum td_cause ask(struct scene *scene, td_ns at_ns, uint8_t axis, uint8_t way, uint32_t hold)
{
	step(scene, at_ns,
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = axis,
			       .way = way,
			       .session = 1,
			       .hold = hold,
			       .lease_ns = TD_MS(1500)});
	return scene->result.answer;
}

static enum td_cause renew(struct scene *scene, td_ns at_ns, uint8_t axis, uint8_t way, uint32_t hold)
{
	step(scene, at_ns,
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = axis,
			       .way = way,
			       .session = 1,
			       .hold = hold,
			       .seq = 1,
			       .lease_ns = TD_MS(1500)});
	return scene->result.answer;
}

static void stop_all(struct scene *scene, td_ns at_ns)
{
	step(scene, at_ns, (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
}

/* The wheel waits until 1250 ms; at that very time the drive is asked for, whose pause is not over. */
static void an_answer_is_about_the_axis_that_was_asked_for(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	assert_int_equal(ask(&scene, TD_MS(1000), RULE_WHEEL, 0, 1), TD_CAUSE_STARTED);
	assert_int_equal(ask(&scene, TD_MS(1000), RULE_DRIVE, 0, 2), TD_CAUSE_STARTED);
	stop_all(&scene, TD_MS(1100));
	assert_int_equal(ask(&scene, TD_MS(1101), RULE_WHEEL, 1, 3), TD_CAUSE_QUEUED);
	assert_int_equal(ask(&scene, TD_MS(1250), RULE_DRIVE, 1, 4), TD_CAUSE_QUEUED);
	assert_int_equal(scene.core.axis[RULE_WHEEL].state, TD_AXIS_RUN);
}

static void a_renewal_stays_one_though_the_wait_is_over(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	assert_int_equal(ask(&scene, TD_MS(1000), RULE_WHEEL, 0, 1), TD_CAUSE_STARTED);
	stop_all(&scene, TD_MS(1100));
	assert_int_equal(ask(&scene, TD_MS(1101), RULE_WHEEL, 1, 2), TD_CAUSE_QUEUED);
	assert_int_equal(renew(&scene, TD_MS(1250), RULE_WHEEL, 1, 2), TD_CAUSE_RENEWED);
	assert_int_equal(scene.core.axis[RULE_WHEEL].state, TD_AXIS_RUN);
}

/* The boom, which must not go up while the vent moves, starts in the step in which the vent is asked for. */
static void r17_who_is_asked_for_in_the_step_of_anothers_start_is_refused(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	assert_int_equal(ask(&scene, TD_MS(1000), RULE_BOOM, 1, 1), TD_CAUSE_STARTED);
	stop_all(&scene, TD_MS(1100));
	assert_int_equal(ask(&scene, TD_MS(1101), RULE_BOOM, 1, 2), TD_CAUSE_QUEUED);
	assert_int_equal(ask(&scene, TD_MS(1300), RULE_VENT, 1, 3), TD_CAUSE_BARRED_START);
	assert_int_equal(scene.core.axis[RULE_BOOM].state, TD_AXIS_RUN);
	assert_int_equal(scene.core.axis[RULE_VENT].state, TD_AXIS_STILL);
}

/* 0 is "not said"; the first nanosecond is a time like any other. */
static void r7_a_time_of_hearing_counts_from_the_first_nanosecond_on(void **state)
{
	static const struct {
		td_ns heard_ns, counts_ns;
	} rows[] = {{-1, 3}, {0, 3}, {1, 1}, {2, 2}, {3, 3}, {4, 3}, {TD_NEVER, 3}, {INT64_MIN, 3}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		static struct scene scene;

		stand(&scene);
		step(&scene, 3,
		     (struct td_event){.kind = TD_EVENT_REQUEST,
				       .axis = RULE_DRIVE,
				       .session = 1,
				       .hold = 1,
				       .lease_ns = TD_MS(1500),
				       .heard_ns = rows[i].heard_ns});
		assert_int_equal(scene.result.answer, TD_CAUSE_QUEUED);
		assert_int_equal(scene.core.axis[RULE_DRIVE].hold.lease_end_ns,
				 TD_MS(1500) + rows[i].counts_ns);
		stand(&scene);
		step(&scene, 3,
		     (struct td_event){
			     .kind = TD_EVENT_STOP, .axis = TD_ALL_AXES, .heard_ns = rows[i].heard_ns});
		for (uint8_t axis = 0; axis < RULE_AXES; axis++)
			assert_int_equal(scene.core.stop_ns[axis], rows[i].counts_ns);
	}
}

static void r11_a_refused_request_leaves_its_number_and_nothing_else(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	step(&scene, TD_MS(900), (struct td_event){.kind = TD_EVENT_DISARM});
	assert_int_equal(ask(&scene, TD_MS(1000), RULE_DRIVE, 1, 5), TD_CAUSE_NOT_ARMED);
	const struct td_hold *hold = &scene.core.axis[RULE_DRIVE].hold;

	assert_int_equal(hold->session, 1);
	assert_int_equal(hold->number, 5);
	assert_int_equal(hold->seq, 0);
	assert_int_equal(hold->lease_end_ns, 0);
}

/* It rolls on no longer than its rest beyond the dead time: 400 and 300 ms. */
static void r13_asked_the_other_way_once_it_stands_still_it_weighs_one_start(void **state)
{
	(void)state;
	for (td_ns before_ns = 0; before_ns < 2; before_ns++) {
		static struct scene scene;

		stand(&scene);
		scene.rules.supply.budget_ma = 10000;
		scene.rules.supply.axis[RULE_DRIVE] = (struct td_supply_axis_rules){100, 100, TD_MS(300)};
		assert_int_equal(ask(&scene, TD_S(1), RULE_DRIVE, 1, 1), TD_CAUSE_STARTED);
		step(&scene, TD_S(2),
		     (struct td_event){
			     .kind = TD_EVENT_RELEASE, .axis = RULE_DRIVE, .session = 1, .hold = 1});
		step(&scene, TD_S(2), (struct td_event){.kind = TD_EVENT_WRITTEN});
		assert_int_equal(ask(&scene, TD_MS(2700) - before_ns, RULE_DRIVE, 0, 2), TD_CAUSE_STARTED);
		assert_int_equal(scene.core.supply.axis[RULE_DRIVE].reversal, before_ns);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(an_answer_is_about_the_axis_that_was_asked_for),
		cmocka_unit_test(a_renewal_stays_one_though_the_wait_is_over),
		cmocka_unit_test(r17_who_is_asked_for_in_the_step_of_anothers_start_is_refused),
		cmocka_unit_test(r7_a_time_of_hearing_counts_from_the_first_nanosecond_on),
		cmocka_unit_test(r11_a_refused_request_leaves_its_number_and_nothing_else),
		cmocka_unit_test(r13_asked_the_other_way_once_it_stands_still_it_weighs_one_start),
	};

	return cmocka_run_group_tests_name("core_ask", tests, NULL, NULL);
}
