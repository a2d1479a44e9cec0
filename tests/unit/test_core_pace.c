/* SPDX-License-Identifier: MIT */
/* M14: what was learned of travel times leaves the core and comes back. The rest is in rules/M14-trend.txt. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/core.h"
#include "tests/support/rule_cart.h"

static const struct td_trend learned = {.learned_ns = TD_MS(2000),
					.recent_ns = TD_MS(2500),
					.last_ns = {TD_MS(2500), TD_MS(2400)},
					.learned = TD_TREND_LEARN,
					.slow = 3,
					.warned = 1};

struct scene {
	struct td_rules rules;
	struct td_core core;
};

static void begin(struct scene *scene)
{
	scene->rules = rule_cart();
	td_core_init(&scene->core, &scene->rules, 0);
}

static struct td_axis_view view_of(const struct scene *scene, uint8_t axis)
{
	struct td_axis_view view;

	td_core_view(&scene->core, &scene->rules, axis, 0, &view);
	return view;
}

static void assert_same(const struct td_trend *a, const struct td_trend *b)
{
	assert_true(a->learned_ns == b->learned_ns && a->recent_ns == b->recent_ns);
	assert_true(a->last_ns[0] == b->last_ns[0] && a->last_ns[1] == b->last_ns[1]);
	assert_true(a->learned == b->learned && a->slow == b->slow && a->warned == b->warned);
}

static void what_was_learned_comes_back_as_it_was(void **state)
{
	static struct scene scene;
	static const struct td_trend nothing;

	(void)state;
	begin(&scene);
	td_core_set_trend(&scene.core, RULE_BOOM, 1, &learned);
	assert_same(td_core_trend(&scene.core, RULE_BOOM, 1), &learned);
	assert_same(td_core_trend(&scene.core, RULE_BOOM, 0), &nothing);
	struct td_axis_view view = view_of(&scene, RULE_BOOM);

	assert_true(view.slower[1] && !view.slower[0]);
	assert_int_equal(view.slower_ppm[1], 250000);
	assert_int_equal(view.slower_ppm[0], TD_NO_TREND);
}

static void what_cannot_have_been_learned_begins_anew(void **state)
{
	static struct scene scene;
	static const struct td_trend nothing;
	struct td_trend broken = learned;

	(void)state;
	begin(&scene);
	td_core_set_trend(&scene.core, RULE_BOOM, 1, &learned);
	broken.learned_ns = -1;
	td_core_set_trend(&scene.core, RULE_BOOM, 1, &broken);
	assert_same(td_core_trend(&scene.core, RULE_BOOM, 1), &nothing);
	assert_int_equal(view_of(&scene, RULE_BOOM).slower_ppm[1], TD_NO_TREND);
}

static void a_way_that_does_not_exist_has_learned_nothing(void **state)
{
	static struct scene scene;
	static struct scene untouched;

	(void)state;
	begin(&scene);
	begin(&untouched);
	td_core_set_trend(&scene.core, TD_AXES_MAX, 0, &learned);
	td_core_set_trend(&scene.core, RULE_BOOM, TD_WAYS, &learned);
	assert_memory_equal(&scene.core, &untouched.core, sizeof(scene.core));
	assert_null(td_core_trend(&scene.core, TD_AXES_MAX, 0));
	assert_null(td_core_trend(&scene.core, TD_NO_AXIS, 0));
	assert_null(td_core_trend(&scene.core, RULE_BOOM, TD_WAYS));
	assert_null(td_core_trend(&scene.core, RULE_BOOM, TD_NO_WAY));
	assert_non_null(td_core_trend(&scene.core, TD_AXES_MAX - 1, TD_WAYS - 1));
	assert_int_equal(view_of(&scene, TD_NO_AXIS).slower_ppm[0], TD_NO_TREND);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_was_learned_comes_back_as_it_was),
		cmocka_unit_test(what_cannot_have_been_learned_begins_anew),
		cmocka_unit_test(a_way_that_does_not_exist_has_learned_nothing),
	};

	return cmocka_run_group_tests_name("core_pace", tests, NULL, NULL);
}
