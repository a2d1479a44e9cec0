/* SPDX-License-Identifier: MIT */
/*
 * R14, R16: starts and ends of the daemon, ordered and not, make no pulse on any output, neither among the kernel's
 * own writes nor for a process that looks on. Runs inside the test machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <signal.h>

#include "daemon/exit_codes.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/quick.h"
#include "tests/kernel/watch.h"

enum { ROUNDS = 100, WRITES_MAX = 2000 };

static struct ftrace_write writes[WRITES_MAX];

struct tally {
	unsigned long low; /* writes to outputs */
	unsigned long high;
};

static void count_writes(struct tally *tally)
{
	size_t count = ftrace_stop(writes, WRITES_MAX);

	for (size_t i = 0; i < count; i++) {
		if (writes[i].line - house.chip.base >= OUTPUTS)
			continue;
		tally->high += writes[i].high;
		tally->low += !writes[i].high;
	}
}

static void start_and_end(int signal_number, int code, struct tally *tally)
{
	struct tally before = *tally;

	ftrace_start();
	quick_start();
	assert_int_equal(kill(house.stage.daemon, signal_number), 0);
	assert_int_equal(quick_ended(), code);
	count_writes(tally);
	/* Each output was written at least when it was requested, or this saw nothing. */
	assert_true(tally->low - before.low >= OUTPUTS);
}

static void r14_r16_no_pulse_in_a_hundred_starts_ends_and_kills(void **state)
{
	struct watch *watch = watch_start(&house.chip, OUTPUTS);
	struct tally tally = {0, 0};

	(void)state;
	for (unsigned round = 0; round < ROUNDS; round++) {
		start_and_end(SIGTERM, TD_EXIT_OK, &tally);
		start_and_end(SIGKILL, 256 + SIGKILL, &tally);
	}
	unsigned long looks = watch_looks(watch);
	unsigned long highs = watch_highs(watch);

	watch_end(watch);
	print_message("# measured: %d x (start, stop, start, kill -9): rising edges %lu, writes of low %lu; "
		      "%lu looks from outside, %lu found an output high\n",
		      ROUNDS, tally.high, tally.low, looks, highs);
	assert_int_equal(tally.high, 0);
	assert_int_equal(highs, 0);
	assert_true(looks > ROUNDS);
}

/* What the test above rests on: a short pulse would have been seen, both ways. */
static void the_looks_and_the_trace_notice_a_pulse(void **state)
{
	struct watch *watch = watch_start(&house.chip, OUTPUTS);
	struct tally tally = {0, 0};

	(void)state;
	quick_start();
	stage_sleep(TD_MS(500)); /* the pauses after a start */
	ftrace_start();
	quick_hold("boom", "raise", BOOM_RAISE, 100);
	assert_true(glasshouse_await(BOOM_RAISE, false));
	count_writes(&tally);
	unsigned long highs = watch_highs(watch);

	watch_end(watch);
	assert_int_equal(tally.high, 1);
	assert_true(highs > 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, glasshouse_set_up_alone, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r14_r16_no_pulse_in_a_hundred_starts_ends_and_kills),
		TEST(the_looks_and_the_trace_notice_a_pulse),
	};

	return cmocka_run_group_tests_name("no pulse on a real kernel", tests, NULL, NULL);
}
