/* SPDX-License-Identifier: MIT */
/* Turns at the socket: who may ask for motion, what becomes of holds when a turn ends, what everybody is told. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "tests/support/front_rig.h"

static struct rig rig;

static const char request[] = "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":1,\"seq\":0,\"token\":\"@\"}";

static void start_with(struct td_turn_rules rules)
{
	rig_prepare(&rig);
	rig.config.turns = rules;
	rig_start(&rig, false);
	struct td_note machine = rig_machine_note(true, 0);
	struct td_note boom = rig_axis_note(RIG_BOOM, TD_AXIS_STILL);
	struct td_note drive = rig_axis_note(RIG_DRIVE, TD_AXIS_STILL);

	rig_note(&rig, &machine);
	rig_note(&rig, &boom);
	rig_note(&rig, &drive);
}

static void start(td_ns length_ns, td_ns pause_ns)
{
	start_with((struct td_turn_rules){.length_ns = length_ns, .pause_ns = pause_ns});
}

/* Sessions are numbered in the order of these calls. */
static struct rig_client *connect_as(enum td_role role)
{
	struct rig_client *client = rig_connect(&rig, role);

	rig_sync(client);
	return client;
}

/* The outcome of one call, which the front answers by itself. */
static void expect(struct rig_client *client, const char *method, const char *params, const char *outcome)
{
	json_t *answer = rig_call(client, method, params, 1);

	assert_string_equal(rig_outcome(answer), outcome);
	json_decref(answer);
}

static json_t *turn_of(struct rig_client *client)
{
	json_t *answer = rig_call(client, "status", "", 1);
	json_t *turn = json_incref(json_object_get(json_object_get(answer, "result"), "turn"));

	assert_non_null(turn);
	json_decref(answer);
	return turn;
}

static void expect_turn(struct rig_client *client, bool yours, json_int_t place)
{
	json_t *turn = turn_of(client);

	assert_int_equal(json_is_true(json_object_get(turn, "yours")), yours);
	if (place < 0)
		assert_true(json_is_null(json_object_get(turn, "place")));
	else
		assert_int_equal(json_integer_value(json_object_get(turn, "place")), place);
	json_decref(turn);
}

/* A request goes to the mover; the mover takes it. */
static void moves(struct rig_client *client, const char *params, uint32_t session)
{
	char line[256];

	(void)snprintf(line, sizeof(line),
		       "{\"jsonrpc\":\"2.0\",\"method\":\"request\",\"params\":%s,\"id\":7}", params);
	rig_send(client, line);
	struct td_order order = rig_order(rig.orders);

	assert_int_equal(order.kind, TD_EVENT_REQUEST);
	assert_int_equal(order.session, session);
	rig_answer(&rig, order.tag, TD_CAUSE_STARTED);
	json_t *answer = rig_receive(client);

	assert_string_equal(rig_outcome(answer), "started");
	json_decref(answer);
}

static void expect_end_of_holds(enum td_event_kind why, uint32_t session)
{
	struct td_order order = rig_order(rig.urgent);

	assert_int_equal(order.kind, why);
	assert_int_equal(order.session, session);
}

static void wait_for_turn(struct rig_client *client, bool yours)
{
	for (;;) {
		json_t *line = rig_receive(client);
		const char *method = json_string_value(json_object_get(line, "method"));
		json_t *params = json_object_get(line, "params");
		bool is = method && strcmp(method, "turn") == 0 &&
			  json_is_true(json_object_get(params, "yours")) == yours;

		json_decref(line);
		if (is)
			return;
	}
}

static void without_turns_nobody_needs_one(void **state)
{
	(void)state;
	start(0, 0);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);

	expect(visitor, "join", "", "no-turn-needed");
	moves(visitor, request, 1);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void a_visitor_moves_nothing_without_the_turn(void **state)
{
	(void)state;
	start(TD_S(60), 0);
	struct rig_client *first = connect_as(TD_ROLE_VISITOR);
	struct rig_client *second = connect_as(TD_ROLE_VISITOR);
	struct rig_client *keeper = connect_as(TD_ROLE_KEEPER);

	expect(first, "request", request, "not-your-turn");
	expect(first, "join", "", "in-line");
	expect(second, "join", "", "in-line");
	expect(second, "join", "", "in-line");
	expect_turn(first, true, 0);
	expect_turn(second, false, 1);
	expect(second, "request", request, "not-your-turn");
	assert_true(rig_no_order(&rig));
	moves(first, request, 1);
	expect(keeper, "join", "", "no-turn-needed");
	moves(keeper, "{\"axis\":\"drive\",\"way\":\"forward\",\"hold\":1,\"seq\":0,\"token\":\"@\"}", 3);
	rig_close(keeper);
	rig_close(second);
	rig_close(first);
	assert_int_equal(rig_end(&rig), 0);
}

