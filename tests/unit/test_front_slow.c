/* SPDX-License-Identifier: MIT */
/* Followers that read slowly: of any speed, they may miss much, but no stop, no trip, no latch and no reset. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <inttypes.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/cause.h"
#include "daemon/client/refusal.h"
#include "daemon/front/history.h"
#include "tests/support/dice.h"
#include "tests/support/rig_news.h"

static struct rig rig;

static int set_up(void **state)
{
	(void)state;
	rig_start_ready(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	assert_int_equal(rig_end(&rig), 0);
	return 0;
}

/* --- readers of any speed -------------------------------------------------------------------------------- */

enum { READERS = 5, STEPS = 6000, CAUSES_MAX = 128 };

struct reader {
	struct rig_client *client;
	int64_t told;    /* number of the newest news */
	int64_t lasting; /* how many of them last */
	int64_t missed;  /* of the others */
	int64_t states;
	int32_t position; /* of the newest state of the boom */
};

static enum td_cause happened[STEPS + 1]; /* by number */
static int64_t last_n;
static int32_t last_position;

static bool has_line(struct rig_client *client)
{
	struct pollfd ready = {.fd = client->fd, .events = POLLIN};

	return memchr(client->bytes, '\n', client->used) || poll(&ready, 1, 0) == 1;
}

static void take_news(struct reader *reader, const json_t *params)
{
	int64_t n = rig_number(params, "n");
	int64_t missed = rig_number(params, "missed");
	enum td_cause cause = td_cause_named(json_string_value(json_object_get(params, "cause")));

	assert_int_equal(n, reader->told + missed + 1);
	assert_int_equal(cause, happened[n]);
	for (int64_t left_out = reader->told + 1; left_out < n; left_out++)
		if (td_history_lasts(td_cause_kind(happened[left_out])))
			fail_msg("%s, number %" PRId64 ", was left out",
				 td_cause_info(happened[left_out])->name, left_out);
	reader->told = n;
	reader->missed += missed;
	reader->lasting += td_history_lasts(td_cause_kind(cause));
}

static void read_one(struct reader *reader)
{
	json_t *line = rig_receive(reader->client);

	if (rig_is(line, "news"))
		take_news(reader, rig_params(line));
	else if (rig_is(line, "axis")) {
		int32_t position = (int32_t)rig_number(rig_params(line), "position_ppm");

		assert_true(position >= reader->position); /* never an older one */
		reader->position = position;
		reader->states++;
	} else {
		fail_msg("an unexpected line came");
	}
	json_decref(line);
}

static void read_some(struct reader *reader, int64_t lines)
{
	for (; lines > 0 && has_line(reader->client); lines--)
		read_one(reader);
}

/* Stops, trips and the like are an eighth; as many of a kind as are kept never come in one run. */
static enum td_cause draw_cause(struct dice *dice)
{
	static const enum td_cause lasting[] = {
		TD_CAUSE_LET_GO,      TD_CAUSE_END_REACHED, TD_CAUSE_TRAVEL_LIMIT, TD_CAUSE_BOTH_ENDS,
		TD_CAUSE_LATCH_ASKED, TD_CAUSE_RESET_DONE,  TD_CAUSE_LINES_LOST};
	static const enum td_cause passing[] = {TD_CAUSE_STARTED, TD_CAUSE_AT_END, TD_CAUSE_LEVELS_SEEN};

	if (dice_below(dice, 8) == 0)
		return lasting[dice_below(dice, sizeof(lasting) / sizeof(lasting[0]))];
	/* Many of one kind, so that they outrun what is kept of it. */
	return passing[dice_below(dice, 10) < 8 ? 1 : dice_below(dice, 3)];
}

static void one_step(struct dice *dice, int step)
{
	if (dice_below(dice, 4) == 0) {
		struct td_note note = rig_axis_note(RIG_BOOM, TD_AXIS_RUN);

		note.as.axis.position_ppm = last_position = step;
		rig_note(&rig, &note);
		return;
	}
	happened[++last_n] = draw_cause(dice);
	rig_happen(&rig, happened[last_n], 1);
}

static void open_readers(struct reader *readers)
{
	for (int i = 0; i < READERS; i++) {
		readers[i] = (struct reader){
			.client = rig_connect(&rig, i % 2 ? TD_ROLE_KEEPER : TD_ROLE_VISITOR)};
		json_decref(rig_follow(readers[i].client, ""));
	}
}

