/* SPDX-License-Identifier: MIT */
/*
 * R15 with two chips: the one the vent is wired to goes away while the boom moves on the other. Runs inside the test
 * machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/quick.h"
#include "tests/kernel/spread.h"

enum { RUNS = 10, WRITES_MAX = 1000 };

static struct ftrace_write writes[WRITES_MAX];
static struct sim_chip vent_chip;

static void plug(void)
{
	char label[32];

	(void)snprintf(label, sizeof(label), "%swired-vent", sim_unplug_prefix());
	sim_chip_add(&vent_chip, label, LINES, NULL);
	sim_pull(&vent_chip, VENT_SHUT, false);
	sim_pull(&vent_chip, VENT_IS_OPEN, true);
}

static int set_up(void **state)
{
	int result = glasshouse_set_up_alone(state);

	plug();
	quick_configure(vent_chip.label, 2);
	quick_start();
	return result;
}

static int tear_down(void **state)
{
	int result = glasshouse_tear_down(state);

	sim_chip_unplug(&vent_chip);
	sim_chip_forget(&vent_chip);
	return result;
}

/* How long the boom stays powered. */
static td_ns lose_vent_chip(void)
{
	ftrace_start();
	quick_hold("boom", "raise", BOOM_RAISE, 1500);
	td_ns before_ns = td_clock_now();

	sim_chip_unplug(&vent_chip);
	assert_int_equal(quick_ended(), TD_EXIT_LINES);
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns low_ns = ftrace_find(writes, count, house.chip.base + BOOM_RAISE, false, before_ns);

	assert_true(low_ns > 0);
	assert_int_equal(glasshouse_outputs(), 0);
	return low_ns - before_ns;
}

static void give_vent_chip_back(void)
{
	sim_chip_forget(&vent_chip);
	plug();
}

static void r15_a_lost_chip_stops_the_axes_of_the_others_in_50_ms(void **state)
{
	td_ns spans_ns[RUNS];

	(void)state;
	for (unsigned i = 0; i < RUNS; i++) {
		quick_start();
		spans_ns[i] = lose_vent_chip();
		give_vent_chip_back();
	}
	struct spread spread = spread_of(spans_ns, RUNS);

	print_message("# measured: chip unplugged to the other chip's output low: min %lld us, p50 %lld us, "
		      "max %lld "
		      "us (%d runs)\n",
		      (long long)spread.least_ns / 1000, (long long)spread.middle_ns / 1000,
		      (long long)spread.most_ns / 1000, RUNS);
	assert_true(spread.most_ns <= TD_MS(50));
}

static void r15_the_log_names_the_lost_chip_and_the_cause(void **state)
{
	char sentence[128];

	(void)state;
	(void)lose_vent_chip();
	const char *log = stage_file(&house.stage, "daemon.log");

	(void)snprintf(sentence, sizeof(sentence), "the lines are lost: no answer from the chip %s",
		       vent_chip.label);
	assert_true(glasshouse_said(log, sentence));
	assert_true(glasshouse_said(log, "cause=lines-lost id=65 rule=R15"));
}

static void nothing_is_high_for_300_ms(void)
{
	for (td_ns until_ns = td_clock_now() + TD_MS(300); td_clock_now() < until_ns; stage_sleep(TD_MS(2))) {
		assert_int_equal(glasshouse_outputs(), 0);
		assert_false(sim_level(&vent_chip, VENT_OPEN));
	}
}

static void r15_r11_restarted_it_waits_for_the_chip_arms_itself_and_moves_when_asked_anew(void **state)
{
	(void)state;
	(void)lose_vent_chip();
	assert_false(quick_try());
	pid_t waiting = house.stage.daemon;

	stage_sleep(TD_MS(300));
	assert_int_equal(glasshouse_outputs(), 0);
	assert_false(quick_try());
	give_vent_chip_back();
	quick_start();
	assert_int_equal(house.stage.daemon, waiting); /* it has waited, and did not end */
	nothing_is_high_for_300_ms();
	/* The client still holds: a renewal, not a new request. */
	const char *answer = stage_request(house.stage.keeper, "boom", "raise", 1, 7, 300);

	print_message("# said: to a renewal from before: %s\n", answer);
	nothing_is_high_for_300_ms();
	quick_hold("boom", "raise", BOOM_RAISE, 300);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r15_a_lost_chip_stops_the_axes_of_the_others_in_50_ms),
		TEST(r15_the_log_names_the_lost_chip_and_the_cause),
		TEST(r15_r11_restarted_it_waits_for_the_chip_arms_itself_and_moves_when_asked_anew),
	};

	return cmocka_run_group_tests_name("two chips, one lost", tests, NULL, NULL);
}
