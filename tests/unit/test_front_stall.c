/* SPDX-License-Identifier: MIT */
/*
 * R7 in time: what a network kept, what a turn left behind, and a wall clock that is set. The front's clocks are those of
 * clock_gettime() and time(), which this program has for itself: real time, shifted by what the test says.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#include "tests/support/front_rig.h"

/* --- the clocks ----------------------------------------------------------------------------------------- */

/* Shared with the front. */
struct shift {
	_Atomic td_ns monotonic_ns;
	_Atomic td_ns wall_ns;
};

static struct shift *shift;

static bool is_wall(clockid_t clock)
{
	return clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE;
}

static bool is_monotonic(clockid_t clock)
{
	return clock == CLOCK_MONOTONIC || clock == CLOCK_MONOTONIC_COARSE;
}

/* NOLINTBEGIN(readability-inconsistent-declaration-parameter-name): the names of the library are not for us. */
int clock_gettime(clockid_t clock, struct timespec *now)
{
	long result = syscall(SYS_clock_gettime, clock, now);
	td_ns by_ns = 0;

	if (shift && is_monotonic(clock))
		by_ns = shift->monotonic_ns;
	if (shift && is_wall(clock))
		by_ns = shift->wall_ns;
	td_ns at_ns = TD_S(now->tv_sec) + now->tv_nsec + by_ns;

	now->tv_sec = at_ns / TD_S(1);
	now->tv_nsec = at_ns % TD_S(1);
	return (int)result;
}

time_t time(time_t *also)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_REALTIME, &now);
	if (also)
		*also = now.tv_sec;
	return now.tv_sec;
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */

/* --- the stage ------------------------------------------------------------------------------------------ */

static struct rig rig;
static struct rig_client *client;

static void begin(void)
{
	rig_start(&rig, false);
	struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
				  rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(&rig, &notes[i]);
	client = rig_connect(&rig, TD_ROLE_VISITOR);
}

