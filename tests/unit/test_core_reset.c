/* SPDX-License-Identifier: MIT */
/* R11: who may reset which trip, what is told of it, and what the view and the getters show of locks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/step.h"
#include "tests/support/rule_cart.h"

enum { KEEPER_SESSION = 41, VISITOR_SESSION = 42 };

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

static void stand(struct scene *scene)
{
	struct td_event levels = {.kind = TD_EVENT_LEVELS};

	scene->rules = rule_cart();
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&scene->rules, sw, false))
			levels.levels |= 1U << sw;
	td_core_init(&scene->core, &scene->rules, 0);
	step(scene, 0, levels);
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
	step(scene, TD_S(1), (struct td_event){.kind = TD_EVENT_TIME});
}

/* The drive, tripped by this. */
static void trip(struct scene *scene, enum td_cause cause)
{
	stand(scene);
	scene->core.axis[RULE_DRIVE].state = TD_AXIS_TRIPPED;
	scene->core.axis[RULE_DRIVE].trip = cause;
}

static struct td_event reset_by(uint8_t role, uint32_t session)
{
	return (struct td_event){
		.kind = TD_EVENT_RESET, .axis = RULE_DRIVE, .role = role, .session = session};
}

static enum td_cause outcome(enum td_cause cause, uint8_t role)
{
	static struct scene scene;

	trip(&scene, cause);
	step(&scene, TD_S(2), reset_by(role, VISITOR_SESSION));
	assert_int_equal(scene.core.axis[RULE_DRIVE].state == TD_AXIS_TRIPPED,
			 scene.result.answer != TD_CAUSE_RESET_DONE);
	return scene.result.answer;
}

/* Written out here a second time, so that a slip in the list is seen. */
static void r11_every_trip_has_one_who_may_reset_it(void **state)
{
	unsigned int trips = 0;

	(void)state;
	for (unsigned int i = 0; td_cause_at(i); i++) {
		enum td_cause cause = td_cause_at(i)->cause;
		bool visitors = cause == TD_CAUSE_TRAVEL_LIMIT;

		if (td_cause_at(i)->kind != TD_KIND_TRIP)
			continue;
		trips++;
		assert_int_equal(outcome(cause, TD_ROLE_KEEPER), TD_CAUSE_RESET_DONE);
		assert_int_equal(outcome(cause, TD_ROLE_VISITOR),
				 visitors ? TD_CAUSE_RESET_DONE : TD_CAUSE_NOT_ALLOWED);
		assert_int_equal(outcome(cause, 2), outcome(cause, TD_ROLE_VISITOR));
	}
	assert_true(trips >= 7);
}

static const struct td_news *only_news(const struct scene *scene)
{
	assert_int_equal(scene->result.news_count, 1);
	return &scene->result.news[0];
}

static void r11_a_reset_is_told_with_who_did_it(void **state)
{
	static const struct {
		uint8_t role;
		uint8_t told_as;
		uint32_t session;
	} rows[] = {
		{TD_ROLE_KEEPER, TD_ROLE_KEEPER, KEEPER_SESSION},
		{TD_ROLE_VISITOR, TD_ROLE_VISITOR, VISITOR_SESSION},
		{77, TD_ROLE_VISITOR, 1},
	};
	static struct scene scene;

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		trip(&scene, TD_CAUSE_TRAVEL_LIMIT);
		step(&scene, TD_S(2), reset_by(rows[i].role, rows[i].session));
		assert_int_equal(only_news(&scene)->cause, TD_CAUSE_RESET_DONE);
		assert_int_equal(only_news(&scene)->axis, RULE_DRIVE);
		assert_int_equal(only_news(&scene)->role, rows[i].told_as);
		assert_int_equal(only_news(&scene)->session, rows[i].session);
		assert_int_equal(only_news(&scene)->hold, 0);
	}
}

/* Somebody holds the other way when the keeper takes the lock away: he is told, not the holder. */
static void r11_the_reset_of_a_lock_under_a_hold_is_told_with_who_did_it(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	step(&scene, TD_S(1), (struct td_event){.kind = TD_EVENT_LOCK_KEPT, .axis = RULE_DRIVE, .way = 0});
	step(&scene, TD_S(2),
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = RULE_DRIVE,
			       .way = 1,
			       .session = VISITOR_SESSION,
			       .hold = 5,
			       .lease_ns = TD_MS(1500)});
	assert_int_equal(scene.result.answer, TD_CAUSE_STARTED);
	assert_int_equal(only_news(&scene)->role, TD_NO_ROLE);
	step(&scene, TD_S(2) + TD_MS(10), reset_by(TD_ROLE_KEEPER, KEEPER_SESSION));
	assert_int_equal(only_news(&scene)->session, KEEPER_SESSION);
	assert_int_equal(only_news(&scene)->hold, 0);
	assert_int_equal(scene.result.outputs, 1U << (RULE_DRIVE * TD_WAYS + 1));
}

