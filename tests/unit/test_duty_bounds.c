/* SPDX-License-Identifier: MIT */
/* R12: the last number that is allowed and the first that is not; states that cannot be, one field at a time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/duty.h"
#include "core/rules.h"

#define THETA_MAX (TD_DUTY_LIMIT * 1000)

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

/* --- rules ----------------------------------------------------------------------------------------- */

static void R12_rules_at_their_bounds_are_good(void **state)
{
	struct td_duty_rules rules = {.inf_ppm = 1,
				      .tau_on_ns = TD_RATING_TAU_MIN_NS,
				      .tau_off_ns = TD_RATING_TAU_MIN_NS,
				      .restart_ppm = 1,
				      .allowed_ns = {1, 1, 1}};

	(void)state;
	assert_true(td_duty_rules_ok(&rules));
	rules = (struct td_duty_rules){.inf_ppm = 1000000,
				       .tau_on_ns = TD_RATING_TAU_MAX_NS,
				       .tau_off_ns = TD_RATING_TAU_MAX_NS,
				       .restart_ppm = 1000000,
				       .least_ns = TD_DUTY_LEAST_MAX_NS,
				       .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
	assert_true(td_duty_rules_ok(&rules));
	rules.inf_ppm = TD_RATING_MAX_PPM;
	rules.least_ns = 0;
	assert_true(td_duty_rules_ok(&rules));
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		rules.allowed_ns[i] = TD_S(2);
	rules.inf_ppm = 1000000;
	rules.least_ns = TD_S(2);
	assert_true(td_duty_rules_ok(&rules));
}

enum field { INF, ON, OFF, RESTART, LEAST, MINUTE, TEN_MINUTES, DAY };

static void set(struct td_duty_rules *rules, enum field field, int64_t value)
{
	switch (field) {
	case INF: rules->inf_ppm = (uint32_t)value; break;
	case ON: rules->tau_on_ns = value; break;
	case OFF: rules->tau_off_ns = value; break;
	case RESTART: rules->restart_ppm = (uint32_t)value; break;
	case LEAST: rules->least_ns = value; break;
	case MINUTE:
	case TEN_MINUTES:
	case DAY: rules->allowed_ns[field - MINUTE] = value; break;
	}
}

static void R12_one_number_out_of_bounds_spoils_the_rules(void **state)
{
	static const struct {
		enum field field;
		int64_t value;
	} rows[] = {
		{INF, 0},
		{INF, TD_RATING_MAX_PPM + INT64_C(1)},
		{INF, UINT32_MAX},
		{ON, TD_RATING_TAU_MIN_NS - 1},
		{ON, TD_RATING_TAU_MAX_NS + 1},
		{OFF, TD_RATING_TAU_MIN_NS - 1},
		{OFF, TD_RATING_TAU_MAX_NS + 1},
		{RESTART, 0},
		{RESTART, 1000001},
		{LEAST, -1},
		{LEAST, TD_DUTY_LEAST_MAX_NS + 1},
		{MINUTE, 0},
		{MINUTE, TD_S(60) + 1},
		{TEN_MINUTES, 0},
		{TEN_MINUTES, TD_S(600) + 1},
		{DAY, 0},
		{DAY, TD_S(86400) + 1},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_duty_rules rules = hot_rules();
		struct td_duty duty;

		assert_true(td_duty_rules_ok(&rules));
		set(&rules, rows[i].field, rows[i].value);
		assert_false(td_duty_rules_ok(&rules));
		/* and then nobody may start, and who runs is cut */
		td_duty_init(&duty, 0);
		check_verdict(td_duty_may_start(&duty, &rules, TD_S(1)), TD_DUTY_HEAT, TD_NEVER);
		check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_HEAT, 0);
		assert_true(td_duty_theta(&duty, &rules, TD_S(1)) == THETA_MAX);
		td_duty_power(&duty, &rules, true, TD_S(1));
		assert_int_equal(duty.powered, 1);
		assert_int_equal(duty.hot, 1);
		assert_true(duty.heat_cut_ns == TD_S(1));
		td_duty_power(&duty, &rules, false, TD_S(2));
		assert_int_equal(duty.powered, 0);
		assert_true(duty.heat_cut_ns == TD_NEVER);
	}
}

/* Heat is modelled for people to see, with ten minutes to and fro, and stops nobody. */
static void R12_rules_that_limit_nothing_never_stop_an_axis(void **state)
{
	struct td_duty_rules rules = td_rules_any_duty();
	struct td_duty duty;

	(void)state;
	assert_true(td_duty_rules_ok(&rules));
	assert_true(rules.tau_on_ns == TD_S(600) && rules.tau_off_ns == TD_S(600));
	assert_int_equal(rules.restart_ppm, 1000000);
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_FREE, TD_NEVER);
	td_duty_power(&duty, &rules, false, TD_S(10 * 86400));
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(10 * 86400)), TD_DUTY_FREE, TD_S(10 * 86400));
}