static int set_up(void **state)
{
	(void)state;
	shift = mmap(NULL, sizeof(*shift), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	assert_true(shift != MAP_FAILED);
	rig_prepare(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rig_close(client);
	int code = rig_end(&rig);

	assert_int_equal(munmap(shift, sizeof(*shift)), 0);
	shift = NULL;
	return code;
}

static void send_request(unsigned int hold, unsigned int seq, const char *token, int id)
{
	char line[300];

	(void)snprintf(line, sizeof(line),
		       "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"request\",\"params\":{\"axis\":\"boom\","
		       "\"way\":\"raise\",\"hold\":%u,\"seq\":%u,\"token\":\"%s\"}}",
		       id, hold, seq, token);
	rig_send(client, line);
}

/* A request that reaches the mover, which renews or starts. */
static void goes_through(unsigned int hold, unsigned int seq, const char *token)
{
	send_request(hold, seq, token, 1);
	struct td_order order = rig_order(rig.orders);

	assert_int_equal(order.kind, TD_EVENT_REQUEST);
	assert_int_equal(order.seq, seq);
	rig_answer(&rig, order.tag, seq == 0 ? TD_CAUSE_STARTED : TD_CAUSE_RENEWED);
	json_decref(rig_receive(client));
}

/* The outcome of a request that the front refuses; `token`, if any, gets the one that came with it. */
static void is_refused(unsigned int hold, unsigned int seq, const char *token, const char *cause, char *fresh)
{
	send_request(hold, seq, token, 1);
	json_t *answer = rig_receive(client);
	const json_t *data = json_object_get(json_object_get(answer, "error"), "data");

	assert_string_equal(rig_outcome(answer), cause);
	assert_true(rig_no_order(&rig));
	if (fresh)
		(void)snprintf(fresh, TD_TOKEN_CHARS + 1, "%s",
			       json_string_value(json_object_get(data, "token")));
	json_decref(answer);
}

static void copy_token(char *token)
{
	(void)snprintf(token, TD_TOKEN_CHARS + 1, "%s", rig_token(client));
}

/* --- the network ---------------------------------------------------------------------------------------- */

/* Ten seconds of renewals, and people who let go and tried again, all delivered at once. */
static void R7_what_a_network_kept_for_ten_seconds_moves_nothing(void **state)
{
	enum { KEPT = 28 };
	char token[TD_TOKEN_CHARS + 1];
	char fresh[TD_TOKEN_CHARS + 1];

	(void)state;
	begin();
	copy_token(token);
	goes_through(1, 0, token);
	shift->monotonic_ns += TD_S(10);
	for (unsigned int i = 0; i < KEPT; i++)
		send_request(i % 7 == 6 ? 2 + i : 1, i % 7 == 6 ? 0 : i + 1, token, (int)i);
	for (unsigned int i = 0; i < KEPT; i++) {
		json_t *answer = rig_receive(client);

		assert_int_equal(rig_id(answer), i);
		assert_string_equal(rig_outcome(answer), "late");
		json_decref(answer);
	}
	assert_true(rig_no_order(&rig));
	is_refused(1, KEPT + 1, token, "late", fresh);
	goes_through(1, KEPT + 2,
		     fresh); /* whoever is in touch again is heard; the core says what is left of it */
}

static void R7_a_request_counts_until_its_token_is_300_ms_old(void **state)
{
	char token[TD_TOKEN_CHARS + 1];

	(void)state;
	begin();
	copy_token(token);
	shift->monotonic_ns += TD_MS(150); /* the rest is for a machine that is busy */
	goes_through(1, 0, token);
	shift->monotonic_ns += TD_MS(151);
	is_refused(1, 1, token, "late", token);
	goes_through(1, 1, token);
}

/* --- turns ---------------------------------------------------------------------------------------------- */

static void R7_a_token_of_a_turn_that_has_ended_is_refused_in_the_next(void **state)
{
	char token[TD_TOKEN_CHARS + 1];
	char fresh[TD_TOKEN_CHARS + 1];

	(void)state;
	rig.config.turns = (struct td_turn_rules){.length_ns = TD_S(60)};
	begin();
	copy_token(token);
	json_decref(rig_call(client, "join", "", 2));
	goes_through(1, 0, token); /* given while it waited: nobody was in between */
	json_decref(rig_call(client, "leave", "", 3));
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_TURN_OVER);
	is_refused(1, 1, token, "not-your-turn", NULL);
	json_decref(rig_call(client, "join", "", 4));
	is_refused(2, 0, token, "foreign-token", fresh);
	goes_through(2, 0, fresh);
}

static bool has_turn(struct rig_client *visitor)
{
	json_t *status = rig_call(visitor, "status", "", 4);
	json_t *turn = json_object_get(json_object_get(status, "result"), "turn");
	bool yours = json_is_true(json_object_get(turn, "yours"));

	json_decref(status);
	return yours;
}

/* A request is use of the turn; a late one is not: who only has a queue in the network idles. */
static void R7_a_late_request_does_not_prolong_a_turn(void **state)
{
	char token[TD_TOKEN_CHARS + 1];
	struct rig_client *next;

	(void)state;
	rig.config.turns = (struct td_turn_rules){.length_ns = TD_S(3600), .idle_ns = TD_S(20)};
	begin();
	next = rig_connect(&rig, TD_ROLE_VISITOR);
	json_decref(rig_call(client, "join", "", 2));
	json_decref(rig_call(next, "join", "", 2));
	shift->monotonic_ns += TD_S(15);
	copy_token(token);
	goes_through(1, 0, token);
	shift->monotonic_ns += TD_S(6); /* more than 20 s from the beginning, less from the request */
	poll(NULL, 0, 600);             /* the front has looked, twice */
	assert_true(has_turn(client));
	shift->monotonic_ns += TD_S(9);
	is_refused(1, 1, token, "late", NULL);
	shift->monotonic_ns += TD_S(6);
	for (int i = 0; i < 500 && !has_turn(next); i++)
		poll(NULL, 0, 10);
	assert_true(has_turn(next));
	rig_close(next);
}

/* --- the time of day ------------------------------------------------------------------------------------ */

static json_int_t turn_left_ms(void)
{
	json_t *answer = rig_call(client, "status", "", 9);
	json_int_t left_ms = json_integer_value(
		json_object_get(json_object_get(json_object_get(answer, "result"), "turn"), "left_ms"));

	json_decref(answer);
	return left_ms;
}

/* Set back a day, or forward one: holds, tokens and turns go on as if nothing had been. */
static void R7_a_wall_clock_set_by_a_day_changes_neither_holds_nor_turns(void **state)
{
	static const td_ns steps[] = {TD_S(86400), -TD_S(2 * 86400), TD_S(86400)};
	char token[TD_TOKEN_CHARS + 1];

	(void)state;
	rig.config.turns = (struct td_turn_rules){.length_ns = TD_S(60)};
	begin();
	json_decref(rig_call(client, "join", "", 2));
	json_int_t before_ms = turn_left_ms();

	copy_token(token);
	goes_through(1, 0, token);
	for (unsigned int i = 0; i < sizeof(steps) / sizeof(steps[0]); i++) {
		copy_token(token);
		shift->wall_ns += steps[i];
		goes_through(1, i + 1, token);
		assert_in_range(turn_left_ms(), before_ms - 20000, before_ms);
	}
	assert_int_equal(shift->wall_ns, 0);
}

/* Quiet hours are of the wall clock, by purpose: what is loud is refused when it says so, and only then. */
static void quiet_hours_follow_the_wall_clock(void **state)
{
	(void)state;
	rig.config.quiet = (struct td_quiet){.count = 1, .span = {{0x7f, 0, 12 * 60}}};
	rig.config.axis[RIG_BOOM].loud = true;
	time_t now = time(NULL);
	struct tm local;

	assert_non_null(localtime_r(&now, &local));
	shift->wall_ns = TD_S(3600) * (18 - local.tm_hour); /* between 18 and 19 o'clock */
	begin();
	goes_through(1, 0, rig_token(client));
	shift->wall_ns -= TD_S(3600) * 9;
	/* What is loud was stopped, at the latest when the front looked. */
	is_refused(2, 0, rig_token(client), "quiet", NULL);
	shift->wall_ns += TD_S(3600) * 9;
	goes_through(2, 0, rig_token(client));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(R7_what_a_network_kept_for_ten_seconds_moves_nothing, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(R7_a_request_counts_until_its_token_is_300_ms_old, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(R7_a_token_of_a_turn_that_has_ended_is_refused_in_the_next,
						set_up, tear_down),
		cmocka_unit_test_setup_teardown(R7_a_late_request_does_not_prolong_a_turn, set_up, tear_down),
		cmocka_unit_test_setup_teardown(R7_a_wall_clock_set_by_a_day_changes_neither_holds_nor_turns,
						set_up, tear_down),
		cmocka_unit_test_setup_teardown(quiet_hours_follow_the_wall_clock, set_up, tear_down),
	};

	return cmocka_run_group_tests_name("front_stall", tests, NULL, NULL);
}
