/* SPDX-License-Identifier: MIT */
/* What the core keeps of itself over a restart: duty and wear, and what an end without notice costs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/record.h"
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

/* Armed at 0 with every switch clear; a minute allows the drive ten seconds. */
static void stand(struct scene *scene)
{
	struct td_event levels = {.kind = TD_EVENT_LEVELS};

	memset(scene, 0, sizeof(*scene));
	scene->rules = rule_cart();
	scene->rules.axis[RULE_DRIVE].way[1].limit_ns = TD_S(100);
	scene->rules.axis[RULE_DRIVE].way[1].reach_ns = TD_S(100);
	scene->rules.axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_MINUTE] = TD_S(25);
	td_core_init(&scene->core, &scene->rules, 0);
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&scene->rules, sw, false))
			levels.levels |= UINT32_C(1) << sw;
	step(scene, 0, levels);
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
}

static enum td_cause ask(struct scene *scene, td_ns at_ns, uint32_t hold, uint32_t seq)
{
	step(scene, at_ns,
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = RULE_DRIVE,
			       .way = 1,
			       .session = 1,
			       .hold = hold,
			       .seq = seq,
			       .lease_ns = TD_MS(1500)});
	return scene->result.answer;
}

static void drive(struct scene *scene, td_ns from_ns, td_ns to_ns, uint32_t hold)
{
	uint32_t seq = 0;

	for (td_ns at_ns = from_ns; at_ns < to_ns; at_ns += TD_S(1), seq++)
		assert_int_equal(ask(scene, at_ns, hold, seq),
				 seq == 0 ? TD_CAUSE_STARTED : TD_CAUSE_RENEWED);
	step(scene, to_ns, (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
}

/* Another life of the same machine, that begins at `now_ns` of another clock. */
static void live_again(struct scene *scene, const struct td_keep *kept, td_ns now_ns, td_ns taken_ns)
{
	struct td_core *core = &scene->core;

	td_core_init(core, &scene->rules, now_ns);
	td_record_restore(core, &scene->rules, kept, taken_ns);
}

static td_ns spent(const struct scene *scene, td_ns now_ns)
{
	return td_duty_spent_ns(&scene->core.duty[RULE_DRIVE], TD_BUDGET_MINUTE, now_ns);
}

static void r12_what_was_powered_before_the_restart_still_counts(void **state)
{
	static struct scene scene;
	static struct td_keep kept;
	static struct td_keep restored;
	static uint8_t bytes[TD_KEEP_SIZE];

	(void)state;
	stand(&scene);
	drive(&scene, TD_S(5), TD_S(15), 1);
	td_record_take(&scene.core, &scene.rules, true, TD_S(20), &kept);
	td_keep_take(&kept, 7, TD_S(20), bytes);
	assert_int_equal(td_keep_restore(&restored, bytes, sizeof(bytes), 7, TD_S(3), 0), TD_KEEP_OK);
	live_again(&scene, &restored, TD_S(3), TD_S(3));
	assert_true(spent(&scene, TD_S(3)) == TD_S(10));
	assert_int_equal(scene.core.wear[RULE_DRIVE].starts[1], 1);
	assert_int_equal(scene.core.wear[RULE_DRIVE].starts[0], 0);
	assert_true(scene.core.wear[RULE_DRIVE].powered_ns[1] == TD_S(10));
}

static void m14_what_was_learned_of_travel_times_comes_back(void **state)
{
	static const struct td_trend learned = {.learned_ns = TD_MS(2000),
						.recent_ns = TD_MS(2500),
						.last_ns = {TD_MS(2500), TD_MS(2400)},
						.learned = TD_TREND_LEARN,
						.slow = 3,
						.warned = 1};
	static struct scene scene;
	static struct td_keep kept;
	static struct td_keep restored;
	static uint8_t bytes[TD_KEEP_SIZE];
	struct td_axis_view view;

	(void)state;
	stand(&scene);
	td_core_set_trend(&scene.core, RULE_BOOM, 1, &learned);
	td_record_take(&scene.core, &scene.rules, true, TD_S(20), &kept);
	td_keep_take(&kept, 7, TD_S(20), bytes);
	assert_int_equal(td_keep_restore(&restored, bytes, sizeof(bytes), 7, TD_S(3), 0), TD_KEEP_OK);
	live_again(&scene, &restored, TD_S(3), TD_S(3));
	td_core_view(&scene.core, &scene.rules, RULE_BOOM, TD_S(3), &view);
	assert_true(view.slower[1] && !view.slower[0]);
	assert_int_equal(view.slower_ppm[1], 250000);
	assert_int_equal(view.slower_ppm[0], TD_NO_TREND);
}

static void r11_locked_ways_are_recorded(void **state)
{
	static struct scene scene;
	static struct td_keep kept;

	(void)state;
	stand(&scene);
	td_record_take(&scene.core, &scene.rules, true, TD_S(20), &kept);
	assert_int_equal(kept.locked, 0);
	step(&scene, TD_S(21), (struct td_event){.kind = TD_EVENT_LOCK_KEPT, .axis = RULE_DRIVE, .way = 1});
	step(&scene, TD_S(21), (struct td_event){.kind = TD_EVENT_LOCK_KEPT, .axis = RULE_AXES, .way = 1});
	td_record_take(&scene.core, &scene.rules, true, TD_S(22), &kept);
	assert_int_equal(kept.locked, 1U << (RULE_DRIVE * TD_WAYS + 1));
}

static void r12_an_end_without_notice_costs_every_axis_a_charge(void **state)
{
	static struct scene scene;
	static struct td_keep kept;

	(void)state;
	stand(&scene);
	drive(&scene, TD_S(5), TD_S(15), 1);
	td_record_take(&scene.core, &scene.rules, false, TD_S(16), &kept);
	assert_int_equal(kept.closed, 0);
	live_again(&scene, &kept, TD_S(16), TD_S(16));
	assert_true(spent(&scene, TD_S(16)) == TD_S(10) + TD_RECORD_CHARGE_NS);
	assert_int_equal(
		td_duty_may_start(&scene.core.duty[RULE_DRIVE], &scene.rules.axis[RULE_DRIVE].duty, TD_S(16))
			.limit,
		TD_DUTY_MINUTE);
	assert_true(td_duty_spent_ns(&scene.core.duty[RULE_WHEEL], TD_BUDGET_MINUTE, TD_S(16)) ==
		    TD_RECORD_CHARGE_NS);
}

static void r12_a_record_taken_in_mid_run_holds_the_run_so_far(void **state)
{
	static struct scene scene;
	static struct td_keep kept;

	(void)state;
	stand(&scene);
	assert_int_equal(ask(&scene, TD_S(5), 1, 0), TD_CAUSE_STARTED);
	assert_int_equal(ask(&scene, TD_S(6), 1, 1), TD_CAUSE_RENEWED);
	td_record_take(&scene.core, &scene.rules, false, TD_S(7), &kept);
	assert_true(td_duty_spent_ns(&kept.axis[RULE_DRIVE].duty, TD_BUDGET_MINUTE, TD_S(7)) == TD_S(2));
	assert_int_equal(kept.axis[RULE_DRIVE].duty.powered, 0);
	assert_true(kept.axis[RULE_DRIVE].powered_ns[1] == TD_S(2));
	assert_int_equal(kept.axis[RULE_DRIVE].starts[1], 1);
	assert_int_equal(scene.core.duty[RULE_DRIVE].powered, 1);
}

static void r10_the_latch_goes_into_the_record(void **state)
{
	static struct scene scene;
	static struct td_keep kept;

	(void)state;
	stand(&scene);
	td_record_take(&scene.core, &scene.rules, true, TD_S(1), &kept);
	assert_int_equal(kept.latched, 0);
	step(&scene, TD_S(2), (struct td_event){.kind = TD_EVENT_LATCH});
	td_record_take(&scene.core, &scene.rules, true, TD_S(2), &kept);
	assert_int_equal(kept.latched, 1);
}

static enum td_cause cooled(struct scene *scene, td_ns at_ns, uint8_t axis, uint8_t role)
{
	step(scene, at_ns, (struct td_event){.kind = TD_EVENT_COOLED, .axis = axis, .role = role});
	return scene->result.answer;
}

static void r12_only_the_keeper_vouches_and_only_for_what_stands(void **state)
{
	static struct scene scene;
	static struct td_keep worst;

	(void)state;
	stand(&scene);
	td_keep_init_unknown(&worst, 0);
	live_again(&scene, &worst, 0, 0);
	assert_int_equal(cooled(&scene, TD_S(1), RULE_DRIVE, TD_ROLE_VISITOR), TD_CAUSE_NOT_ALLOWED);
	assert_int_equal(cooled(&scene, TD_S(1), RULE_AXES, TD_ROLE_KEEPER), TD_CAUSE_BAD_REQUEST);
	assert_true(spent(&scene, TD_S(1)) > TD_S(50));
	assert_int_equal(cooled(&scene, TD_S(1), RULE_DRIVE, TD_ROLE_KEEPER), TD_CAUSE_COOLED);
	assert_int_equal(scene.result.news_count, 1);
	assert_int_equal(scene.result.news[0].role, TD_ROLE_KEEPER);
	assert_int_equal(scene.result.outputs, 0);
	assert_true(spent(&scene, TD_S(1)) == 0);
	assert_true(td_duty_spent_ns(&scene.core.duty[RULE_WHEEL], TD_BUDGET_MINUTE, TD_S(1)) > TD_S(50));
	assert_int_equal(cooled(&scene, TD_S(2), TD_ALL_AXES, TD_ROLE_KEEPER), TD_CAUSE_COOLED);
	assert_true(td_duty_spent_ns(&scene.core.duty[RULE_WHEEL], TD_BUDGET_MINUTE, TD_S(2)) == 0);

	stand(&scene);
	assert_int_equal(ask(&scene, TD_S(5), 1, 0), TD_CAUSE_STARTED);
	assert_int_equal(cooled(&scene, TD_S(6), RULE_DRIVE, TD_ROLE_KEEPER), TD_CAUSE_STILL_MOVING);
	assert_int_equal(cooled(&scene, TD_S(6), TD_ALL_AXES, TD_ROLE_KEEPER), TD_CAUSE_STILL_MOVING);
	assert_true(spent(&scene, TD_S(6)) == TD_S(1));
}

/* --- wear ------------------------------------------------------------------------------------------- */

static void wear_counts_starts_and_time_of_each_way(void **state)
{
	struct td_wear wear = {.starts = {UINT32_MAX, 0}};

	(void)state;
	td_wear_power(&wear, 0, TD_S(1));
	td_wear_power(&wear, 0, TD_S(2)); /* nothing new */
	assert_true(td_wear_powered_ns(&wear, 0, TD_S(4)) == TD_S(3));
	td_wear_power(&wear, 1, TD_S(5));
	td_wear_power(&wear, TD_NO_WAY, TD_S(7));
	td_wear_power(&wear, TD_NO_WAY, TD_S(9));
	assert_true(td_wear_powered_ns(&wear, 0, TD_S(9)) == TD_S(4));
	assert_true(td_wear_powered_ns(&wear, 1, TD_S(9)) == TD_S(2));
	assert_true(td_wear_powered_ns(&wear, TD_WAYS, TD_S(9)) == 0);
	assert_true(wear.starts[0] == UINT32_MAX && wear.starts[1] == 1);
}

/* Where nobody knows how it steers, all that is driven is doubt: a tenth of a turn a second ahead, less back. */
static void with_cable(struct scene *scene, enum td_twist_source source)
{
	stand(scene);
	scene->rules.cable = (struct td_cable_rules){
		.twist = {.source = source,
			  .limit_uturn = 9000000,
			  .steps_per_turn = 8,
			  .rate_ppm_s = {{[TD_TWIST_LEFT] = -50000}, {[TD_TWIST_LEFT] = 100000}}},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
	};
}

static int64_t doubt_after(struct scene *scene, bool closed, td_ns now_ns)
{
	struct td_keep kept;

	td_record_take(&scene->core, &scene->rules, closed, now_ns, &kept);
	struct scene other = *scene;

	live_again(&other, &kept, TD_S(1000), TD_S(1000));
	return td_core_view_twist(&other.core, &other.rules).doubt_uturn;
}

static void R18_turns_and_doubt_survive_and_an_end_without_notice_is_doubt(void **state)
{
	static struct scene scene;

	(void)state;
	with_cable(&scene, TD_TWIST_ESTIMATE);
	scene.core.twist.net_fturn = INT64_C(1234567000000000);
	drive(&scene, TD_S(1), TD_S(5), 1);
	assert_int_equal(doubt_after(&scene, true, TD_S(5)), 400000);
	assert_int_equal(doubt_after(&scene, false, TD_S(15) - 1), 400000 + 1500000); /* of late: 15 s */
	assert_int_equal(doubt_after(&scene, false, TD_S(15)), 400000 + 300000);      /* it stood: 3 s */
	assert_int_equal(ask(&scene, TD_S(18), 2, 0), TD_CAUSE_STARTED);
	assert_int_equal(doubt_after(&scene, false, TD_S(18)), 400000 + 1500000); /* powered: 15 s */
	struct td_keep kept;

	td_record_take(&scene.core, &scene.rules, true, TD_S(18), &kept);
	live_again(&scene, &kept, TD_S(1000), TD_S(1000));
	assert_int_equal(td_core_view_twist(&scene.core, &scene.rules).net_uturn, 1234567);
}

static void R18_of_a_sensor_too_what_nobody_saw_is_doubt(void **state)
{
	static struct scene scene;

	(void)state;
	with_cable(&scene, TD_TWIST_SENSOR);
	scene.rules.cable.contact[0] = RULE_OPEN;
	scene.rules.cable.contact[1] = RULE_STOP;
	assert_int_equal(doubt_after(&scene, true, TD_S(5)), 0);
	assert_int_equal(doubt_after(&scene, false, TD_S(5)), 300000);
	scene.rules.cable.twist.source = TD_TWIST_UNLIMITED;
	assert_int_equal(doubt_after(&scene, false, TD_S(5)), 0);
}

static void R18_rules_or_axes_that_cannot_be_are_survived(void **state)
{
	static struct scene scene;

	(void)state;
	with_cable(&scene, TD_TWIST_ESTIMATE);
	scene.rules.cable.twist.limit_uturn = 0;
	assert_int_equal(doubt_after(&scene, false, TD_S(5)), 0);
	scene.rules.cable.drive = TD_AXES_MAX;
	assert_int_equal(doubt_after(&scene, false, TD_S(5)), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r12_what_was_powered_before_the_restart_still_counts),
		cmocka_unit_test(m14_what_was_learned_of_travel_times_comes_back),
		cmocka_unit_test(r11_locked_ways_are_recorded),
		cmocka_unit_test(r12_an_end_without_notice_costs_every_axis_a_charge),
		cmocka_unit_test(r12_a_record_taken_in_mid_run_holds_the_run_so_far),
		cmocka_unit_test(r10_the_latch_goes_into_the_record),
		cmocka_unit_test(r12_only_the_keeper_vouches_and_only_for_what_stands),
		cmocka_unit_test(wear_counts_starts_and_time_of_each_way),
		cmocka_unit_test(R18_turns_and_doubt_survive_and_an_end_without_notice_is_doubt),
		cmocka_unit_test(R18_of_a_sensor_too_what_nobody_saw_is_doubt),
		cmocka_unit_test(R18_rules_or_axes_that_cannot_be_are_survived),
	};

	return cmocka_run_group_tests_name("what the core keeps of itself", tests, NULL, NULL);
}
