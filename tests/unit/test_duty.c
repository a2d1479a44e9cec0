/* SPDX-License-Identifier: MIT */
/* R12: how long an axis may be powered, by its winding and by its budgets. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/duty.h"
#include "tests/support/dice.h"

/* Invented: three times the heat of continuous duty, 10 min powered, 20 min resting; no budget. */
static struct td_duty_rules hot_rules(void)
{
	return (struct td_duty_rules){.inf_ppm = 3000000,
				      .tau_on_ns = TD_S(600),
				      .tau_off_ns = TD_S(1200),
				      .restart_ppm = 500000,
				      .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
}

/* Continuous duty with S3 25 % as a budget. */
static struct td_duty_rules quarter_rules(void)
{
	struct td_duty_rules rules = hot_rules();

	rules.inf_ppm = 1000000;
	rules.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_S(150);
	return rules;
}

static void check_verdict(struct td_duty_verdict got, enum td_duty_limit limit, td_ns at_ns)
{
	assert_int_equal(got.limit, limit);
	assert_true(got.at_ns == at_ns);
}

/* --- the winding ----------------------------------------------------------------------------------- */

static void R12_continuous_duty_never_ends(void **state)
{
	struct td_duty_rules rules = quarter_rules();
	struct td_duty duty;

	(void)state;
	rules.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_S(600);
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, TD_S(1));
	check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_FREE, TD_NEVER);
	assert_true(td_duty_theta(&duty, &rules, TD_S(10000000)) <= TD_DUTY_LIMIT);
}

/* From cold to a third of the final value: tau ln(3 / 2). */
static void R12_the_winding_is_cut_at_its_limit(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;
	td_ns expected_ns = (td_ns)(600e9 * log(1.5));

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, TD_S(5));
	struct td_duty_verdict cut = td_duty_cut(&duty, &rules);

	assert_int_equal(cut.limit, TD_DUTY_HEAT);
	assert_true(cut.at_ns <= TD_S(5) + expected_ns);
	assert_true(cut.at_ns >= TD_S(5) + expected_ns - TD_MS(2));
	assert_true(td_duty_theta(&duty, &rules, cut.at_ns) <= TD_DUTY_LIMIT);
	assert_true(td_duty_theta(&duty, &rules, cut.at_ns + TD_MS(2)) > TD_DUTY_LIMIT);
}

/* After that it has to cool down to a half: another tau ln 2. */
static void R12_a_hot_winding_has_to_cool_down_before_it_starts_again(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;
	td_ns cool_ns = (td_ns)(1200e9 * log(2));

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_ns cut_ns = td_duty_cut(&duty, &rules).at_ns;

	td_duty_power(&duty, &rules, false, cut_ns);
	assert_int_equal(duty.hot, 1);
	struct td_duty_verdict start = td_duty_may_start(&duty, &rules, cut_ns + TD_S(1));

	assert_int_equal(start.limit, TD_DUTY_HEAT);
	assert_true(llabs(start.at_ns - cut_ns - cool_ns) <= TD_MS(5));
	assert_int_equal(td_duty_may_start(&duty, &rules, start.at_ns - TD_MS(2)).limit, TD_DUTY_HEAT);
	check_verdict(td_duty_may_start(&duty, &rules, start.at_ns), TD_DUTY_FREE, start.at_ns);
	td_duty_power(&duty, &rules, false, start.at_ns);
	assert_int_equal(duty.hot, 0);
}

static void R12_a_warm_winding_that_was_not_cut_may_start_at_once(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_ns let_go_ns = td_duty_cut(&duty, &rules).at_ns - TD_S(3);

	td_duty_power(&duty, &rules, false, let_go_ns);
	check_verdict(td_duty_may_start(&duty, &rules, let_go_ns), TD_DUTY_FREE, let_go_ns);
	td_duty_power(&duty, &rules, true, let_go_ns);
	assert_true(td_duty_cut(&duty, &rules).at_ns >= let_go_ns + TD_S(3) - TD_MS(2));
}

