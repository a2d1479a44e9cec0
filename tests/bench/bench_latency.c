/* SPDX-License-Identifier: MIT */
/*
 * How long the real daemon on the bench board takes from a cause to a low output: an end switch that opens, which is
 * confirmed for 2 ms first, and a stop. From before the test's own call to the board's clock at the fall, so the way
 * through two sockets is in it. bench_latency BUILD [ROUNDS]; another build can be named to compare.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "tests/support/stage.h"

enum { RAISE = 1, FORWARD = 1, ROUNDS_MAX = 1000 };

static struct stage stage;
static int hold;
static int rounds = 40;
static double span_us[ROUNDS_MAX];

static int by_size(const void *a, const void *b)
{
	double difference = *(const double *)a - *(const double *)b;

	return (difference > 0) - (difference < 0);
}

static void print(const char *what)
{
	qsort(span_us, (size_t)rounds, sizeof(span_us[0]), by_size);
	printf("# measured: %s: median %.0f us, slowest %.0f us of %d\n", what, span_us[rounds / 2],
	       span_us[rounds - 1], rounds);
}

static void edges(void)
{
	for (int i = 0; i < rounds; i++) {
		assert_string_equal(stage_request(stage.keeper, "boom", "raise", ++hold, 0, 1500), "started");
		stage_sleep(TD_MS(60));
		td_ns broken_ns = td_clock_now();

		json_decref(stage_poke(&stage, "break boom_top"));
		assert_true(stage_wait_output(&stage, "boom", RAISE, false, TD_S(3)));
		span_us[i] = (double)(stage_fall_ns(&stage, "boom", RAISE) - broken_ns) / 1e3;
		json_decref(stage_poke(&stage, "mend boom_top"));
		stage_sleep(TD_MS(400));
		json_decref(stage_call(stage.keeper, "reset", NULL));
		assert_string_equal(stage_request(stage.keeper, "boom", "lower", ++hold, 0, 1500), "started");
		stage_sleep(TD_MS(80));
		json_decref(stage_call(stage.keeper, "stop", NULL));
		stage_sleep(TD_MS(400));
		json_decref(stage_call(stage.keeper, "reset", NULL));
	}
	print("end switch opens -> output low (2 ms of it confirming)");
}

static void stops(void)
{
	for (int i = 0; i < rounds; i++) {
		assert_string_equal(stage_request(stage.keeper, "drive", "forward", ++hold, 0, 1500),
				    "started");
		stage_sleep(TD_MS(60));
		td_ns asked_ns = td_clock_now();

		json_decref(stage_call(stage.keeper, "stop", NULL));
		assert_true(stage_wait_output(&stage, "drive", FORWARD, false, TD_S(3)));
		span_us[i] = (double)(stage_fall_ns(&stage, "drive", FORWARD) - asked_ns) / 1e3;
		stage_sleep(TD_MS(450));
	}
	print("stop asked -> output low");
}

static void measure(void **state)
{
	(void)state;
	stage_open(&stage);
	stops();
	edges();
	stage_close(&stage);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(measure)};

	if (argc > 1)
		setenv("TD_BUILD", argv[1], 1);
	if (argc > 2)
		rounds = (int)strtol(argv[2], NULL, 10);
	if (rounds < 1 || rounds > ROUNDS_MAX)
		return 2;
	return cmocka_run_group_tests_name("latency", tests, NULL, NULL);
}