static void r11_the_reset_of_the_latch_is_told_with_who_did_it(void **state)
{
	static struct scene scene;
	struct td_event reset = reset_by(TD_ROLE_KEEPER, KEEPER_SESSION);

	(void)state;
	stand(&scene);
	step(&scene, TD_S(1), (struct td_event){.kind = TD_EVENT_LATCH});
	assert_int_equal(only_news(&scene)->role, TD_NO_ROLE);
	reset.axis = TD_ALL_AXES;
	step(&scene, TD_S(2), reset);
	assert_int_equal(only_news(&scene)->axis, TD_NO_AXIS);
	assert_int_equal(only_news(&scene)->session, KEEPER_SESSION);
	assert_int_equal(only_news(&scene)->role, TD_ROLE_KEEPER);
}

static void r11_the_time_of_the_next_reset_is_there_for_all_to_see(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	assert_int_equal(td_core_resets_free_ns(&scene.core, &scene.rules), 0);
	for (int i = 0; i < RULE_VISITOR_RESETS; i++) {
		trip(&scene, TD_CAUSE_TRAVEL_LIMIT);
		scene.rules.visitor_resets = 1;
		step(&scene, TD_S(10 + i), reset_by(TD_ROLE_VISITOR, VISITOR_SESSION));
		assert_int_equal(td_core_resets_free_ns(&scene.core, &scene.rules), TD_S(3610 + i));
	}
	scene.rules.visitor_resets = 0;
	assert_int_equal(td_core_resets_free_ns(&scene.core, &scene.rules), TD_NEVER);
}

static void r11_a_locked_way_is_shown_and_can_be_given_to_the_next_core(void **state)
{
	static struct scene scene;
	struct td_axis_view view;

	(void)state;
	stand(&scene);
	assert_int_equal(td_core_locked(&scene.core), 0);
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			stand(&scene);
			step(&scene, TD_S(1),
			     (struct td_event){.kind = TD_EVENT_LOCK_KEPT, .axis = axis, .way = way});
			assert_int_equal(td_core_locked(&scene.core), 1U << (axis * TD_WAYS + way));
			td_core_view(&scene.core, &scene.rules, axis, TD_S(1), &view);
			assert_true(view.locked[way]);
			assert_false(view.locked[1 - way]);
		}
	td_core_view(&scene.core, &scene.rules, RULE_AXES, TD_S(1), &view);
	assert_false(view.locked[0] || view.locked[1]);
}

static void r11_the_last_axis_there_can_be_is_locked_like_any_other(void **state)
{
	static struct scene scene;
	const struct td_event kept = {.kind = TD_EVENT_LOCK_KEPT, .axis = TD_AXES_MAX - 1, .way = 1};
	const struct td_event beyond = {.kind = TD_EVENT_LOCK_KEPT, .axis = TD_AXES_MAX, .way = 1};

	(void)state;
	stand(&scene);
	scene.rules.axes = TD_AXES_MAX;
	step(&scene, TD_S(1), kept);
	assert_int_equal(td_core_locked(&scene.core), UINT32_C(1) << 31);
	scene.rules.axes = 255;
	scene.result.answer = TD_CAUSE_NONE;
	scene.core.locked = 0;
	step(&scene, TD_S(2), beyond);
	assert_int_equal(scene.result.answer, TD_CAUSE_BAD_REQUEST);
	assert_int_equal(td_core_locked(&scene.core), 0);
}

static void r11_a_way_that_does_not_exist_is_not_locked(void **state)
{
	static struct scene scene;

	(void)state;
	stand(&scene);
	scene.core.locked = UINT32_MAX;
	scene.core.suspect = UINT32_MAX;
	scene.result.news_count = 0;
	for (unsigned int way = TD_WAYS; way <= UINT8_MAX; way++) {
		struct td_step same = {.core = &scene.core, .rules = &scene.rules, .result = &scene.result};

		assert_false(td_lock_holds(&scene.core, 0, (uint8_t)way));
		td_lock_completed(&scene.core, 0, (uint8_t)way);
		td_lock_tripped(&same, 0, (uint8_t)way);
	}
	assert_int_equal(scene.core.suspect, UINT32_MAX);
	assert_int_equal(scene.result.news_count, 0);
	scene.core.locked = 0;
	step(&scene, TD_S(2), (struct td_event){.kind = TD_EVENT_LOCK_KEPT, .axis = 0, .way = TD_WAYS});
	assert_int_equal(scene.result.answer, TD_CAUSE_BAD_REQUEST);
	assert_int_equal(td_core_locked(&scene.core), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r11_every_trip_has_one_who_may_reset_it),
		cmocka_unit_test(r11_a_reset_is_told_with_who_did_it),
		cmocka_unit_test(r11_the_reset_of_a_lock_under_a_hold_is_told_with_who_did_it),
		cmocka_unit_test(r11_the_reset_of_the_latch_is_told_with_who_did_it),
		cmocka_unit_test(r11_the_time_of_the_next_reset_is_there_for_all_to_see),
		cmocka_unit_test(r11_a_locked_way_is_shown_and_can_be_given_to_the_next_core),
		cmocka_unit_test(r11_a_way_that_does_not_exist_is_not_locked),
		cmocka_unit_test(r11_the_last_axis_there_can_be_is_locked_like_any_other),
	};

	return cmocka_run_group_tests_name("core_reset", tests, NULL, NULL);
}
