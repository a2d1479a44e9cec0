/* SPDX-License-Identifier: MIT */
/* R12: the moment before a limit, the limit, and the moment after it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/decay.h"
#include "core/duty.h"

/* Invented: three times the heat of continuous duty; no budget. */
static struct td_duty_rules hot_rules(void)
{
	return (struct td_duty_rules){.inf_ppm = 3000000,
				      .tau_on_ns = TD_S(600),
				      .tau_off_ns = TD_S(1200),
				      .restart_ppm = 500000,
				      .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
}

static void check_verdict(struct td_duty_verdict got, enum td_duty_limit limit, td_ns at_ns)
{
	assert_int_equal(got.limit, limit);
	assert_true(got.at_ns == at_ns);
}

/* --- the winding ----------------------------------------------------------------------------------- */

/* Millionths are rounded up: never cooler than it is. */
static void R12_millionths_are_rounded_up(void **state)
{
	static const struct {
		uint64_t theta;
		uint32_t ppm;
	} rows[] = {{0, 0},
		    {1, 1},
		    {TD_DUTY_LIMIT / 1000000, 1},
		    {TD_DUTY_LIMIT / 1000000 + 1, 2},
		    {TD_DUTY_LIMIT / 2, 500000},
		    {TD_DUTY_LIMIT / 2 + 1, 500001},
		    {10347503929, 9412}, /* one part in 2^34 of a millionth above */
		    {TD_DUTY_LIMIT - 1, 1000000},
		    {TD_DUTY_LIMIT, 1000000}};
	struct td_duty_rules rules = hot_rules();

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_duty duty;

		td_duty_init(&duty, 0);
		duty.theta = rows[i].theta;
		assert_int_equal(td_duty_theta_ppm(&duty, &rules, 0), rows[i].ppm);
	}
}

/* Each way has its own time constant and its own end: 3 and 0 times the limit. */
static void R12_powered_and_resting_have_their_own_time_constants(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	duty.theta = TD_DUTY_LIMIT / 2;
	assert_true(td_duty_theta(&duty, &rules, TD_S(100)) ==
		    td_decay_toward(TD_DUTY_LIMIT / 2, 0, TD_S(100), TD_S(1200)));
	duty.powered = 1;
	assert_true(td_duty_theta(&duty, &rules, TD_S(100)) ==
		    td_decay_toward(TD_DUTY_LIMIT / 2, 3 * TD_DUTY_LIMIT, TD_S(100), TD_S(600)));
	duty.since_ns = TD_S(40);
	assert_true(td_duty_theta(&duty, &rules, TD_S(100)) ==
		    td_decay_toward(TD_DUTY_LIMIT / 2, 3 * TD_DUTY_LIMIT, TD_S(60), TD_S(600)));
	assert_true(td_duty_theta(&duty, &rules, TD_S(30)) == TD_DUTY_LIMIT / 2);
}

/* The cut comes in the last millisecond that is not over the limit. */
static void R12_the_cut_is_early_by_less_than_a_millisecond(void **state)
{
	static const uint32_t infs_ppm[] = {1000001, 1000100, 1500000, 3000000, 77000000, 1000000000};

	(void)state;
	for (size_t i = 0; i < sizeof(infs_ppm) / sizeof(infs_ppm[0]); i++) {
		struct td_duty_rules rules = hot_rules();
		struct td_duty duty;

		rules.inf_ppm = infs_ppm[i];
		td_duty_init(&duty, 0);
		td_duty_power(&duty, &rules, true, 12345);
		td_ns cut_ns = duty.heat_cut_ns;

		assert_true((cut_ns - 12345) % TD_MS(1) == 0);
		assert_true(td_duty_theta(&duty, &rules, cut_ns) <= TD_DUTY_LIMIT);
		assert_true(td_duty_theta(&duty, &rules, cut_ns + TD_MS(1)) > TD_DUTY_LIMIT);
	}
}

/* theta_inf of the limit itself: continuous duty. */
static void R12_heat_that_ends_at_the_limit_is_never_cut(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	rules.inf_ppm = 1000000;
	td_duty_init(&duty, 0);
	duty.theta = TD_DUTY_LIMIT;
	td_duty_power(&duty, &rules, true, TD_S(1));
	assert_true(duty.heat_cut_ns == TD_NEVER);
	check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_FREE, TD_NEVER);
	td_duty_init(&duty, 0);
	duty.theta = TD_DUTY_LIMIT + 1;
	td_duty_power(&duty, &rules, true, 0);
	assert_true(duty.heat_cut_ns == 0);
}

/* Hot begins with the very nanosecond of the cut and ends when it has cooled down, asked or not. */
static void R12_hot_is_who_was_powered_until_the_cut(void **state)
{
	struct td_duty_rules rules = hot_rules();

	(void)state;
	for (int late_ns = -1; late_ns <= 1; late_ns++) {
		struct td_duty duty;

		td_duty_init(&duty, 0);
		td_duty_power(&duty, &rules, true, 0);
		td_duty_power(&duty, &rules, false, duty.heat_cut_ns + late_ns);
		assert_int_equal(duty.hot, late_ns >= 0);
		assert_true(duty.heat_cut_ns == TD_NEVER);
	}
}

