/* SPDX-License-Identifier: MIT */
/*
 * The monitor's count of duty (R12) against sums made another way: the equation of the winding by the exponential
 * function of the C library, the powered time by going through a list of all runs.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/monitor_duty.h"
#include "tests/support/dice.h"

enum { MOTORS = 300, CHANGES = 2000 };

static struct td_duty_rules some_motor(struct dice *dice)
{
	struct td_duty_rules rules = {
		.inf_ppm = (uint32_t)dice_span(dice, 1, TD_RATING_MAX_PPM),
		.tau_on_ns = dice_span(dice, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS),
		.tau_off_ns = dice_span(dice, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS),
		.restart_ppm = 1000000,
	};

	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		rules.allowed_ns[i] = td_budget_span_ns((enum td_budget_span)i);
	return rules;
}

/* No run that heats far beyond the limit: the core would have cut it. */
static td_ns some_span(struct dice *dice, const struct td_duty_rules *rules, bool on)
{
	long double most = (long double)(on ? rules->tau_on_ns : rules->tau_off_ns) * 3;

	if (on && rules->inf_ppm > 1000000)
		most = (long double)rules->tau_on_ns * 1e6L / rules->inf_ppm;
	return dice_span(dice, TD_US(1), (td_ns)most + TD_US(1));
}

static long double exact(const struct td_duty_rules *rules, long double heat, bool on, td_ns span_ns)
{
	long double inf = on ? rules->inf_ppm / 1e6L : 0;
	long double tau_ns = (long double)(on ? rules->tau_on_ns : rules->tau_off_ns);

	return inf + (heat - inf) * expl(-(long double)span_ns / tau_ns);
}

static void R12_the_heat_is_that_of_the_equation(void **state)
{
	struct dice dice = dice_start(31);
	long double worst = 0;

	(void)state;
	for (int motor = 0; motor < MOTORS; motor++) {
		const struct td_duty_rules rules = some_motor(&dice);
		struct td_monitor_duty duty;
		long double heat = 0;
		td_ns now_ns = 0;

		td_monitor_duty_init(&duty, 0);
		for (int i = 0; i < CHANGES; i++) {
			bool on = i % 2 == 0;

			td_monitor_duty_power(&duty, &rules, on, now_ns);
			td_ns span_ns = some_span(&dice, &rules, on);

			now_ns += span_ns;
			heat = exact(&rules, heat, on, span_ns);
			long double off_by =
				fabsl((long double)td_monitor_duty_heat(&duty, &rules, now_ns) - heat);

			worst = off_by > worst ? off_by : worst;
		}
	}
	printf("# measured: off by at most %.1Le of the limit in %d changes of %d motors\n", worst, CHANGES,
	       MOTORS);
	assert_true(worst < 1e-8L);
	assert_true(TD_MONITOR_HEAT_TOLERANCE >= 10 * 1e-8);
}

/* As fast as pauses allow, with the longest time constants: what the errors of changes add up to. */
static void R12_the_heat_of_very_many_changes_stays_that_of_the_equation(void **state)
{
	const struct td_duty_rules rules = {
		.inf_ppm = 1900000, .tau_on_ns = TD_S(86400), .tau_off_ns = TD_S(86400)};
	struct td_monitor_duty duty;
	long double heat = 0;
	td_ns now_ns = 0;

	(void)state;
	td_monitor_duty_init(&duty, 0);
	for (int i = 0; i < 4000000; i++) {
		td_monitor_duty_power(&duty, &rules, i % 2 == 0, now_ns);
		now_ns += TD_MS(5);
		heat = exact(&rules, heat, i % 2 == 0, TD_MS(5));
	}
	long double off_by = fabsl((long double)td_monitor_duty_heat(&duty, &rules, now_ns) - heat);

	printf("# measured: off by %.1Le of the limit after 4000000 changes\n", off_by);
	assert_true(off_by < 1e-8L);
}

/* --- the budgets ---------------------------------------------------------------------------------- */

struct runs {
	td_ns from_ns[CHANGES];
	td_ns to_ns[CHANGES];
	int count;
};

static td_ns powered_since(const struct runs *runs, td_ns from_ns)
{
	td_ns sum_ns = 0;

	for (int i = 0; i < runs->count; i++) {
		td_ns begin_ns = runs->from_ns[i] > from_ns ? runs->from_ns[i] : from_ns;

		sum_ns += runs->to_ns[i] > begin_ns ? runs->to_ns[i] - begin_ns : 0;
	}
	return sum_ns;
}

/* The least allowance that is not found to be broken. */
static td_ns found_ns(const struct td_monitor_duty *duty, int window, td_ns now_ns)
{
	struct td_duty_rules rules = {.inf_ppm = 1000000, .tau_on_ns = TD_S(1), .tau_off_ns = TD_S(1)};

	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		rules.allowed_ns[i] = td_budget_span_ns((enum td_budget_span)i);
	rules.allowed_ns[window] = -1;
	struct td_monitor_finding finding = td_monitor_duty_judge(duty, &rules, now_ns, false);

	assert_int_equal(finding.breach, TD_BREACH_BUDGET);
	assert_int_equal(finding.bound_ns, -1);
	return finding.measured_ns;
}