/* A speed for each, drawn anew now and then: none, a trickle, as fast as it comes. */
static void draw_speeds(struct dice *dice, int64_t *speed)
{
	static const int64_t speeds[] = {0, 0, 1, 2, STEPS};

	for (int i = 0; i < READERS; i++)
		speed[i] = speeds[dice_below(dice, sizeof(speeds) / sizeof(speeds[0]))];
	speed[0] = STEPS; /* one is always quick */
	speed[1] = 0;     /* and one never reads before the end */
}

static int64_t count_lasting(void)
{
	int64_t count = 0;

	for (int64_t n = 1; n <= last_n; n++)
		count += td_history_lasts(td_cause_kind(happened[n]));
	return count;
}

static void readers_of_any_speed_see_every_stop_trip_latch_and_reset_once_and_in_order(void **state)
{
	struct dice dice = dice_start(20261128);
	struct reader readers[READERS];
	int64_t speed[READERS] = {0};

	(void)state;
	open_readers(readers);
	for (int step = 1; step <= STEPS; step++) {
		if (step % 1000 == 1)
			draw_speeds(&dice, speed);
		one_step(&dice, step);
		for (int i = 0; i < READERS; i++)
			read_some(&readers[i], speed[i]);
		while (step % 50 == 0 && readers[0].told < last_n)
			read_one(&readers[0]);
	}
	for (int i = 0; i < READERS; i++) {
		while (readers[i].told < last_n || readers[i].position < last_position)
			read_one(&readers[i]);
		print_message("# measured: reader %d of %" PRId64 " news missed %" PRId64 " and saw %" PRId64
			      " states\n",
			      i, last_n, readers[i].missed, readers[i].states);
		assert_int_equal(readers[i].lasting, count_lasting());
		rig_close(readers[i].client);
	}
	/* The test is about something: the quick one missed nothing, the one that did not read missed some. */
	assert_int_equal(readers[0].missed, 0);
	assert_true(readers[1].missed > 0);
	assert_true(readers[1].states < readers[0].states / 2);
}

/* --- too slow for that ----------------------------------------------------------------------------------- */

static void who_would_miss_a_trip_is_dropped_told_so_and_can_resume(void **state)
{
	struct pollfd gone = {.fd = rig.urgent, .events = POLLIN};
	int64_t told = 0;
	int sent = 0;

	(void)state;
	struct rig_client *slow = rig_connect(&rig, TD_ROLE_VISITOR);
	json_decref(rig_follow(slow, ""));
	for (; sent < 20000 && poll(&gone, 1, 0) == 0; sent++)
		rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	assert_true(sent > TD_HISTORY_KEPT && sent < 20000);
	struct td_order order = rig_order(rig.urgent);
	assert_int_equal(order.kind, TD_EVENT_GONE);
	json_t *line = rig_receive(slow);
	for (; rig_is(line, "news"); line = rig_receive(slow)) {
		assert_int_equal(rig_number(rig_params(line), "n"), ++told);
		json_decref(line);
	}
	assert_true(rig_is(line, "dropped"));
	assert_non_null(
		strstr(json_string_value(json_object_get(rig_params(line), "sentence")), "so slowly"));
	assert_non_null(strstr(json_string_value(json_object_get(rig_params(line), "remedy")), "follow"));
	json_decref(line);
	assert_true(rig_closed(slow));
	rig_close(slow);
	char *log = rig_log(&rig);
	assert_non_null(strstr(log, "so slowly"));
	free(log);
	print_message("# measured: a follower that never reads is dropped after %d trips\n", sent);

	slow = rig_connect(&rig, TD_ROLE_VISITOR);
	char params[64];
	(void)snprintf(params, sizeof(params), "{\"since\":%" PRId64 "}", told);
	json_t *events = rig_follow(slow, params);
	int64_t missed = rig_number(events, "missed");
	assert_true(missed >= 1);
	assert_string_equal(json_string_value(json_array_get(json_object_get(events, "missed_of"), 0)),
			    "trip");
	rig_expect_news(slow, told + missed + 1, TD_CAUSE_TRAVEL_LIMIT, missed);
	for (int64_t n = told + missed + 2; n <= rig_number(events, "last"); n++)
		rig_expect_news(slow, n, TD_CAUSE_TRAVEL_LIMIT, 0);
	json_decref(events);
	rig_close(slow);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		TEST(readers_of_any_speed_see_every_stop_trip_latch_and_reset_once_and_in_order),
		TEST(who_would_miss_a_trip_is_dropped_told_so_and_can_resume),
	};

	return cmocka_run_group_tests_name("front_slow", tests, NULL, NULL);
}
