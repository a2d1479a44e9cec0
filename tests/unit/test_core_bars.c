/* SPDX-License-Identifier: MIT */
/* R17, asked directly: every kind of condition against every state, and doubt counts against motion. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/step.h"
#include "tests/support/rule_cart.h"

enum { NOW_MS = 5000 };

struct scene {
	struct td_rules rules;
	struct td_core core;
};

/* Everything stands still and clear; the boom's way up has one condition. */
static struct scene with(struct td_bar bar)
{
	struct scene scene = {.rules = rule_cart()};

	td_core_init(&scene.core, &scene.rules, 0);
	scene.core.now_ns = TD_MS(NOW_MS);
	scene.rules.axis[RULE_VENT].way[0].bars = 0;
	scene.rules.axis[RULE_BOOM].way[1].bar[0] = bar;
	return scene;
}

static bool blocks(const struct scene *scene)
{
	return td_bar_blocks(&scene->core, &scene->rules, RULE_BOOM, 1);
}

static void r17_moving_counts_with_its_rest(void **state)
{
	struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_VENT, TD_NO_WAY});

	(void)state;
	assert_false(blocks(&scene));
	scene.core.axis[RULE_VENT].cut_ns = TD_MS(4800);
	assert_false(blocks(&scene));
	scene.core.axis[RULE_VENT].cut_ns = TD_MS(4800) + 1;
	assert_true(blocks(&scene));
	scene.core.axis[RULE_VENT].cut_ns = 0;
	scene.core.axis[RULE_VENT].state = TD_AXIS_RUN;
	assert_true(blocks(&scene));
}

static void r17_doubt_about_an_end_counts_against_motion(void **state)
{
	static const struct {
		bool raw, active, runs, at_end_blocks, off_end_blocks;
	} rows[] = {
		{false, false, false, false, true}, {true, false, false, true, true},
		{false, true, false, true, true},   {true, true, false, true, false},
		{false, false, true, false, true},  {true, false, true, true, true},
		{false, true, true, true, false}, /* what runs bears the bounce of a contact */
		{true, true, true, true, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct scene at = with((struct td_bar){TD_BAR_AT_END, RULE_VENT, 1});
		struct scene off = with((struct td_bar){TD_BAR_OFF_END, RULE_VENT, 1});

		at.core.sw[RULE_OPEN].raw = off.core.sw[RULE_OPEN].raw = rows[i].raw;
		at.core.sw[RULE_OPEN].active = off.core.sw[RULE_OPEN].active = rows[i].active;
		if (rows[i].runs)
			at.core.axis[RULE_BOOM].state = off.core.axis[RULE_BOOM].state = TD_AXIS_RUN;
		assert_int_equal(blocks(&at), rows[i].at_end_blocks);
		assert_int_equal(blocks(&off), rows[i].off_end_blocks);
	}
}

static void r17_a_condition_that_makes_no_sense_blocks(void **state)
{
	struct scene scene = with((struct td_bar){TD_BAR_AT_END, RULE_AXES, 0});

	(void)state;
	assert_true(blocks(&scene));
	scene = with((struct td_bar){TD_BAR_MOVING, RULE_AXES, 0});
	assert_true(blocks(&scene));
	scene = with((struct td_bar){TD_BAR_OFF_END, RULE_WHEEL, 0}); /* has no end switch */
	assert_true(blocks(&scene));
	scene = with((struct td_bar){TD_BAR_AT_END, RULE_VENT, TD_WAYS});
	assert_true(blocks(&scene));
	scene = with((struct td_bar){TD_BAR_AT_END, RULE_VENT, TD_NO_WAY});
	assert_true(blocks(&scene));
}

static void r17_a_way_that_does_not_exist_is_blocked(void **state)
{
	struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_VENT, TD_NO_WAY});

	(void)state;
	assert_true(td_bar_blocks(&scene.core, &scene.rules, RULE_BOOM, TD_WAYS));
	assert_true(td_bar_blocks(&scene.core, &scene.rules, RULE_BOOM, TD_NO_WAY));
	assert_true(td_bar_blocks(&scene.core, &scene.rules, TD_AXES_MAX, 0));
	assert_true(td_bar_blocks(&scene.core, &scene.rules, TD_ALL_AXES, 0));
}

/* All conditions count, up to as many as there can be, and none behind the last. */
static void r17_every_condition_counts_and_none_behind_them(void **state)
{
	(void)state;
	for (uint8_t at = 0; at <= TD_BARS_MAX; at++) {
		struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_DRIVE, TD_NO_WAY});
		struct td_way_rules *way = &scene.rules.axis[RULE_BOOM].way[1];

		for (uint8_t i = 0; i < TD_BARS_MAX; i++)
			way->bar[i] =
				(struct td_bar){TD_BAR_MOVING, i == at ? RULE_VENT : RULE_WHEEL, TD_NO_WAY};
		scene.core.axis[RULE_VENT].state = TD_AXIS_RUN;
		way->bars = TD_BARS_MAX;
		assert_int_equal(blocks(&scene), at < TD_BARS_MAX);
		way->bars = 200;
		assert_int_equal(blocks(&scene), at < TD_BARS_MAX);
		way->bars = at;
		assert_false(blocks(&scene));
	}
}

