/* SPDX-License-Identifier: MIT */
/* Garbage at the visitor's socket does not delay a stop at the keeper's. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "tests/support/flood.h"
#include "tests/support/stage.h"

enum { STOPS_MAX = 200, FLOOD_PER_S = 10000, FLOOD_S = 10, STOP_LIMIT_MS = 50 };

struct series {
	double ms[STOPS_MAX];
	size_t count;
};

static int hold;

/* Starts a way, stops it, and returns how long after the call its input fell. */
static double one_stop(struct stage *stage, size_t turn)
{
	static const struct {
		const char *axis;
		const char *way[2];
	} axes[] = {{"drive", {"backward", "forward"}}, {"steering", {"left", "right"}}};
	const char *axis = axes[turn % 2].axis;
	int way = (int)(turn / 2 % 2);

	stage_request(stage->keeper, axis, axes[turn % 2].way[way], ++hold, 0, 1500);
	assert_true(stage_wait_output(stage, axis, way, true, TD_S(2)));
	td_ns asked_ns = td_clock_now();

	json_decref(stage_call(stage->keeper, "stop", NULL));
	assert_true(stage_wait_output(stage, axis, way, false, TD_S(2)));
	return (double)(stage_fall_ns(stage, axis, way) - asked_ns) / 1e6;
}

static void measure(struct stage *stage, struct series *series, td_ns for_ns)
{
	td_ns until_ns = td_clock_now() + for_ns;

	for (series->count = 0; series->count < STOPS_MAX && td_clock_now() < until_ns; series->count++)
		series->ms[series->count] = one_stop(stage, series->count);
}

static int by_size(const void *a, const void *b)
{
	const double *x = a;
	const double *y = b;

	return (*x > *y) - (*x < *y);
}

static double share(struct series *series, double part)
{
	qsort(series->ms, series->count, sizeof(series->ms[0]), by_size);
	return series->ms[(size_t)((double)(series->count - 1) * part)];
}

static void a_flood_of_garbage_does_not_delay_a_stop(void **state)
{
	static struct stage stage;
	static struct series idle;
	static struct series flooded;

	(void)state;
	stage_open(&stage);
	measure(&stage, &idle, TD_S(5));
	struct flood flood = flood_start(stage_file(&stage, "visitor.sock"), FLOOD_PER_S, TD_S(FLOOD_S));

	measure(&stage, &flooded, TD_S(FLOOD_S));
	struct flood_result thrown = flood_end(&flood);
	double rate = (double)thrown.messages / thrown.seconds;

	printf("# measured: %.0f messages/s of garbage for %.1f s over %llu connections\n", rate,
	       thrown.seconds, thrown.connections);
	printf("# measured: stop idle:    %3zu stops, p50 %.3f ms, p90 %.3f, max %.3f\n", idle.count,
	       share(&idle, 0.5), share(&idle, 0.9), share(&idle, 1));
	printf("# measured: stop flooded: %3zu stops, p50 %.3f ms, p90 %.3f, max %.3f\n", flooded.count,
	       share(&flooded, 0.5), share(&flooded, 0.9), share(&flooded, 1));
	printf("# measured: ratio flooded / idle: p50 %.2f, p90 %.2f, max %.2f\n",
	       share(&flooded, 0.5) / share(&idle, 0.5), share(&flooded, 0.9) / share(&idle, 0.9),
	       share(&flooded, 1) / share(&idle, 1));
	assert_true(rate > FLOOD_PER_S * 0.9);
	assert_true(idle.count > 20 && flooded.count > 20);
	/* Wide enough for a busy machine; a stop that queued behind the garbage would take seconds. */
	assert_true(share(&flooded, 1) < STOP_LIMIT_MS);
	/* And the daemon is as it was. */
	assert_non_null(stage_axis(stage.keeper, "drive", "state"));
	stage_close(&stage);
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(a_flood_of_garbage_does_not_delay_a_stop)};

	return cmocka_run_group_tests_name("flood", tests, NULL, NULL);
}