static void R12_no_start_for_less_than_the_least_run(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	rules.least_ns = TD_S(2);
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_ns let_go_ns = td_duty_cut(&duty, &rules).at_ns - TD_S(1);

	td_duty_power(&duty, &rules, false, let_go_ns);
	struct td_duty_verdict start = td_duty_may_start(&duty, &rules, let_go_ns);

	assert_int_equal(start.limit, TD_DUTY_HEAT);
	td_duty_power(&duty, &rules, true, start.at_ns);
	assert_true(td_duty_cut(&duty, &rules).at_ns >= start.at_ns + TD_S(2) - TD_MS(1));
}

static void R12_an_axis_powered_over_its_limit_is_to_be_cut_at_once(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_duty_power(&duty, &rules, false, TD_S(590));
	td_duty_power(&duty, &rules, true, TD_S(591));
	check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_HEAT, TD_S(591));
}

/* One look after a while and a look at every odd instant on the way: the same number. */
static void R12_many_looks_and_one_come_to_the_same(void **state)
{
	struct dice dice = dice_start(91);
	struct td_duty_rules rules = hot_rules();
	struct td_duty once;
	struct td_duty often;
	td_ns now_ns = 0;

	(void)state;
	td_duty_init(&once, 0);
	td_duty_init(&often, 0);
	for (int i = 0; i < 300; i++) {
		bool powered = i % 2 == 0;
		td_ns end_ns = now_ns + dice_span(&dice, TD_US(1), TD_S(60));

		td_duty_power(&once, &rules, powered, now_ns);
		td_duty_power(&often, &rules, powered, now_ns);
		for (int look = 0; look < 20; look++)
			td_duty_power(&often, &rules, powered,
				      now_ns + (td_ns)dice_below(&dice, (uint64_t)(end_ns - now_ns)));
		assert_true(td_duty_theta(&once, &rules, end_ns) == td_duty_theta(&often, &rules, end_ns));
		assert_true(td_duty_cut(&once, &rules).at_ns == td_duty_cut(&often, &rules).at_ns);
		now_ns = end_ns;
	}
	assert_memory_equal(&once, &often, sizeof(once));
}

/* However often a run is interrupted for no time at all, the sum of it stays what it is, within the bound. */
static void R12_splitting_a_run_costs_no_more_than_the_rounding(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty whole;
	struct td_duty split;
	enum { PIECES = 100000 };

	(void)state;
	td_duty_init(&whole, 0);
	td_duty_init(&split, 0);
	td_duty_power(&whole, &rules, true, 0);
	for (int i = 0; i < PIECES; i++) {
		td_duty_power(&split, &rules, true, TD_MS(2) * i);
		td_duty_power(&split, &rules, false, TD_MS(2) * (i + 1));
	}
	uint64_t at_once = td_duty_theta(&whole, &rules, TD_MS(2) * PIECES);
	uint64_t in_pieces = td_duty_theta(&split, &rules, TD_MS(2) * PIECES);

	printf("# measured: %d pieces are %llu units of 2^-40 above one run\n", PIECES,
	       (unsigned long long)(in_pieces - at_once));
	assert_true(in_pieces >= at_once);
	assert_true(in_pieces - at_once <= UINT64_C(2) * 2 * PIECES);
}

/* Bounds of the model: never negative, never above where it came from and where it goes to. */
static void R12_the_winding_never_leaves_the_range_of_its_ends(void **state)
{
	struct dice dice = dice_start(92);
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;
	td_ns now_ns = 0;
	uint64_t most = 3 * TD_DUTY_LIMIT;

	(void)state;
	td_duty_init(&duty, 0);
	for (int i = 0; i < 20000; i++) {
		uint64_t before = td_duty_theta(&duty, &rules, now_ns);
		bool powered = dice_below(&dice, 2) == 0;

		td_duty_power(&duty, &rules, powered, now_ns);
		now_ns += dice_span(&dice, 1, TD_S(3600));
		uint64_t after = td_duty_theta(&duty, &rules, now_ns);

		assert_true(powered ? after >= before && after <= most : after <= before);
	}
}