/* The boom goes up or coasts, and needs the vent to stand still; may the vent start? */
static void r17_the_disturbed_way_is_the_one_it_moves_in(void **state)
{
	static const struct {
		enum td_axis_state state;
		uint8_t way, last_way;
		int cut_ms;
		bool disturbed;
	} rows[] = {
		{TD_AXIS_RUN, 1, 0, 0, true},
		{TD_AXIS_RUN, 0, 1, 0, false},
		{TD_AXIS_COAST, TD_NO_WAY, 1, NOW_MS - 199, true},
		{TD_AXIS_COAST, TD_NO_WAY, 1, NOW_MS - 200, false},
		{TD_AXIS_COAST, TD_NO_WAY, 0, NOW_MS - 199, false},
		{TD_AXIS_COAST, TD_NO_WAY, TD_NO_WAY, NOW_MS - 199, true},
		{TD_AXIS_COAST, TD_NO_WAY, TD_WAYS, NOW_MS - 199, true},
		{TD_AXIS_WAIT, 1, 0, NOW_MS - 199, false},
		{TD_AXIS_WAIT, 0, 1, NOW_MS - 199, true},
		{TD_AXIS_STILL, TD_NO_WAY, 1, 0, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_VENT, TD_NO_WAY});
		struct td_axis *boom = &scene.core.axis[RULE_BOOM];

		boom->state = rows[i].state;
		boom->way = rows[i].way;
		boom->last_way = rows[i].last_way;
		boom->cut_ns = TD_MS(rows[i].cut_ms);
		assert_int_equal(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT), rows[i].disturbed);
		assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_WHEEL));
		assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_BOOM));
	}
}

/* Where the way is not known, a condition of either way counts. */
static void r17_a_condition_of_the_first_way_counts_too(void **state)
{
	struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_WHEEL, TD_NO_WAY});
	struct td_way_rules *lower = &scene.rules.axis[RULE_BOOM].way[0];

	(void)state;
	lower->bars = 1;
	lower->bar[0] = (struct td_bar){TD_BAR_MOVING, RULE_VENT, TD_NO_WAY};
	scene.core.axis[RULE_BOOM].cut_ns = TD_MS(NOW_MS);
	assert_true(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT));
	lower->bar[0].kind = TD_BAR_AT_END;
	assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT));
}

static void r17_every_condition_of_the_disturbed_counts(void **state)
{
	(void)state;
	for (uint8_t at = 0; at <= TD_BARS_MAX; at++) {
		struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_DRIVE, TD_NO_WAY});
		struct td_way_rules *way = &scene.rules.axis[RULE_BOOM].way[1];

		for (uint8_t i = 0; i < TD_BARS_MAX; i++)
			way->bar[i] =
				(struct td_bar){TD_BAR_MOVING, i == at ? RULE_VENT : RULE_WHEEL, TD_NO_WAY};
		scene.core.axis[RULE_BOOM].state = TD_AXIS_RUN;
		scene.core.axis[RULE_BOOM].way = 1;
		way->bars = 200;
		assert_int_equal(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT), at < TD_BARS_MAX);
		way->bars = at;
		assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT));
	}
}

/* Axes behind the last one are nobody, and behind the largest number there is no memory. */
static void r17_an_axis_that_does_not_exist_is_not_disturbed(void **state)
{
	struct scene scene = with((struct td_bar){TD_BAR_MOVING, RULE_WHEEL, TD_NO_WAY});

	(void)state;
	scene.core.axis[RULE_AXES].state = TD_AXIS_RUN;
	scene.core.axis[RULE_AXES].way = 0;
	scene.rules.axis[RULE_AXES] = scene.rules.axis[RULE_BOOM];
	scene.rules.axis[RULE_AXES].way[0] = scene.rules.axis[RULE_BOOM].way[1];
	scene.rules.axis[RULE_AXES].way[0].bar[0].axis = RULE_VENT;
	assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT));
	scene.rules.axes = 200;
	assert_true(td_bar_disturbs(&scene.core, &scene.rules, RULE_VENT));
	assert_false(td_bar_disturbs(&scene.core, &scene.rules, RULE_DRIVE));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r17_moving_counts_with_its_rest),
		cmocka_unit_test(r17_doubt_about_an_end_counts_against_motion),
		cmocka_unit_test(r17_a_condition_that_makes_no_sense_blocks),
		cmocka_unit_test(r17_a_way_that_does_not_exist_is_blocked),
		cmocka_unit_test(r17_every_condition_counts_and_none_behind_them),
		cmocka_unit_test(r17_the_disturbed_way_is_the_one_it_moves_in),
		cmocka_unit_test(r17_a_condition_of_the_first_way_counts_too),
		cmocka_unit_test(r17_every_condition_of_the_disturbed_counts),
		cmocka_unit_test(r17_an_axis_that_does_not_exist_is_not_disturbed),
	};

	return cmocka_run_group_tests_name("core_bars", tests, NULL, NULL);
}
