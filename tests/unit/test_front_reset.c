/* SPDX-License-Identifier: MIT */
/* R11 at the socket: whose reset goes where, what a refusal says, what status, describe and news show. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "tests/support/front_rig.h"

static struct rig rig;

static int set_up(void **state)
{
	(void)state;
	rig_prepare(&rig);
	rig.config.rules.visitor_resets = 6;
	rig_start(&rig, false);
	struct td_note machine = rig_machine_note(true, 0);
	struct td_note boom = rig_axis_note(RIG_BOOM, TD_AXIS_STILL);
	struct td_note drive = rig_axis_note(RIG_DRIVE, TD_AXIS_STILL);

	rig_note(&rig, &machine);
	rig_note(&rig, &boom);
	rig_note(&rig, &drive);
	return 0;
}

static void finish(struct rig_client *client)
{
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

/* The result of this call; the caller's. */
static json_t *result_of(struct rig_client *client, const char *method)
{
	json_t *answer = rig_call(client, method, "", 1);
	json_t *result = json_incref(json_object_get(answer, "result"));

	assert_non_null(result);
	json_decref(answer);
	return result;
}

static void expect_json(const json_t *got, const char *expected)
{
	char *text = json_dumps(got, JSON_ENCODE_ANY | JSON_COMPACT);

	assert_non_null(text);
	assert_string_equal(text, expected);
	free(text);
}

static void R11_a_visitors_reset_is_for_the_core_to_judge(void **state)
{
	(void)state;
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_send(visitor,
		 "{\"jsonrpc\":\"2.0\",\"method\":\"reset\",\"params\":{\"axis\":\"boom\"},\"id\":1}");
	struct td_order order = rig_order(rig.orders);

	assert_int_equal(order.kind, TD_EVENT_RESET);
	assert_int_equal(order.role, TD_ROLE_VISITOR);
	assert_int_equal(order.axis, RIG_BOOM);
	assert_int_equal(order.session, 1);
	rig_answer(&rig, order.tag, TD_CAUSE_NOT_ALLOWED);
	json_t *answer = rig_receive(visitor);

	assert_string_equal(rig_outcome(answer), "not-allowed");
	assert_null(json_object_get(json_object_get(json_object_get(answer, "error"), "data"), "wait_ms"));
	json_decref(answer);
	answer = rig_call(visitor, "reset", "{\"axis\":\"bom\"}", 2);
	assert_int_equal(rig_code(answer), -32602);
	json_decref(answer);
	assert_true(rig_no_order(&rig));
	finish(visitor);
}

static void R11_a_notification_resets_nothing(void **state)
{
	(void)state;
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"reset\"}");
	rig_sync(keeper);
	assert_true(rig_no_order(&rig));
	finish(keeper);
}

static void R11_who_has_used_up_the_resets_is_told_how_long_to_wait(void **state)
{
	(void)state;
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	struct td_note machine = rig_machine_note(true, 0);

	rig_send(visitor,
		 "{\"jsonrpc\":\"2.0\",\"method\":\"reset\",\"params\":{\"axis\":\"boom\"},\"id\":1}");
	struct td_order order = rig_order(rig.orders);

	machine.as.machine.resets_free_ns = td_clock_now() + TD_S(600);
	rig_note(&rig, &machine);
	rig_answer(&rig, order.tag, TD_CAUSE_RESETS_SPENT);
	json_t *answer = rig_receive(visitor);
	const json_t *data = json_object_get(json_object_get(answer, "error"), "data");
	json_int_t wait_ms = json_integer_value(json_object_get(data, "wait_ms"));

	assert_string_equal(rig_outcome(answer), "resets-spent");
	assert_true(wait_ms > 590000 && wait_ms <= 600000);
	json_decref(answer);
	finish(visitor);
}

static void R11_a_wait_that_is_over_meanwhile_is_short_and_not_nothing(void **state)
{
	(void)state;
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_send(visitor,
		 "{\"jsonrpc\":\"2.0\",\"method\":\"reset\",\"params\":{\"axis\":\"boom\"},\"id\":1}");
	rig_answer(&rig, rig_order(rig.orders).tag, TD_CAUSE_RESETS_SPENT);
	json_t *answer = rig_receive(visitor);

	expect_json(json_object_get(json_object_get(json_object_get(answer, "error"), "data"), "wait_ms"),
		    "1");
	json_decref(answer);
	finish(visitor);
}