/* --- the budgets ----------------------------------------------------------------------------------- */

static void R12_intermittent_duty_gets_exactly_its_150_seconds(void **state)
{
	struct td_duty_rules rules = quarter_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	for (td_ns begin_ns = TD_S(3); begin_ns < TD_S(86400); begin_ns += TD_S(600)) {
		check_verdict(td_duty_may_start(&duty, &rules, begin_ns), TD_DUTY_FREE, begin_ns);
		td_duty_power(&duty, &rules, true, begin_ns);
		check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_TEN_MINUTES, begin_ns + TD_S(150));
		td_duty_power(&duty, &rules, false, begin_ns + TD_S(150));
		assert_true(td_duty_spent_ns(&duty, TD_BUDGET_TEN_MINUTES, begin_ns + TD_S(150)) ==
			    TD_S(150));
		rules.least_ns = TD_S(1);
		check_verdict(td_duty_may_start(&duty, &rules, begin_ns + TD_S(150)), TD_DUTY_TEN_MINUTES,
			      begin_ns + TD_S(600));
	}
}

static void R12_each_window_has_its_own_budget(void **state)
{
	static const struct {
		enum td_budget_span span;
		enum td_duty_limit limit;
		td_ns allowed_ns;
	} rows[] = {{TD_BUDGET_MINUTE, TD_DUTY_MINUTE, TD_S(7)},
		    {TD_BUDGET_TEN_MINUTES, TD_DUTY_TEN_MINUTES, TD_S(77)},
		    {TD_BUDGET_DAY, TD_DUTY_DAY, TD_S(7777)}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_duty_rules rules = quarter_rules();
		struct td_duty duty;

		rules.least_ns = TD_S(1);
		rules.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_S(600);
		rules.allowed_ns[rows[i].span] = rows[i].allowed_ns;
		td_duty_init(&duty, 0);
		td_duty_power(&duty, &rules, true, TD_S(1));
		check_verdict(td_duty_cut(&duty, &rules), rows[i].limit, TD_S(1) + rows[i].allowed_ns);
		td_duty_power(&duty, &rules, false, TD_S(1) + rows[i].allowed_ns);
		check_verdict(td_duty_may_start(&duty, &rules, TD_S(2) + rows[i].allowed_ns), rows[i].limit,
			      TD_S(1) + td_budget_span_ns(rows[i].span));
	}
}

static void R12_what_is_running_counts(void **state)
{
	struct td_duty_rules rules = quarter_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, TD_S(10));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(30)) == TD_S(20));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(100)) == TD_S(60));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_MINUTE, TD_S(0)) == 0);
}

/* --- ratings --------------------------------------------------------------------------------------- */

static void R12_impossible_ratings_are_none(void **state)
{
	const struct td_rating_s3 good = {250000, TD_S(600), TD_S(1800), TD_S(1800)};
	struct td_rating_s3 s3 = good;

	(void)state;
	assert_true(td_rating_s3_ppm(&s3) > 1000000);
	assert_true(td_rating_is_intermittent(&s3));
	s3.factor_ppm = 0;
	assert_int_equal(td_rating_s3_ppm(&s3), 0);
	s3.factor_ppm = 1000000;
	assert_int_equal(td_rating_s3_ppm(&s3), 0);
	s3 = good;
	s3.cycle_ns = 0;
	assert_int_equal(td_rating_s3_ppm(&s3), 0);
	s3 = good;
	s3.tau_off_ns = INT64_MAX;
	assert_int_equal(td_rating_s3_ppm(&s3), 0);
	assert_true(td_rating_off_ns(&s3) == 0);
	s3 = good;
	s3.tau_off_ns = TD_S(150); /* 450 s are three of them */
	assert_false(td_rating_is_intermittent(&s3));
	assert_int_equal(td_rating_s2_ppm(0, TD_S(60)), 0);
	assert_int_equal(td_rating_s2_ppm(TD_S(60), 0), 0);
	assert_int_equal(td_rating_s2_ppm(1, TD_S(86400)), 0); /* more than a thousand times */
	assert_int_equal(td_rating_s2_ppm(TD_S(86400), TD_S(1)), 999999);
}