/* A run that must be longer than what a window allows. */
static void R12_the_least_run_fits_into_every_window(void **state)
{
	(void)state;
	for (int i = 0; i < TD_BUDGET_SPANS; i++) {
		struct td_duty_rules rules = hot_rules();

		rules.least_ns = TD_S(2);
		rules.allowed_ns[i] = TD_S(2);
		assert_true(td_duty_rules_ok(&rules));
		rules.allowed_ns[i] = TD_S(2) - 1;
		assert_false(td_duty_rules_ok(&rules));
	}
}

/* From cold 3 (1 - e^(-t / 600 s)) is 1 after 243.3 s; the longest least run is far below, with a heat of a
 * thousand times it is 0.6003 s (computed from the formula). */
static void R12_the_least_run_is_possible_from_cold(void **state)
{
	struct td_duty_rules rules = hot_rules();

	(void)state;
	rules.inf_ppm = TD_RATING_MAX_PPM;
	rules.least_ns = TD_MS(600);
	assert_true(td_duty_rules_ok(&rules));
	rules.least_ns = TD_MS(601);
	assert_false(td_duty_rules_ok(&rules));
}

/* With these numbers a start from stone cold comes to the limit exactly, and from one unit above to one above: who
 * had run once would never have started again. Found by search. */
static void R12_a_winding_that_was_ever_warm_may_start_again(void **state)
{
	struct td_duty_rules rules = {.inf_ppm = 3000011,
				      .tau_on_ns = TD_S(60),
				      .tau_off_ns = TD_S(60),
				      .restart_ppm = 1000000,
				      .least_ns = 24327796487,
				      .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
	struct td_duty duty;

	(void)state;
	assert_false(td_duty_rules_ok(&rules));
	rules.least_ns--;
	assert_true(td_duty_rules_ok(&rules));
	td_duty_init(&duty, 0);
	td_duty_power(&duty, &rules, true, 0);
	td_duty_power(&duty, &rules, false, TD_S(1));
	check_verdict(td_duty_may_start(&duty, &rules, TD_S(86400)), TD_DUTY_FREE, TD_S(86400));
}

/* --- states ---------------------------------------------------------------------------------------- */

static void not_powered_nor_off(struct td_duty *duty)
{
	duty->powered = 2;
}

static void not_hot_nor_cold(struct td_duty *duty)
{
	duty->hot = 2;
}

static void too_hot(struct td_duty *duty)
{
	duty->theta = THETA_MAX + 1;
}

static void too_early(struct td_duty *duty)
{
	duty->since_ns = -TD_BUDGET_TIME_MAX_NS - 1;
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		duty->budget[i].begin_ns = -TD_BUDGET_TIME_MAX_NS;
}

static void too_late(struct td_duty *duty)
{
	duty->since_ns = TD_BUDGET_TIME_MAX_NS + 1;
}

static void first_window_is_bad(struct td_duty *duty)
{
	duty->budget[0].newest = TD_BUDGET_BUCKETS;
}

static void last_window_is_bad(struct td_duty *duty)
{
	duty->budget[TD_BUDGET_SPANS - 1].newest = TD_BUDGET_BUCKETS;
}

static void window_begins_later(struct td_duty *duty)
{
	duty->budget[1].begin_ns = duty->since_ns + 1;
}

static void R12_one_field_that_cannot_be_spoils_the_state(void **state)
{
	static void (*const spoil[])(struct td_duty *) = {
		not_powered_nor_off, not_hot_nor_cold,    too_hot, too_early, too_late, first_window_is_bad,
		last_window_is_bad,  window_begins_later,
	};
	struct td_duty_rules rules = hot_rules();

	(void)state;
	for (size_t i = 0; i < sizeof(spoil) / sizeof(spoil[0]); i++) {
		struct td_duty duty;

		td_duty_init(&duty, TD_S(5));
		assert_true(td_duty_sane(&duty));
		spoil[i](&duty);
		assert_false(td_duty_sane(&duty));
		assert_true(td_duty_theta(&duty, &rules, TD_S(5)) == THETA_MAX);
		assert_true(td_duty_spent_ns(&duty, TD_BUDGET_DAY, TD_S(5)) == TD_S(86400));
		check_verdict(td_duty_may_start(&duty, &rules, TD_S(6)), TD_DUTY_HEAT, TD_NEVER);
		check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_HEAT, 0);
		td_duty_power(&duty, &rules, true, TD_S(7));
		assert_true(td_duty_sane(&duty));
		check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_HEAT, TD_S(7));
	}
}