static void R11_status_shows_locked_ways_and_who_may_reset_a_trip(void **state)
{
	static const struct {
		enum td_cause trip;
		uint8_t locked;
		const char *shown;
		const char *by;
	} rows[] = {
		{TD_CAUSE_TRAVEL_LIMIT, 0, "[false,false]", "\"visitor\""},
		{TD_CAUSE_TRAVEL_LIMIT, 1, "[true,false]", "\"visitor\""},
		{TD_CAUSE_LEAVE_LIMIT, 2, "[false,true]", "\"keeper\""},
		{TD_CAUSE_INTERNAL, 3, "[true,true]", "\"keeper\""},
	};
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_note boom = rig_axis_note(RIG_BOOM, TD_AXIS_TRIPPED);

		boom.as.axis.trip = (uint8_t)rows[i].trip;
		boom.as.axis.locked = rows[i].locked;
		rig_note(&rig, &boom);
		json_t *status = result_of(visitor, "status");
		const json_t *axis = json_array_get(json_object_get(status, "axes"), RIG_BOOM);

		expect_json(json_object_get(axis, "locked"), rows[i].shown);
		expect_json(json_object_get(json_object_get(axis, "trip"), "reset_by"), rows[i].by);
		json_decref(status);
	}
	finish(visitor);
}

static void R11_status_shows_from_when_on_visitors_may_reset(void **state)
{
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	struct td_note machine = rig_machine_note(true, 0);

	(void)state;
	machine.as.machine.resets_free_ns = 12345678901234;
	rig_note(&rig, &machine);
	json_t *status = result_of(visitor, "status");

	expect_json(json_object_get(status, "visitor_reset_ns"), "12345678901234");
	json_decref(status);
	machine.as.machine.resets_free_ns = TD_NEVER;
	rig_note(&rig, &machine);
	status = result_of(visitor, "status");
	expect_json(json_object_get(status, "visitor_reset_ns"), "null");
	json_decref(status);
	finish(visitor);
}

static void R11_describe_says_how_often_visitors_may_reset(void **state)
{
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *description = result_of(visitor, "describe");

	(void)state;
	expect_json(json_object_get(json_object_get(description, "limits"), "visitor_resets_per_hour"), "6");
	json_decref(description);
	finish(visitor);
}

/* Session 1 made it, session 2 only hears of it: both are told the role, and nobody that he "held" anything. */
static void R11_news_say_who_reset(void **state)
{
	struct rig_client *readers[2];
	struct td_note news = rig_news_note(TD_CAUSE_RESET_DONE, RIG_BOOM, TD_NO_WAY, 1, 0);

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		readers[i] = rig_connect(&rig, i == 0 ? TD_ROLE_VISITOR : TD_ROLE_KEEPER);
		json_decref(result_of(readers[i], "follow"));
	}
	news.as.news.role = TD_ROLE_VISITOR;
	rig_note(&rig, &news);
	for (size_t i = 0; i < 2; i++) {
		json_t *line = rig_receive(readers[i]);
		const json_t *params = json_object_get(line, "params");

		expect_json(json_object_get(params, "by"), "\"visitor\"");
		assert_null(json_object_get(params, "holder"));
		assert_null(json_object_get(params, "hold"));
		json_decref(line);
	}
	rig_close(readers[1]);
	finish(readers[0]);
}

#define TEST(name) cmocka_unit_test_setup(name, set_up)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(R11_a_visitors_reset_is_for_the_core_to_judge),
		TEST(R11_a_notification_resets_nothing),
		TEST(R11_who_has_used_up_the_resets_is_told_how_long_to_wait),
		TEST(R11_a_wait_that_is_over_meanwhile_is_short_and_not_nothing),
		TEST(R11_status_shows_locked_ways_and_who_may_reset_a_trip),
		TEST(R11_status_shows_from_when_on_visitors_may_reset),
		TEST(R11_describe_says_how_often_visitors_may_reset),
		TEST(R11_news_say_who_reset),
	};

	return cmocka_run_group_tests_name("front_reset", tests, NULL, NULL);
}