static void R12_a_hot_winding_stays_hot_until_it_has_cooled_down(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_duty_power(&duty, &rules, false, duty.heat_cut_ns);
	td_ns cool_ns = td_duty_may_start(&duty, &rules, duty.since_ns).at_ns;
	struct td_duty early = duty;

	td_duty_power(&early, &rules, false, cool_ns - TD_MS(2));
	assert_int_equal(early.hot, 1);
	td_duty_power(&early, &rules, true, cool_ns - TD_MS(2));
	assert_int_equal(early.hot, 1);
	/* while it is powered it does not cool down */
	td_duty_power(&early, &rules, true, cool_ns);
	assert_int_equal(early.hot, 1);
	td_duty_power(&duty, &rules, true, cool_ns);
	assert_int_equal(duty.hot, 0);
}

/* Not hot: exactly at the limit it may start, one step above not. */
static void R12_a_winding_at_its_limit_may_start_and_above_it_may_not(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	duty.theta = TD_DUTY_LIMIT;
	check_verdict(td_duty_may_start(&duty, &rules, 0), TD_DUTY_FREE, 0);
	duty.theta = TD_DUTY_LIMIT + 1;
	check_verdict(td_duty_may_start(&duty, &rules, 0), TD_DUTY_HEAT, TD_MS(1));
	/* hot: the bound is the restart */
	duty.hot = 1;
	duty.theta = TD_DUTY_LIMIT / 2;
	check_verdict(td_duty_may_start(&duty, &rules, 0), TD_DUTY_FREE, 0);
	duty.theta = TD_DUTY_LIMIT / 2 + 1;
	check_verdict(td_duty_may_start(&duty, &rules, 0), TD_DUTY_HEAT, TD_MS(1));
}

/* --- time ------------------------------------------------------------------------------------------ */

static void R12_times_before_the_last_change_count_as_the_change(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, TD_S(100));
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(99)), TD_DUTY_FREE, TD_S(100));
	td_duty_power(&duty, &rules, true, TD_S(99));
	assert_true(duty.since_ns == TD_S(100));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(99)) == 0);
	td_duty_power(&duty, &rules, false, TD_S(90));
	assert_true(duty.since_ns == TD_S(100));
	assert_true(duty.theta == 0);
}

static void R12_times_beyond_the_clock_count_as_its_end_and_start_nothing(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	check_verdict(td_duty_may_start(&duty, &rules, TD_BUDGET_TIME_MAX_NS), TD_DUTY_FREE,
		      TD_BUDGET_TIME_MAX_NS);
	check_verdict(td_duty_may_start(&duty, &rules, TD_BUDGET_TIME_MAX_NS + 1), TD_DUTY_HEAT, TD_NEVER);
	check_verdict(td_duty_may_start(&duty, &rules, INT64_MAX), TD_DUTY_HEAT, TD_NEVER);
	td_duty_power(&duty, &rules, true, INT64_MAX);
	assert_true(duty.since_ns == TD_BUDGET_TIME_MAX_NS);
	assert_true(td_duty_sane(&duty));
	td_duty_shift(&duty, INT64_MIN);
	assert_true(duty.since_ns == 0);
	td_duty_shift(&duty, -TD_S(1));
	assert_true(duty.since_ns == -TD_S(1) && duty.budget[2].begin_ns == -TD_BUDGET_TIME_MAX_NS);
}

/* What runs counts, and only what is in the window of what ran before. */
static void R12_spent_time_slides(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, TD_S(10));
	td_duty_power(&duty, &rules, false, TD_S(20));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(20)) == TD_S(10));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(70)) == TD_S(10));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(75)) == TD_S(5));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(80)) == 0);
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_TEN_MINUTES, TD_S(80)) == TD_S(10));
	td_duty_power(&duty, &rules, true, TD_S(70));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(75)) == TD_S(5 + 5));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_millionths_are_rounded_up),
		cmocka_unit_test(R12_powered_and_resting_have_their_own_time_constants),
		cmocka_unit_test(R12_the_cut_is_early_by_less_than_a_millisecond),
		cmocka_unit_test(R12_heat_that_ends_at_the_limit_is_never_cut),
		cmocka_unit_test(R12_hot_is_who_was_powered_until_the_cut),
		cmocka_unit_test(R12_a_hot_winding_stays_hot_until_it_has_cooled_down),
		cmocka_unit_test(R12_a_winding_at_its_limit_may_start_and_above_it_may_not),
		cmocka_unit_test(R12_times_before_the_last_change_count_as_the_change),
		cmocka_unit_test(R12_times_beyond_the_clock_count_as_its_end_and_start_nothing),
		cmocka_unit_test(R12_spent_time_slides),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