static void R12_a_rated_part_is_split_exactly(void **state)
{
	static const struct {
		uint32_t percent;
		td_ns on_ns;
	} rows[] = {{15, TD_S(90)}, {25, TD_S(150)}, {40, TD_S(240)}, {60, TD_S(360)}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_rating_s3 s3 = {rows[i].percent * 10000, TD_RATING_CYCLE_NS, TD_S(1800),
					  TD_S(1800)};

		assert_true(td_rating_on_ns(&s3) == rows[i].on_ns);
		assert_true(td_rating_off_ns(&s3) == TD_S(600) - rows[i].on_ns);
	}
}

/* --- what cannot be -------------------------------------------------------------------------------- */

static void R12_rules_of_nothing_but_zero_allow_nothing(void **state)
{
	struct td_duty_rules rules;
	struct td_duty duty;

	(void)state;
	memset(&rules, 0, sizeof(rules));
	td_duty_init(&duty, 0);
	assert_false(td_duty_rules_ok(&rules));
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(1)), TD_DUTY_HEAT, TD_NEVER);
	td_duty_power(&duty, &rules, true, TD_S(1));
	assert_true(td_duty_cut(&duty, &rules).at_ns <= TD_S(1));
}

static void R12_each_number_of_the_rules_is_held_to_its_bounds(void **state)
{
	const struct td_duty_rules good = quarter_rules();
	struct td_duty_rules rules = good;

	(void)state;
	assert_true(td_duty_rules_ok(&good));
	rules.inf_ppm = TD_RATING_MAX_PPM + 1U;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.tau_on_ns = TD_RATING_TAU_MIN_NS - 1;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.tau_off_ns = TD_RATING_TAU_MAX_NS + 1;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.restart_ppm = 1000001;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.least_ns = -1;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.allowed_ns[TD_BUDGET_MINUTE] = TD_S(60) + 1;
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.least_ns = TD_S(8);
	rules.allowed_ns[TD_BUDGET_MINUTE] = TD_S(7);
	assert_false(td_duty_rules_ok(&rules));
	rules = good;
	rules.inf_ppm = TD_RATING_MAX_PPM; /* over the limit within 0.6 s */
	rules.least_ns = TD_S(1);
	assert_false(td_duty_rules_ok(&rules));
}

static void R12_an_unknown_winding_is_hot_and_its_budgets_are_spent(void **state)
{
	struct td_duty_rules rules = quarter_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init_unknown(&duty, TD_S(4));
	assert_true(td_duty_sane(&duty));
	assert_true(td_duty_theta(&duty, &rules, TD_S(4)) == TD_DUTY_LIMIT);
	struct td_duty_verdict start = td_duty_may_start(&duty, &rules, TD_S(4));

	assert_int_equal(start.limit, TD_DUTY_HEAT);
	assert_true(llabs(start.at_ns - TD_S(4) - (td_ns)(1200e9 * log(2))) <= TD_MS(2));
	rules.restart_ppm = 1000000;
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(4)), TD_DUTY_TEN_MINUTES, TD_S(4 + 450));
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_DAY, TD_S(4)) == TD_S(86400));
}

