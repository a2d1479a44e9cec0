/* SPDX-License-Identifier: MIT */
/*
 * What bad clients do at the visitors' socket does not delay a stop, keeps no trip from a follower and costs no more memory than each
 * of them may have. The same loads as in tests/bench/bench_front.c, for a moment each.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "daemon/front/session.h"
#include "tests/support/load.h"

enum {
	CLIENTS = 40,
	THROWERS = 16,
	PER_S = 10000,
	STOPS_MIN = 2, /* of each role */
	/* Wide enough for a busy machine; a stop that queued behind the load would take seconds. */
	STOP_LIMIT_MS = 50,
	/* What waits for it, what it has sent, and what the heap adds. */
	CLIENT_KB = 2 * (TD_BACKLOG_MAX + TD_READ_MAX * 4) / 1024,
	CALM_CPU_PERCENT = 20,
};

#define SPAN_NS TD_MS(2500)

static struct load load;

static int set_up(void **state)
{
	(void)state;
	load_open(&load, CLIENTS);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	load_close(&load);
	return 0;
}

static void expect_quick_stops(enum td_role role, const char *who)
{
	struct series *stop = &load.rounds.stop_ms[role];

	printf("# measured: %zu stops of a %s, half of them within %.3f ms, all within %.3f\n", stop->count,
	       who, series_share(stop, 0.5), series_share(stop, 1));
	assert_true(stop->count >= STOPS_MIN);
	assert_true(series_share(stop, 1) < STOP_LIMIT_MS);
}

/* Once the load is gone the front has nothing to do. */
static void expect_calm(void)
{
	pid_t front = stage_front(&load.stage);
	struct usage before = usage_of(front);

	stage_sleep(TD_MS(500));
	struct usage after = usage_of(front);
	double share = (after.cpu_s - before.cpu_s) / ((double)(after.at_ns - before.at_ns) / 1e9);

	assert_true(share * 100 < CALM_CPU_PERCENT);
}

static struct load_side bear(enum flood_kind kind, unsigned int clients)
{
	const struct load_phase phase = {"", kind, clients, PER_S};
	struct load_side side = load_run(&load, &phase, SPAN_NS);
	const struct follower_heard *heard = &load.rounds.heard;
	long grown_kb = side.after.peak_kb - side.before.peak_kb;

	printf("# measured: %.0f turns/s of %u clients over %lu connections, front grown by %ld kB\n",
	       (double)side.crowd.turns / side.crowd.seconds, clients, (unsigned long)side.crowd.connections,
	       grown_kb);
	assert_true(side.crowd.turns > 0);
	expect_quick_stops(TD_ROLE_KEEPER, "keeper");
	expect_quick_stops(TD_ROLE_VISITOR, "visitor");
	assert_true(load.rounds.trips_made > 0);
	assert_int_equal(heard->trips, load.rounds.trips_made);
	assert_int_equal(heard->missed, 0);
	assert_false(heard->dropped);
	assert_true(side.healthy.answers > 0);
	assert_true(grown_kb < (long)clients * CLIENT_KB);
	expect_calm();
	return side;
}

static void a_flood_of_garbage_does_not_delay_a_stop(void **state)
{
	(void)state;
	struct load_side side = bear(FLOOD_GARBAGE, THROWERS);

	assert_true((double)side.crowd.turns / side.crowd.seconds > PER_S * 0.9);
}

static void valid_calls_do_not_delay_a_stop(void **state)
{
	(void)state;
	bear(FLOOD_CALLS, CLIENTS);
}

static void half_messages_do_not_delay_a_stop(void **state)
{
	(void)state;
	bear(FLOOD_HALVES, CLIENTS);
}

static void clients_that_never_read_do_not_delay_a_stop(void **state)
{
	(void)state;
	bear(FLOOD_DEAF, CLIENTS);
}

static void comings_and_goings_do_not_delay_a_stop(void **state)
{
	(void)state;
	bear(FLOOD_VISITS, CLIENTS);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_flood_of_garbage_does_not_delay_a_stop),
		cmocka_unit_test(valid_calls_do_not_delay_a_stop),
		cmocka_unit_test(half_messages_do_not_delay_a_stop),
		cmocka_unit_test(clients_that_never_read_do_not_delay_a_stop),
		cmocka_unit_test(comings_and_goings_do_not_delay_a_stop),
	};

	return cmocka_run_group_tests_name("flood", tests, set_up, tear_down);
}
