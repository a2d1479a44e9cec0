/* SPDX-License-Identifier: MIT */
/* Followers: numbers to resume from, and what is told where something is missing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#include "core/cause.h"
#include "daemon/front/history.h"
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

static json_t *resume(struct rig_client *client, int64_t since, const char *instance)
{
	char params[128];

	(void)snprintf(params, sizeof(params), "{\"since\":%" PRId64 ",\"instance\":\"%s\"}", since,
		       instance);
	return rig_follow(client, params);
}

/* Everything told to the front so far has been dealt with. */
static void settle(void)
{
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_sync(other);
	rig_close(other);
	while (rig_order(rig.urgent).kind != TD_EVENT_GONE)
		;
}

/* --- numbers ------------------------------------------------------------------------------------------- */

static void who_resumes_gets_what_came_meanwhile_once_and_then_what_comes(void **state)
{
	char instance[64];

	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *events = rig_follow(client, "");

	assert_int_equal(rig_number(events, "last"), 0);
	assert_int_equal(rig_number(events, "missed"), 0);
	assert_int_equal(json_array_size(json_object_get(events, "missed_of")), 0);
	(void)snprintf(instance, sizeof(instance), "%s",
		       json_string_value(json_object_get(events, "instance")));
	assert_int_equal(strlen(instance), 16);
	json_decref(events);
	rig_happen(&rig, TD_CAUSE_STARTED, 1);
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	rig_expect_news(client, 1, TD_CAUSE_STARTED, 0);
	rig_expect_news(client, 2, TD_CAUSE_TRAVEL_LIMIT, 0);
	rig_close(client);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	rig_happen(&rig, TD_CAUSE_RESET_DONE, 1);
	rig_happen(&rig, TD_CAUSE_STARTED, 1);
	rig_happen(&rig, TD_CAUSE_END_REACHED, 1);
	settle();
	client = rig_connect(&rig, TD_ROLE_VISITOR);
	events = resume(client, 2, instance);
	assert_int_equal(rig_number(events, "last"), 5);
	assert_int_equal(rig_number(events, "missed"), 0);
	assert_string_equal(json_string_value(json_object_get(events, "instance")), instance);
	json_decref(events);
	rig_expect_news(client, 3, TD_CAUSE_RESET_DONE, 0);
	rig_expect_news(client, 4, TD_CAUSE_STARTED, 0);
	rig_expect_news(client, 5, TD_CAUSE_END_REACHED, 0);
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	rig_expect_news(client, 6, TD_CAUSE_TRAVEL_LIMIT, 0);
	rig_close(client);
}

static void without_a_number_nothing_is_told_again(void **state)
{
	(void)state;
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 3);
	settle();
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	json_t *events = rig_follow(client, "");

	assert_int_equal(rig_number(events, "last"), 3);
	assert_int_equal(rig_number(events, "missed"), 0);
	json_decref(events);
	rig_happen(&rig, TD_CAUSE_RESET_DONE, 1);
	rig_expect_news(client, 4, TD_CAUSE_RESET_DONE, 0);
	json_decref(rig_follow(client, "")); /* a second time: goes on where it was */
	rig_happen(&rig, TD_CAUSE_STARTED, 1);
	rig_expect_news(client, 5, TD_CAUSE_STARTED, 0);
	rig_close(client);
}

static void status_names_the_number_to_follow_from(void **state)
{
	(void)state;
	rig_happen(&rig, TD_CAUSE_STARTED, 2);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_call(client, "status", "", 1);
	const json_t *events = json_object_get(json_object_get(answer, "result"), "events");

	assert_int_equal(rig_number(events, "last"), 2);
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	json_decref(resume(client, rig_number(events, "last"),
			   json_string_value(json_object_get(events, "instance"))));
	rig_expect_news(client, 3, TD_CAUSE_TRAVEL_LIMIT, 0);
	json_decref(answer);
	rig_close(client);
}

static void what_is_no_longer_kept_is_owned_up_to(void **state)
{
	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	rig_happen(&rig, TD_CAUSE_AT_END, TD_HISTORY_KEPT + 20);
	rig_happen(&rig, TD_CAUSE_RESET_DONE, 1);
	settle();
	json_t *events = rig_follow(client, "{\"since\":0}");
	const json_t *of = json_object_get(events, "missed_of");

	assert_int_equal(rig_number(events, "missed"), 20);
	assert_int_equal(json_array_size(of), 1);
	assert_string_equal(json_string_value(json_array_get(of, 0)), "refusal");
	rig_expect_news(client, 1, TD_CAUSE_TRAVEL_LIMIT, 0);
	rig_expect_news(client, 22, TD_CAUSE_AT_END, 20);
	for (int i = 1; i < TD_HISTORY_KEPT; i++)
		rig_expect_news(client, 22 + i, TD_CAUSE_AT_END, 0);
	rig_expect_news(client, rig_number(events, "last"), TD_CAUSE_RESET_DONE, 0);
	json_decref(events);
	rig_close(client);
}