/* Whoever has no turn may still stop everything. */
static void a_stop_needs_no_turn(void **state)
{
	(void)state;
	start(TD_S(60), 0);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);

	rig_send(visitor, "{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}");
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_STOP);
	rig_send(visitor, "{\"jsonrpc\":\"2.0\",\"method\":\"latch\"}");
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_LATCH);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void who_goes_away_loses_the_turn_at_once(void **state)
{
	(void)state;
	start(TD_S(60), 0);
	struct rig_client *first = connect_as(TD_ROLE_VISITOR);
	struct rig_client *second = connect_as(TD_ROLE_VISITOR);

	expect(first, "join", "", "in-line");
	expect(second, "join", "", "in-line");
	moves(first, request, 1);
	json_decref(rig_call(second, "follow", "", 2));
	rig_close(first);
	expect_end_of_holds(TD_EVENT_GONE, 1);
	wait_for_turn(second, true);
	assert_true(rig_no_order(&rig));
	moves(second, request, 2);
	rig_close(second);
	assert_int_equal(rig_end(&rig), 0);
}

static void to_leave_ends_the_holds_too(void **state)
{
	(void)state;
	start(TD_S(60), 0);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);

	expect(visitor, "leave", "", "not-in-line");
	expect(visitor, "join", "", "in-line");
	moves(visitor, request, 1);
	expect(visitor, "leave", "", "out-of-line");
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect(visitor, "request",
	       "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":2,\"seq\":0,\"token\":\"@\"}", "not-your-turn");
	expect(visitor, "join", "", "in-line");
	/* By a notification as well: it can only end motion. */
	rig_send(visitor, "{\"jsonrpc\":\"2.0\",\"method\":\"leave\"}");
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect_turn(visitor, false, -1);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void a_turn_that_is_over_takes_its_holds_with_it(void **state)
{
	(void)state;
	start(TD_MS(300), TD_MS(1));
	struct rig_client *first = connect_as(TD_ROLE_VISITOR);
	struct rig_client *second = connect_as(TD_ROLE_VISITOR);

	expect(first, "join", "", "in-line");
	moves(first, request, 1);
	json_decref(rig_call(second, "follow", "", 2));
	expect(second, "join", "", "in-line");
	wait_for_turn(second, true);
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect(first, "request", "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":1,\"seq\":1,\"token\":\"@\"}",
	       "not-your-turn");
	expect_turn(first, false, -1);
	rig_close(second);
	rig_close(first);
	assert_int_equal(rig_end(&rig), 0);
}