static void compare(const struct td_monitor_duty *duty, const struct runs *runs, td_ns now_ns, double *worst)
{
	for (int i = 0; i < TD_BUDGET_SPANS; i++) {
		td_ns span_ns = td_budget_span_ns((enum td_budget_span)i);
		td_ns missing_ns = powered_since(runs, now_ns - span_ns) - found_ns(duty, i, now_ns);
		double share = (double)missing_ns / (double)span_ns;

		assert_true(missing_ns >= 0);
		assert_true(missing_ns <= span_ns / TD_MONITOR_PARTS / 2);
		*worst = share > *worst ? share : *worst;
	}
}

static void R12_the_powered_time_is_never_too_long_and_hardly_too_short(void **state)
{
	static struct runs runs;
	const struct td_duty_rules none = {.inf_ppm = 1, .tau_on_ns = 1, .tau_off_ns = 1};
	struct dice dice = dice_start(32);
	double worst = 0;
	long looks = 0;

	(void)state;
	for (int motor = 0; motor < MOTORS / 10; motor++) {
		td_ns pace_ns = dice_span(&dice, TD_MS(100), TD_S(10000));
		td_ns now_ns = dice_span(&dice, 1, TD_S(100000));
		struct td_monitor_duty duty;

		runs.count = 0;
		td_monitor_duty_init(&duty, now_ns);
		for (int i = 0; i < CHANGES; i++) {
			now_ns += dice_span(&dice, TD_MS(5), pace_ns);
			td_monitor_duty_power(&duty, &none, true, now_ns);
			runs.from_ns[runs.count] = now_ns;
			runs.count++;
			now_ns += dice_span(&dice, TD_US(1), pace_ns);
			runs.to_ns[runs.count - 1] = now_ns;
			compare(&duty, &runs, now_ns, &worst);
			td_monitor_duty_power(&duty, &none, false, now_ns);
			looks++;
		}
	}
	printf("# measured: at most %.4f of the window too short in %ld looks, never too long\n", worst,
	       looks);
	assert_true(worst > 0); /* else the bound would not be needed */
}

static void R12_beyond_the_range_of_the_clock_nothing_is_judged(void **state)
{
	struct td_duty_rules rules = {.inf_ppm = 4000000000, .tau_on_ns = -1, .tau_off_ns = 0};
	struct td_monitor_duty duty;

	(void)state;
	td_monitor_duty_init(&duty, TD_BUDGET_TIME_MAX_NS - 1);
	td_monitor_duty_power(&duty, &rules, true, TD_BUDGET_TIME_MAX_NS - 1);
	assert_int_equal(td_monitor_duty_judge(&duty, &rules, TD_BUDGET_TIME_MAX_NS, false).breach,
			 TD_BREACH_HEAT);
	assert_int_equal(td_monitor_duty_judge(&duty, &rules, TD_BUDGET_TIME_MAX_NS + 1, false).breach,
			 TD_BREACH_NONE);
	td_monitor_duty_power(&duty, &rules, false, TD_NEVER);
	td_monitor_duty_power(&duty, &rules, true, TD_NEVER);
	rules.least_ns = TD_NEVER;
	assert_int_equal(td_monitor_duty_judge(&duty, &rules, 5, true).breach, TD_BREACH_NONE);
}

static void R12_a_finding_tells_how_long(void **state)
{
	struct td_duty_rules rules = {.inf_ppm = 2000000,
				      .tau_on_ns = TD_S(1),
				      .tau_off_ns = TD_S(1),
				      .restart_ppm = 1000000,
				      .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
	struct td_monitor_duty duty;

	(void)state;
	td_monitor_duty_init(&duty, 0);
	td_monitor_duty_power(&duty, &rules, true, TD_MS(100));
	assert_int_equal(td_monitor_duty_judge(&duty, &rules, TD_MS(900), false).measured_ns, TD_MS(800));
	rules.inf_ppm = 1000000;
	rules.allowed_ns[TD_BUDGET_DAY] = TD_MS(700);
	struct td_monitor_finding finding = td_monitor_duty_judge(&duty, &rules, TD_MS(900), false);

	assert_int_equal(finding.measured_ns, TD_MS(800));
	assert_int_equal(finding.bound_ns, TD_MS(700));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_the_heat_is_that_of_the_equation),
		cmocka_unit_test(R12_the_heat_of_very_many_changes_stays_that_of_the_equation),
		cmocka_unit_test(R12_the_powered_time_is_never_too_long_and_hardly_too_short),
		cmocka_unit_test(R12_beyond_the_range_of_the_clock_nothing_is_judged),
		cmocka_unit_test(R12_a_finding_tells_how_long),
	};

	return cmocka_run_group_tests_name("monitor_duty", tests, NULL, NULL);
}
