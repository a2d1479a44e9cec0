/* SPDX-License-Identifier: MIT */
/* R7 over a network that is slow, or that keeps everything for a while: the real client and daemon, in real time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>
#include <sys/wait.h>

#include "daemon/client/exit.h"
#include "daemon/clock.h"
#include "tests/support/slow_road.h"
#include "tests/support/stage.h"

enum { FORWARD = 1, LEASE_MS = 300, BEAT_MS = 100 };

static struct stage stage;
static struct slow_road road;

static void open_road(td_ns way_ns)
{
	char to[STAGE_PATH_MAX];

	(void)snprintf(to, sizeof(to), "%s", stage_file(&stage, "keeper.sock"));
	slow_road_open(&road, stage_file(&stage, "road.sock"), to, way_ns);
}

static int set_up(void **state)
{
	(void)state;
	stage_open(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	slow_road_close(&road);
	stage_close(&stage);
	return 0;
}

/* One motion without a gap; half a second of the round trips goes by before it starts. */
static void R7_tripdog_holds_over_a_round_trip_of_200_ms(void **state)
{
	int status = 0;

	(void)state;
	open_road(TD_MS(100));
	pid_t client = stage_client(&stage, "road.sock", "drive", "forward", "2s");

	assert_true(stage_wait_output(&stage, "drive", FORWARD, true, TD_S(5)));
	assert_int_equal(waitpid(client, &status, 0), client);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), TD_EXIT_DONE);
	assert_true(stage_wait_output(&stage, "drive", FORWARD, false, TD_S(2)));
	td_ns span_ns = stage_fall_ns(&stage, "drive", FORWARD) - stage_rise_ns(&stage, "drive", FORWARD);

	print_message("# measured: held for 2 s over 200 ms: powered for %.0f ms in one piece\n",
		      (double)span_ns / 1e6);
	assert_true(span_ns > TD_MS(1700));
}

/* --- a stall ---------------------------------------------------------------------------------------------- */

static void send_request(struct td_link *link, int hold, int seq)
{
	int64_t id = 0;
	struct td_error err = {""};

	if (td_link_send(link, "request",
			 json_pack("{s:s, s:s, s:i, s:i, s:i, s:s}", "axis", "drive", "way", "forward",
				   "hold", hold, "seq", seq, "lease_ms", (int)LEASE_MS, "token",
				   td_link_token(link)),
			 TD_S(1), &id, &err) != TD_LINK_OK)
		fail_msg("%s", err.text);
}

/* Takes the answers that have come; how many of them let something move. `late`, if any, counts those refused as late. */
static int take_answers(struct td_link *link, int *late)
{
	struct td_link_message message;
	int moves = 0;

	while (td_link_next(link, 0, &message, NULL) == TD_LINK_OK) {
		moves += message.kind == TD_LINK_RESULT;
		if (late && message.kind == TD_LINK_ERROR &&
		    td_refusal_read(message.body).cause == TD_CAUSE_LATE)
			(*late)++;
		json_decref(message.body);
	}
	return moves;
}

/* Renews, lets nothing be and starts anew each second, as somebody would who sees nothing move. How many were sent. */
static int go_on_asking(struct td_link *link, int hold, int beats)
{
	int sent = 0;

	for (int seq = 1; seq <= beats; seq++, sent++) {
		hold += seq % 10 == 0;
		send_request(link, hold, seq % 10 == 0 ? 0 : seq);
		stage_sleep(TD_MS(BEAT_MS));
	}
	return sent;
}

static void R7_what_a_stalled_network_delivers_at_once_moves_nothing(void **state)
{
	int late = 0;

	(void)state;
	open_road(0);
	struct td_link *link = stage_link(&stage, "road.sock");

	assert_string_equal(stage_request(link, "drive", "forward", 1, 0, LEASE_MS), "started");
	slow_road_stall(&road, true);
	td_ns stall_ns = td_clock_now();
	int sent = go_on_asking(link, 1, 22);

	assert_false(stage_any_high(&stage));
	td_ns fall_ns = stage_fall_ns(&stage, "drive", FORWARD);
	td_ns rise_ns = stage_rise_ns(&stage, "drive", FORWARD);

	print_message("# measured: network stalled -> outputs low %.0f ms\n",
		      (double)(fall_ns - stall_ns) / 1e6);
	assert_true(fall_ns - stall_ns < TD_MS(LEASE_MS + BEAT_MS));
	slow_road_stall(&road, false);
	stage_sleep(TD_MS(600));
	assert_int_equal(take_answers(link, &late), 0);
	print_message("# measured: %d requests delivered at once, %d of them late\n", sent, late);
	assert_int_equal(late, sent);
	assert_false(stage_any_high(&stage));
	assert_true(stage_rise_ns(&stage, "drive", FORWARD) == rise_ns);
	assert_string_equal(stage_request(link, "drive", "forward", 50, 0, LEASE_MS), "started");
	td_link_close(link);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(R7_tripdog_holds_over_a_round_trip_of_200_ms, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(R7_what_a_stalled_network_delivers_at_once_moves_nothing,
						set_up, tear_down),
	};

	return cmocka_run_group_tests_name("network", tests, NULL, NULL);
}