static void the_keeper_ends_closes_and_opens(void **state)
{
	(void)state;
	start(TD_S(60), 0);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);
	struct rig_client *keeper = connect_as(TD_ROLE_KEEPER);

	expect(visitor, "close", "", "not-allowed");
	expect(visitor, "next", "", "not-allowed");
	expect(keeper, "next", "", "no-turn");
	expect(visitor, "join", "", "in-line");
	expect(keeper, "next", "", "turn-ended");
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect(visitor, "join", "", "in-line");
	expect(keeper, "close", "", "closed");
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect(visitor, "join", "", "in-line");
	expect(visitor, "request", request, "visitors-out");
	expect(keeper, "open", "", "open");
	expect_turn(visitor, true, 0);
	moves(visitor, request, 1);
	rig_close(keeper);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void closed_without_turns_every_hold_of_visitors_ends(void **state)
{
	(void)state;
	start(0, 0);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);
	struct rig_client *keeper = connect_as(TD_ROLE_KEEPER);

	moves(visitor, request, 1);
	expect(keeper, "close", "", "closed");
	expect_end_of_holds(TD_EVENT_TURN_OVER, 1);
	expect(visitor, "request",
	       "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":2,\"seq\":0,\"token\":\"@\"}", "visitors-out");
	moves(keeper, request, 2);
	expect(keeper, "open", "", "open");
	moves(visitor, "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}", 1);
	rig_close(keeper);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void the_line_says_how_long_it_is(void **state)
{
	(void)state;
	start(TD_S(60), TD_S(5));
	struct rig_client *first = connect_as(TD_ROLE_VISITOR);
	struct rig_client *second = connect_as(TD_ROLE_VISITOR);

	expect(first, "join", "", "in-line");
	json_t *turn = turn_of(second);

	assert_true(json_is_true(json_object_get(turn, "needed")));
	assert_int_equal(json_integer_value(json_object_get(turn, "line")), 1);
	assert_in_range(json_integer_value(json_object_get(turn, "wait_ms")), 5000, 65000);
	assert_in_range(json_integer_value(json_object_get(turn, "left_ms")), 1, 60000);
	json_decref(turn);
	rig_close(second);
	rig_close(first);
	assert_int_equal(rig_end(&rig), 0);
}

static void a_user_has_no_more_places_than_the_configuration_gives(void **state)
{
	(void)state;
	start_with((struct td_turn_rules){.length_ns = TD_S(60), .per_user = 1});
	struct rig_client *first = connect_as(TD_ROLE_VISITOR);
	struct rig_client *second = connect_as(TD_ROLE_VISITOR);

	expect(first, "join", "", "in-line");
	expect(second, "join", "", "line-full");
	rig_close(second);
	rig_close(first);
	assert_int_equal(rig_end(&rig), 0);
}

/* It is quiet all day. */
static void in_quiet_hours_nothing_loud_moves_whoever_asks(void **state)
{
	(void)state;
	rig_prepare(&rig);
	rig.config.quiet = (struct td_quiet){.count = 1, .span = {{0x7f, 0, 24 * 60}}};
	rig.config.axis[RIG_BOOM].loud = true;
	rig_start(&rig, false);
	struct td_order stop = rig_order(rig.urgent);

	/* The quiet hours have just begun, as far as the front knows. */
	assert_int_equal(stop.kind, TD_EVENT_STOP);
	assert_int_equal(stop.axis, RIG_BOOM);
	struct td_note machine = rig_machine_note(true, 0);
	struct td_note boom = rig_axis_note(RIG_BOOM, TD_AXIS_STILL);
	struct td_note drive = rig_axis_note(RIG_DRIVE, TD_AXIS_STILL);

	rig_note(&rig, &machine);
	rig_note(&rig, &boom);
	rig_note(&rig, &drive);
	struct rig_client *visitor = connect_as(TD_ROLE_VISITOR);
	struct rig_client *keeper = connect_as(TD_ROLE_KEEPER);

	expect(visitor, "request", request, "quiet");
	expect(keeper, "request", request, "quiet");
	json_t *answer = rig_call(keeper, "status", "", 1);

	assert_true(json_is_true(json_object_get(json_object_get(answer, "result"), "quiet")));
	json_decref(answer);
	assert_true(rig_no_order(&rig));
	moves(visitor, "{\"axis\":\"drive\",\"way\":\"forward\",\"hold\":1,\"seq\":0,\"token\":\"@\"}", 1);
	rig_close(keeper);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(without_turns_nobody_needs_one),
		cmocka_unit_test(a_visitor_moves_nothing_without_the_turn),
		cmocka_unit_test(a_stop_needs_no_turn),
		cmocka_unit_test(who_goes_away_loses_the_turn_at_once),
		cmocka_unit_test(to_leave_ends_the_holds_too),
		cmocka_unit_test(a_turn_that_is_over_takes_its_holds_with_it),
		cmocka_unit_test(the_keeper_ends_closes_and_opens),
		cmocka_unit_test(closed_without_turns_every_hold_of_visitors_ends),
		cmocka_unit_test(the_line_says_how_long_it_is),
		cmocka_unit_test(in_quiet_hours_nothing_loud_moves_whoever_asks),
		cmocka_unit_test(a_user_has_no_more_places_than_the_configuration_gives),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