static void of_a_former_life_nobody_knows_what_is_missed(void **state)
{
	static const char *const params[] = {"{\"since\":1,\"instance\":\"0123456789abcdef\"}",
					     "{\"since\":3}"};

	(void)state;
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 2);
	settle();
	for (size_t i = 0; i < sizeof(params) / sizeof(params[0]); i++) {
		struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
		json_t *events = rig_follow(client, params[i]);

		assert_true(json_is_null(json_object_get(events, "missed")));
		assert_true(json_is_null(json_object_get(events, "missed_of")));
		json_decref(events);
		rig_expect_news(client, 1, TD_CAUSE_TRAVEL_LIMIT, 0);
		rig_expect_news(client, 2, TD_CAUSE_TRAVEL_LIMIT, 0);
		rig_close(client);
	}
}

static void two_lives_have_two_names(void **state)
{
	struct rig second;
	char first_name[64];

	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *events = rig_follow(client, "");

	(void)snprintf(first_name, sizeof(first_name), "%s",
		       json_string_value(json_object_get(events, "instance")));
	json_decref(events);
	rig_close(client);
	rig_start_ready(&second);
	client = rig_connect(&second, TD_ROLE_VISITOR);
	events = rig_follow(client, "");
	assert_string_not_equal(json_string_value(json_object_get(events, "instance")), first_name);
	json_decref(events);
	rig_close(client);
	assert_int_equal(rig_end(&second), 0);
}

/* What happened while the other answers of a batch were still due comes behind them. */
static void nothing_is_told_before_the_answer(void **state)
{
	(void)state;
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(client, "[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"follow\",\"params\":{\"since\":0}},"
			 "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"latch\"}]");
	struct td_order order = rig_order(rig.urgent);
	rig_happen(&rig, TD_CAUSE_LATCH_ASKED, 1);
	rig_answer(&rig, order.tag, TD_CAUSE_LATCH_ASKED);
	json_t *line = rig_receive(client);
	assert_int_equal(json_array_size(line), 2);
	json_decref(line);
	rig_expect_news(client, 1, TD_CAUSE_TRAVEL_LIMIT, 0);
	rig_expect_news(client, 2, TD_CAUSE_LATCH_ASKED, 0);
	rig_close(client);
}

static void who_only_asks_for_the_past_gets_all_of_it_before_the_end(void **state)
{
	(void)state;
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 100);
	settle();
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"follow\",\"params\":{\"since\":0}}");
	assert_int_equal(shutdown(client->fd, SHUT_WR), 0);
	for (int i = 1; i <= 100; i++)
		rig_expect_news(client, i, TD_CAUSE_TRAVEL_LIMIT, 0);
	assert_true(rig_closed(client));
	rig_close(client);
}

/* --- between the processes ------------------------------------------------------------------------------- */

static void tripped_note(uint8_t axis, enum td_cause cause)
{
	struct td_note note = rig_axis_note(axis, TD_AXIS_TRIPPED);

	note.at_ns = TD_S(3);
	note.as.axis.trip = (uint8_t)cause;
	rig_note(&rig, &note);
}

static void a_trip_whose_news_the_mover_could_not_send_is_told_all_the_same(void **state)
{
	struct td_note lost = rig_machine_note(true, 0);

	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	json_decref(rig_follow(client, ""));
	tripped_note(RIG_BOOM, TD_CAUSE_TRAVEL_LIMIT); /* nothing is amiss: its news come by themselves */
	lost.as.machine.lost = 1;
	rig_note(&rig, &lost);
	tripped_note(RIG_BOOM, TD_CAUSE_TRAVEL_LIMIT); /* as it was */
	tripped_note(RIG_DRIVE, TD_CAUSE_LINES_LOST);
	tripped_note(RIG_DRIVE, TD_CAUSE_CHATTER); /* the set is whole again */
	rig_happen(&rig, TD_CAUSE_STARTED, 1);
	rig_expect_news(client, 1, TD_CAUSE_NEWS_LOST, 0);
	rig_expect_news(client, 2, TD_CAUSE_LINES_LOST, 0);
	rig_expect_news(client, 3, TD_CAUSE_STARTED, 0);
	rig_close(client);
}

static void a_trip_whose_news_came_through_is_not_told_twice(void **state)
{
	struct td_note lost = rig_machine_note(true, 0);

	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	json_decref(rig_follow(client, ""));
	rig_happen(&rig, TD_CAUSE_TRAVEL_LIMIT, 1);
	lost.as.machine.lost = 1;
	rig_note(&rig, &lost);
	tripped_note(RIG_BOOM, TD_CAUSE_TRAVEL_LIMIT);
	rig_happen(&rig, TD_CAUSE_STARTED, 1);
	rig_expect_news(client, 1, TD_CAUSE_TRAVEL_LIMIT, 0);
	rig_expect_news(client, 2, TD_CAUSE_NEWS_LOST, 0);
	rig_expect_news(client, 3, TD_CAUSE_STARTED, 0);
	rig_close(client);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		TEST(who_resumes_gets_what_came_meanwhile_once_and_then_what_comes),
		TEST(without_a_number_nothing_is_told_again),
		TEST(status_names_the_number_to_follow_from),
		TEST(what_is_no_longer_kept_is_owned_up_to),
		TEST(of_a_former_life_nobody_knows_what_is_missed),
		TEST(two_lives_have_two_names),
		TEST(nothing_is_told_before_the_answer),
		TEST(who_only_asks_for_the_past_gets_all_of_it_before_the_end),
		TEST(a_trip_whose_news_the_mover_could_not_send_is_told_all_the_same),
		TEST(a_trip_whose_news_came_through_is_not_told_twice),
	};

	return cmocka_run_group_tests_name("front_follow", tests, NULL, NULL);
}