static void R12_a_state_that_cannot_be_gives_no_time(void **state)
{
	struct dice dice = dice_start(93);
	int impossible = 0;

	(void)state;
	for (int i = 0; i < 20000; i++) {
		struct td_duty_rules rules = hot_rules();
		struct td_duty duty;
		td_ns now_ns = (td_ns)dice_bits(&dice);

		dice_rubbish(&dice, &duty, sizeof(duty));
		if (dice_below(&dice, 3) == 0)
			dice_rubbish(&dice, &rules, sizeof(rules));
		if (!td_duty_sane(&duty) || !td_duty_rules_ok(&rules)) {
			impossible++;
			check_verdict(td_duty_may_start(&duty, &rules, now_ns), TD_DUTY_HEAT, TD_NEVER);
			check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_HEAT, 0);
			assert_int_equal(td_duty_theta_ppm(&duty, &rules, now_ns), TD_RATING_MAX_PPM);
		}
		(void)td_duty_spent_ns(&duty, TD_BUDGET_DAY, now_ns);
		td_duty_shift(&duty, (td_ns)dice_bits(&dice));
		td_duty_power(&duty, &rules, dice_below(&dice, 2) == 0, now_ns);
		assert_true(td_duty_sane(&duty));
	}
	assert_true(impossible > 15000);
}

static void R12_a_clock_that_goes_back_gives_no_time(void **state)
{
	struct td_duty_rules rules = quarter_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, TD_S(100));
	td_duty_power(&duty, &rules, false, TD_S(250));
	rules.least_ns = TD_S(1);
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(1)), TD_DUTY_TEN_MINUTES, TD_S(700));
	td_duty_power(&duty, &rules, true, TD_S(1));
	assert_true(duty.since_ns == TD_S(250));
}

static void R12_a_shifted_state_says_the_same_on_another_clock(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty here;
	struct td_duty there;

	(void)state;
	rules.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_S(150);
	rules.least_ns = TD_S(1);
	td_duty_init(&here, 0);
	td_duty_power(&here, &rules, true, TD_S(1000));
	td_duty_power(&here, &rules, false, TD_S(1140));
	there = here;
	td_duty_shift(&there, -TD_S(1140));
	assert_true(td_duty_sane(&there));
	for (td_ns later_ns = 0; later_ns < TD_S(900); later_ns += TD_MS(12345)) {
		struct td_duty_verdict a = td_duty_may_start(&here, &rules, TD_S(1140) + later_ns);
		struct td_duty_verdict b = td_duty_may_start(&there, &rules, later_ns);

		assert_int_equal(a.limit, b.limit);
		assert_true(a.at_ns - TD_S(1140) == b.at_ns);
		assert_true(td_duty_theta(&here, &rules, TD_S(1140) + later_ns) ==
			    td_duty_theta(&there, &rules, later_ns));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_continuous_duty_never_ends),
		cmocka_unit_test(R12_the_winding_is_cut_at_its_limit),
		cmocka_unit_test(R12_a_hot_winding_has_to_cool_down_before_it_starts_again),
		cmocka_unit_test(R12_a_warm_winding_that_was_not_cut_may_start_at_once),
		cmocka_unit_test(R12_no_start_for_less_than_the_least_run),
		cmocka_unit_test(R12_an_axis_powered_over_its_limit_is_to_be_cut_at_once),
		cmocka_unit_test(R12_many_looks_and_one_come_to_the_same),
		cmocka_unit_test(R12_splitting_a_run_costs_no_more_than_the_rounding),
		cmocka_unit_test(R12_the_winding_never_leaves_the_range_of_its_ends),
		cmocka_unit_test(R12_intermittent_duty_gets_exactly_its_150_seconds),
		cmocka_unit_test(R12_each_window_has_its_own_budget),
		cmocka_unit_test(R12_what_is_running_counts),
		cmocka_unit_test(R12_impossible_ratings_are_none),
		cmocka_unit_test(R12_a_rated_part_is_split_exactly),
		cmocka_unit_test(R12_rules_of_nothing_but_zero_allow_nothing),
		cmocka_unit_test(R12_each_number_of_the_rules_is_held_to_its_bounds),
		cmocka_unit_test(R12_an_unknown_winding_is_hot_and_its_budgets_are_spent),
		cmocka_unit_test(R12_a_state_that_cannot_be_gives_no_time),
		cmocka_unit_test(R12_a_clock_that_goes_back_gives_no_time),
		cmocka_unit_test(R12_a_shifted_state_says_the_same_on_another_clock),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
