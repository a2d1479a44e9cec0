/* SPDX-License-Identifier: MIT */
/*
 * Levels decide, edges only wake: with no edge heard, an end switch still cuts its way, one poll later. Runs inside the
 * test machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>

#include "daemon/clock.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/quick.h"
#include "tests/kernel/spread.h"

enum { RUNS = 50, WRITES_MAX = 1000, CONFIRM_MS = 2 };

static struct ftrace_write writes[WRITES_MAX];

/* To one end; the other is left on the way. */
static td_ns drive(bool up, td_ns wait_ns)
{
	enum glasshouse_line output = up ? BOOM_RAISE : BOOM_LOWER;

	ftrace_start();
	quick_hold("boom", up ? "raise" : "lower", output, 1500);
	glasshouse_press(up ? BOOM_BOTTOM : BOOM_TOP, false);
	stage_sleep(TD_MS(20) + wait_ns);
	td_ns pressed_ns = td_clock_now();

	glasshouse_press(up ? BOOM_TOP : BOOM_BOTTOM, true);
	assert_true(glasshouse_await(output, false));
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns low_ns = ftrace_find(writes, count, house.chip.base + output, false, pressed_ns);

	assert_true(low_ns > 0);
	return low_ns - pressed_ns;
}

static void r2_with_no_edge_at_all_an_end_switch_cuts_within_10_ms(void **state)
{
	td_ns spans_ns[RUNS];

	(void)state;
	quick_use_faults(true);
	assert_int_equal(setenv("TD_TEST_DEAF", "1", 1), 0);
	assert_int_equal(glasshouse_set_up_alone(NULL), 0);
	quick_configure(house.chip.label, CONFIRM_MS);
	quick_start();
	assert_true(glasshouse_said(stage_file(&house.stage, "daemon.log"), "no edge is heard"));
	for (unsigned i = 0; i < RUNS; i++)
		spans_ns[i] = drive(i % 2 == 0, i * TD_US(270));
	assert_int_equal(glasshouse_tear_down(NULL), 0);
	struct spread spread = spread_of(spans_ns, RUNS);

	print_message(
		"# measured: no edges, end switch to output low: min %lld us, p50 %lld us, max %lld us (%d "
		"runs, poll 5 ms, %d ms of it to confirm)\n",
		(long long)spread.least_ns / 1000, (long long)spread.middle_ns / 1000,
		(long long)spread.most_ns / 1000, RUNS, CONFIRM_MS);
	assert_true(spread.most_ns <= TD_MS(10));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r2_with_no_edge_at_all_an_end_switch_cuts_within_10_ms),
	};

	return cmocka_run_group_tests_name("deaf on a real kernel", tests, NULL, NULL);
}