static void R12_states_at_the_ends_of_time_are_good(void **state)
{
	static const td_ns ends_ns[][2] = {{INT64_MIN, -TD_BUDGET_TIME_MAX_NS},
					   {-TD_BUDGET_TIME_MAX_NS - 1, -TD_BUDGET_TIME_MAX_NS},
					   {-TD_BUDGET_TIME_MAX_NS, -TD_BUDGET_TIME_MAX_NS},
					   {-TD_BUDGET_TIME_MAX_NS + 1, -TD_BUDGET_TIME_MAX_NS + 1},
					   {0, 0},
					   {TD_BUDGET_TIME_MAX_NS - 1, TD_BUDGET_TIME_MAX_NS - 1},
					   {TD_BUDGET_TIME_MAX_NS, TD_BUDGET_TIME_MAX_NS},
					   {TD_BUDGET_TIME_MAX_NS + 1, TD_BUDGET_TIME_MAX_NS},
					   {INT64_MAX, TD_BUDGET_TIME_MAX_NS}};

	(void)state;
	for (size_t i = 0; i < sizeof(ends_ns) / sizeof(ends_ns[0]); i++) {
		struct td_duty duty;

		td_duty_init(&duty, ends_ns[i][0]);
		assert_true(td_duty_sane(&duty));
		assert_true(duty.since_ns == ends_ns[i][1]);
		for (int k = 0; k < TD_BUDGET_SPANS; k++)
			assert_true(duty.budget[k].begin_ns == ends_ns[i][1]);
		td_duty_init_unknown(&duty, ends_ns[i][0]);
		assert_true(td_duty_sane(&duty));
		assert_true(duty.since_ns == ends_ns[i][1]);
	}
}

static void R12_the_greatest_heat_is_a_state(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	duty.theta = THETA_MAX;
	assert_true(td_duty_sane(&duty));
	assert_true(td_duty_theta(&duty, &rules, 0) == THETA_MAX);
	assert_int_equal(td_duty_theta_ppm(&duty, &rules, 0), TD_RATING_MAX_PPM);
}

static void R12_new_states_are_cold_and_unknown_ones_hot(void **state)
{
	struct td_duty_rules rules = hot_rules();
	struct td_duty duty;

	(void)state;
	memset(&duty, 0x5a, sizeof(duty));
	td_duty_init(&duty, TD_S(3));
	assert_int_equal(duty.powered + duty.hot, 0);
	assert_true(duty.theta == 0 && duty.since_ns == TD_S(3) && duty.heat_cut_ns == TD_NEVER);
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		assert_true(td_duty_spent_ns(&duty, (enum td_budget_span)i, TD_S(3)) == 0);
	td_duty_init_unknown(&duty, TD_S(3));
	assert_int_equal(duty.powered, 0);
	assert_int_equal(duty.hot, 1);
	assert_true(duty.theta == TD_DUTY_LIMIT && duty.heat_cut_ns == TD_NEVER);
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		assert_true(td_duty_spent_ns(&duty, (enum td_budget_span)i, TD_S(3)) ==
			    td_budget_span_ns((enum td_budget_span)i));
	check_verdict(td_duty_cut(&duty, &rules), TD_DUTY_FREE, TD_NEVER);
}

static void R12_a_window_that_does_not_exist_holds_nothing(void **state)
{
	struct td_duty duty;

	(void)state;
	td_duty_init(&duty, 0);
	assert_true(td_duty_spent_ns(&duty, TD_BUDGET_SPANS, TD_S(1)) == 0);
	assert_true(td_duty_spent_ns(&duty, (enum td_budget_span)77, TD_S(1)) == 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_rules_at_their_bounds_are_good),
		cmocka_unit_test(R12_one_number_out_of_bounds_spoils_the_rules),
		cmocka_unit_test(R12_rules_that_limit_nothing_never_stop_an_axis),
		cmocka_unit_test(R12_the_least_run_fits_into_every_window),
		cmocka_unit_test(R12_the_least_run_is_possible_from_cold),
		cmocka_unit_test(R12_a_winding_that_was_ever_warm_may_start_again),
		cmocka_unit_test(R12_one_field_that_cannot_be_spoils_the_state),
		cmocka_unit_test(R12_states_at_the_ends_of_time_are_good),
		cmocka_unit_test(R12_the_greatest_heat_is_a_state),
		cmocka_unit_test(R12_new_states_are_cold_and_unknown_ones_hot),
		cmocka_unit_test(R12_a_window_that_does_not_exist_holds_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
