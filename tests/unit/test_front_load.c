/* SPDX-License-Identifier: MIT */
/* Many clients at a time: as many as the configuration says, and none that waits for the others. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "tests/support/front_rig.h"
#include "tests/support/usage.h"

enum { CROWD = 100, BUSY = 20, LATER = 999, QUIET_KB = 24, TRIES = 20, BATCH = 16, BATCHES = 20 };

static void test_visitors_are_as_many_as_the_configuration_says(void **state)
{
	struct rig rig;
	struct rig_client *visitor[CROWD];

	(void)state;
	rig_prepare(&rig);
	rig.config.visitors_max = CROWD;
	rig_start(&rig, false);
	for (int i = 0; i < CROWD; i++) {
		visitor[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor[i]);
	}
	struct rig_client *late = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_receive(late);

	assert_int_equal(rig_code(answer), -32003);
	assert_non_null(strstr(rig_sentence(answer), "100 connections"));
	json_decref(answer);
	assert_true(rig_closed(late));
	rig_close(late);
	for (int i = 0; i < CROWD; i++)
		rig_close(visitor[i]);
	assert_int_equal(rig_end(&rig), 0);
}

static void send_release(struct rig_client *client, int hold)
{
	char line[128];

	(void)snprintf(
		line, sizeof(line),
		"{\"jsonrpc\":\"2.0\",\"method\":\"release\",\"params\":{\"axis\":\"boom\",\"hold\":%d}}",
		hold);
	rig_send(client, line);
}

/* Each of a crowd sends `before` lines and has them carried out: how long that took. */
static td_ns make_busy(struct rig *rig, struct rig_client *crowd[], int before)
{
	td_ns from_ns = td_clock_now();

	for (int i = 0; i < BUSY; i++) {
		for (int k = 0; k < before; k++)
			send_release(crowd[i], k + 1);
		for (int k = 0; k < before; k++)
			assert_int_equal(rig_order(rig->urgent).hold, k + 1);
	}
	return td_clock_now() - from_ns;
}

/* The crowd has `lines` releases waiting when a line of another visitor comes behind them all: a stop, or letting go of hold 999. Which is
 * served first is seen by what reaches the mover first. */
static struct td_order first_of_all(int before, int lines, bool stop)
{
	struct rig rig;
	struct rig_client *crowd[BUSY];

	rig_start_ready(&rig);
	struct rig_client *one = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_sync(one);
	for (int i = 0; i < BUSY; i++) {
		crowd[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(crowd[i]);
	}
	/* Who is busy is forgiven after a quarter of a second: where this machine is slower, it is tried again. */
	for (int tries = 0; make_busy(&rig, crowd, before) > TD_MS(150); tries++)
		assert_true(tries < TRIES);
	assert_int_equal(kill(rig.pid, SIGSTOP), 0);
	for (int k = 0; k < lines; k++)
		for (int i = 0; i < BUSY; i++)
			send_release(crowd[i], k + 1);
	if (stop)
		rig_send(one, "{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}");
	else
		send_release(one, LATER);
	assert_int_equal(kill(rig.pid, SIGCONT), 0);
	struct td_order first = rig_order(rig.urgent);

	for (int i = 0; i < BUSY * lines; i++)
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_RELEASE);
	for (int i = 0; i < BUSY; i++)
		rig_close(crowd[i]);
	rig_close(one);
	assert_int_equal(rig_end(&rig), 0);
	return first;
}

static void test_a_visitor_does_not_wait_behind_what_busy_visitors_pile_up(void **state)
{
	(void)state;
	assert_int_equal(first_of_all(40, 5, false).hold, LATER);
	assert_int_equal(first_of_all(40, 5, true).kind, TD_EVENT_STOP);
}

static void send_batch(struct rig_client *client, int first_hold)
{
	char line[4096] = "[";
	size_t length = 1;

	for (int i = 0; i < BATCH; i++)
		length += (size_t)snprintf(
			line + length, sizeof(line) - length,
			"%s{\"jsonrpc\":\"2.0\",\"method\":\"release\",\"params\":{\"axis\":\"boom\","
			"\"hold\":%d}}",
			i > 0 ? "," : "", first_hold + i);
	(void)snprintf(line + length, sizeof(line) - length, "]");
	rig_send(client, line);
}

/* 320 calls: 50 at once, in debt for as many more, and the rest at 200 a second. */
static void test_a_batch_counts_as_many_lines_as_it_has_calls(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *one = rig_connect(&rig, TD_ROLE_VISITOR);
	td_ns from_ns = td_clock_now();

	for (int i = 0; i < BATCHES; i++)
		send_batch(one, i * BATCH + 1);
	for (uint32_t hold = 1; hold <= BATCHES * BATCH; hold++)
		assert_int_equal(rig_order(rig.urgent).hold, hold);
	assert_true(td_clock_now() - from_ns > TD_MS(700));
	rig_close(one);
	assert_int_equal(rig_end(&rig), 0);
}

/* Nobody of them has sent much, yet together they have. */
static void test_a_visitors_stop_comes_before_other_lines_of_calm_visitors(void **state)
{
	(void)state;
	assert_int_equal(first_of_all(0, 4, true).kind, TD_EVENT_STOP);
}

/* The sanitizer keeps what was freed, and more beside it; an emulator has memory of its own for the code it translates. */
#if !defined(__SANITIZE_ADDRESS__) && !defined(TD_EMULATED)
#define MEMORY_IS_THE_PROGRAMS 1
#else
#define MEMORY_IS_THE_PROGRAMS 0
#endif

#if MEMORY_IS_THE_PROGRAMS
/* Who is connected and says little costs little, however much might wait of what he sends. */
static void test_a_visitor_that_says_little_costs_little_memory(void **state)
{
	struct rig rig;
	struct rig_client *visitor[CROWD];

	(void)state;
	rig_prepare(&rig);
	rig.config.visitors_max = CROWD;
	rig_start(&rig, false);
	visitor[0] = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor[0]);
	long before_kb = usage_of(rig.pid).own_kb;

	for (int i = 1; i < CROWD; i++) {
		visitor[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor[i]);
	}
	long each_kb = (usage_of(rig.pid).own_kb - before_kb) / (CROWD - 1);

	print_message("# measured: %ld kB a visitor\n", each_kb);
	assert_true(each_kb < QUIET_KB);
	for (int i = 0; i < CROWD; i++)
		rig_close(visitor[i]);
	assert_int_equal(rig_end(&rig), 0);
}
#endif

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_a_visitor_does_not_wait_behind_what_busy_visitors_pile_up),
		cmocka_unit_test(test_a_visitors_stop_comes_before_other_lines_of_calm_visitors),
		cmocka_unit_test(test_a_batch_counts_as_many_lines_as_it_has_calls),
#if MEMORY_IS_THE_PROGRAMS
		cmocka_unit_test(test_a_visitor_that_says_little_costs_little_memory),
#endif
		cmocka_unit_test(test_visitors_are_as_many_as_the_configuration_says),
	};

	return cmocka_run_group_tests_name("front_load", tests, NULL, NULL);
}
