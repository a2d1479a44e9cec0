/* SPDX-License-Identifier: MIT */
/* What each method does: which order reaches the mover over which pair, and what the client is told. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "tests/support/front_rig.h"
#include "wire/method.h"

static td_ns now_ns(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

static void test_status_before_the_mover_spoke_is_not_ready(void **state)
{
	struct rig rig;

	(void)state;
	rig_prepare(&rig);
	rig_start(&rig, false);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_call(visitor, "status", "", 1);

	assert_int_equal(rig_code(answer), -32002);
	json_decref(answer);
	answer = rig_call(visitor, "follow", "", 2);
	assert_int_equal(rig_code(answer), -32002);
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void expect_json(const json_t *got, const char *expected)
{
	json_t *wanted = json_loads(expected, JSON_DECODE_ANY, NULL);
	bool same = json_equal(got, wanted);

	assert_non_null(wanted);
	if (!same)
		fail_msg("got %s, expected %s", json_dumps(got, JSON_ENCODE_ANY), expected);
	json_decref(wanted);
}

static json_t *status_of(struct rig_client *client)
{
	json_t *answer = rig_call(client, "status", "", 1);
	json_t *result = json_incref(json_object_get(answer, "result"));

	assert_non_null(result);
	json_decref(answer);
	return result;
}

static void test_status_shows_the_machine_as_the_notes_drew_it(void **state)
{
	struct rig rig;
	struct td_note machine = rig_machine_note(true, TD_LATCH_INPUT);
	struct td_note boom = rig_axis_note(RIG_BOOM, TD_AXIS_TRIPPED);

	(void)state;
	rig_start_ready(&rig);
	machine.as.machine.outputs = 1U << 2;
	machine.as.machine.active = 2;
	machine.as.machine.levels = 1;
	machine.as.machine.chatters = 2;
	machine.as.machine.stop_latency_us = 77;
	machine.as.machine.config_refused = 1;
	rig_note(&rig, &machine);
	boom.as.axis.trip = TD_CAUSE_BOTH_ENDS;
	boom.as.axis.at_end[1] = 1;
	boom.as.axis.position_ppm = 250000;
	boom.as.axis.slower = 2;
	boom.as.axis.slower_ppm[0] = TD_NO_TREND;
	boom.as.axis.slower_ppm[1] = 231000;
	rig_note(&rig, &boom);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *status = status_of(visitor);

	expect_json(json_object_get(status, "armed"), "true");
	expect_json(json_object_get(status, "outputs"), "[{\"axis\":\"drive\",\"way\":\"backward\"}]");
	expect_json(json_object_get(status, "switches"),
		    "[{\"name\":\"boom_bottom\",\"active\":false,\"level\":\"high\",\"chatters\":false},"
		    "{\"name\":\"boom_top\",\"active\":true,\"level\":\"low\",\"chatters\":true}]");
	expect_json(json_object_get(status, "latch"),
		    "[{\"cause\":\"latch-input\",\"rule\":\"R10\",\"sentence\":\"the emergency-stop input is "
		    "active\",\"remedy\":\"release the wired emergency stop, then reset as keeper\"}]");
	expect_json(json_object_get(status, "stop_latency_us"), "77");
	expect_json(json_object_get(status, "config_refused"), "true");
	const json_t *axis = json_array_get(json_object_get(status, "axes"), 0);
	expect_json(json_object_get(axis, "state"), "\"tripped\"");
	expect_json(json_object_get(axis, "at_end"), "[false,true]");
	expect_json(json_object_get(axis, "position_ppm"), "250000");
	expect_json(json_object_get(axis, "slower"), "[false,true]");
	expect_json(json_object_get(axis, "slower_ppm"), "[null,231000]");
	expect_json(json_object_get(json_object_get(axis, "trip"), "cause"), "\"both-ends\"");
	expect_json(json_object_get(axis, "holder"), "null");
	axis = json_array_get(json_object_get(status, "axes"), 1);
	expect_json(json_object_get(axis, "position_ppm"), "null");
	expect_json(json_object_get(axis, "trip"), "null");
	expect_json(json_object_get(axis, "way"), "null");
	json_decref(status);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* R7: what is left of the lease is counted from the note, so status never shows more than there is. */
static void test_R7_status_counts_the_lease_down_and_tells_whose_it_is(void **state)
{
	struct rig rig;
	struct td_note run = rig_axis_note(RIG_BOOM, TD_AXIS_RUN);

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *first = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(first);
	struct rig_client *second = rig_connect(&rig, TD_ROLE_VISITOR);

	run.at_ns = now_ns() - TD_MS(100);
	run.as.axis.session = 1;
	run.as.axis.hold = 9;
	run.as.axis.way = RIG_RAISE;
	run.as.axis.lease_left_ns = TD_S(1000);
	run.as.axis.wait_left_ns = TD_MS(50);
	rig_note(&rig, &run);
	json_t *mine = status_of(first);
	json_t *others = status_of(second);
	const json_t *axis = json_array_get(json_object_get(mine, "axes"), 0);
	json_int_t left_ms = json_integer_value(json_object_get(axis, "lease_left_ms"));

	assert_true(left_ms <= 999900 && left_ms > 990000);
	expect_json(json_object_get(axis, "wait_left_ms"), "0");
	expect_json(json_object_get(axis, "holder"), "\"you\"");
	expect_json(json_object_get(axis, "hold"), "9");
	axis = json_array_get(json_object_get(others, "axes"), 0);
	expect_json(json_object_get(axis, "holder"), "\"other\"");
	expect_json(json_object_get(axis, "hold"), "null");
	json_decref(mine);
	json_decref(others);
	rig_close(first);
	rig_close(second);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_describe_tells_names_methods_lease_and_cautions(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	json_t *answer = rig_call(keeper, "describe", "{}", 1);
	const json_t *result = json_object_get(answer, "result");

	expect_json(json_object_get(result, "role"), "\"keeper\"");
	expect_json(json_object_get(result, "lease"), "{\"default_ms\":300,\"min_ms\":50,\"max_ms\":1500}");
	expect_json(json_array_get(json_object_get(result, "axes"), 0),
		    "{\"name\":\"boom\",\"ways\":[{\"name\":\"lower\",\"end_switch\":\"boom_bottom\"},"
		    "{\"name\":\"raise\",\"end_switch\":\"boom_top\"}],\"loud\":false}");
	expect_json(json_array_get(
			    json_object_get(json_array_get(json_object_get(result, "axes"), 1), "ways"), 0),
		    "{\"name\":\"backward\",\"end_switch\":null}");
	expect_json(json_object_get(result, "switches"),
		    "[{\"name\":\"boom_bottom\",\"contact\":\"normally-closed\"},"
		    "{\"name\":\"boom_top\",\"contact\":\"normally-open\"}]");
	assert_int_equal(json_array_size(json_object_get(result, "methods")), TD_METHODS);
	assert_true(json_array_size(json_object_get(result, "cautions")) >= 5);
	json_decref(answer);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- orders --------------------------------------------------------------------------------------------- */

static const char ask_boom[] = "{\"jsonrpc\":\"2.0\",\"id\":11,\"method\":\"request\",\"params\":"
			       "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}}";
static const char ask_drive[] =
	"{\"jsonrpc\":\"2.0\",\"id\":12,\"method\":\"request\",\"params\":"
	"{\"axis\":\"drive\",\"way\":\"backward\",\"hold\":4,\"seq\":2,\"token\":\"@\",\"lease_ms\":1500}}";

static void test_a_request_arrives_whole_with_the_time_it_was_heard(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	td_ns before_ns = now_ns();

	rig_send(visitor, ask_boom);
	struct td_order order = rig_order(rig.orders);

	assert_int_equal(order.kind, TD_EVENT_REQUEST);
	assert_int_equal(order.axis, RIG_BOOM);
	assert_int_equal(order.way, RIG_RAISE);
	assert_int_equal(order.hold, 3);
	assert_int_equal(order.seq, 0);
	assert_int_equal(order.session, 1);
	assert_int_equal(order.role, TD_ROLE_VISITOR);
	assert_true(order.lease_ns == TD_MS(300));
	assert_true(order.heard_ns >= before_ns && order.heard_ns <= now_ns());
	assert_true(order.tag != 0);
	rig_send(visitor, ask_drive);
	order = rig_order(rig.orders);
	assert_int_equal(order.axis, RIG_DRIVE);
	assert_int_equal(order.way, 0);
	assert_int_equal(order.seq, 2);
	assert_true(order.lease_ns == TD_MS(1500));
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_answers_find_their_calls_in_whatever_order_they_come(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *first = rig_connect(&rig, TD_ROLE_VISITOR);
	struct rig_client *second = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(first, ask_boom);
	struct td_order boom = rig_order(rig.orders);
	rig_send(first, ask_drive);
	struct td_order drive = rig_order(rig.orders);
	rig_send(second, ask_boom);
	struct td_order others = rig_order(rig.orders);

	assert_int_not_equal(others.session, boom.session);
	assert_int_equal(others.role, TD_ROLE_KEEPER);
	rig_answer(&rig, others.tag, TD_CAUSE_HELD_BY_OTHER);
	rig_answer(&rig, drive.tag, TD_CAUSE_QUEUED);
	rig_answer(&rig, 123456, TD_CAUSE_STARTED); /* nobody's */
	rig_answer(&rig, boom.tag, TD_CAUSE_STARTED);
	json_t *answer = rig_receive(first);
	assert_int_equal(rig_id(answer), 12);
	assert_string_equal(rig_outcome(answer), "queued");
	json_decref(answer);
	answer = rig_receive(first);
	assert_int_equal(rig_id(answer), 11);
	assert_string_equal(rig_outcome(answer), "started");
	json_decref(answer);
	answer = rig_receive(second);
	assert_int_equal(rig_code(answer), -32001);
	json_t *data = json_object_get(json_object_get(answer, "error"), "data");
	assert_int_equal(json_string_length(json_object_get(data, "token")), TD_TOKEN_CHARS);
	json_object_del(data, "token"); /* it is another one each time */
	expect_json(
		data,
		"{\"cause\":\"held-by-other\",\"rule\":\"R7\",\"sentence\":\"somebody else holds this axis\","
		"\"remedy\":\"wait until they let go\"}");
	json_decref(answer);
	rig_close(first);
	rig_close(second);
	assert_int_equal(rig_end(&rig), 0);
}

static const struct {
	const char *line;
	enum td_event_kind kind;
	bool urgent;
	uint8_t axis;
	uint32_t hold;
} orders[] = {
	{"\"method\":\"stop\"", TD_EVENT_STOP, true, TD_ALL_AXES, 0},
	{"\"method\":\"stop\",\"params\":{\"axis\":\"drive\"}", TD_EVENT_STOP, true, RIG_DRIVE, 0},
	{"\"method\":\"latch\"", TD_EVENT_LATCH, true, TD_ALL_AXES, 0},
	{"\"method\":\"release\",\"params\":{\"axis\":\"drive\",\"hold\":8}", TD_EVENT_RELEASE, true,
	 RIG_DRIVE, 8},
	{"\"method\":\"reset\"", TD_EVENT_RESET, false, TD_ALL_AXES, 0},
	{"\"method\":\"reset\",\"params\":{\"axis\":\"drive\"}", TD_EVENT_RESET, false, RIG_DRIVE, 0},
};

static void test_R7_what_ends_motion_goes_by_the_urgent_pair_and_the_rest_does_not(void **state)
{
	struct rig rig;
	char line[200];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	for (size_t i = 0; i < sizeof(orders) / sizeof(orders[0]); i++) {
		(void)snprintf(line, sizeof(line), "{\"jsonrpc\":\"2.0\",%s,\"id\":%zu}", orders[i].line,
			       i + 1);
		rig_send(keeper, line);
		struct td_order order = rig_order(orders[i].urgent ? rig.urgent : rig.orders);

		assert_int_equal(order.kind, orders[i].kind);
		assert_int_equal(order.axis, orders[i].axis);
		assert_int_equal(order.hold, orders[i].hold);
		assert_int_equal(order.role, TD_ROLE_KEEPER);
		assert_true(order.tag != 0 && order.heard_ns > 0);
	}
	assert_true(rig_no_order(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_names_that_name_nothing_are_told_with_the_nearest(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer =
		rig_call(visitor, "request",
			 "{\"axis\":\"driv\",\"way\":\"up\",\"hold\":1,\"seq\":0,\"token\":\"@\"}", 1);

	assert_int_equal(rig_code(answer), -32602);
	assert_non_null(strstr(rig_sentence(answer), "no axis \"driv\"; did you mean \"drive\""));
	json_decref(answer);
	answer = rig_call(visitor, "request",
			  "{\"axis\":\"boom\",\"way\":\"forward\",\"hold\":1,\"seq\":0,\"token\":\"@\"}", 2);
	assert_int_equal(rig_code(answer), -32602);
	assert_non_null(strstr(rig_sentence(answer), "\"lower\" and \"raise\""));
	json_decref(answer);
	answer = rig_call(visitor, "statsu", "", 3);
	assert_int_equal(rig_code(answer), -32601);
	assert_non_null(strstr(rig_sentence(answer), "did you mean \"status\""));
	json_decref(answer);
	assert_true(rig_no_order(&rig));
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* R7: nobody would be told of a refusal, so only what ends motion is done without an id. */
static void test_R7_notifications_can_end_motion_and_nothing_else(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"request\",\"params\":"
			 "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}}");
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"reset\"}");
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"follow\"}");
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"nonsense\"}");
	json_t *answer = rig_call(keeper, "describe", "", 5);
	assert_int_equal(rig_id(answer), 5);
	json_decref(answer);
	assert_true(rig_no_order(&rig));
	rig_send(keeper,
		 "{\"jsonrpc\":\"2.0\",\"method\":\"release\",\"params\":{\"axis\":\"boom\",\"hold\":3}}");
	struct td_order order = rig_order(rig.urgent);
	assert_int_equal(order.kind, TD_EVENT_RELEASE);
	assert_true(order.tag == 0);
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}");
	order = rig_order(rig.urgent);
	assert_int_equal(order.kind, TD_EVENT_STOP);
	assert_true(order.tag == 0);
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"latch\"}");
	order = rig_order(rig.urgent);
	assert_int_equal(order.kind, TD_EVENT_LATCH);
	assert_true(order.tag == 0);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

/* R7: who misspells a stop wanted one. */
static void test_R7_a_stop_with_wrong_parameters_stops_everything_and_says_so(void **state)
{
	static const char *const wrong[] = {"{\"axis\":\"bom\"}", "{\"axes\":\"boom\"}", "{\"axis\":7}",
					    "[1]"};
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	for (int i = 0; i < 4; i++) {
		json_t *answer = rig_call(visitor, "stop", wrong[i], 1);
		struct td_order order = rig_order(rig.urgent);

		assert_int_equal(rig_code(answer), -32602);
		assert_int_equal(order.kind, TD_EVENT_STOP);
		assert_int_equal(order.axis, TD_ALL_AXES);
		json_decref(answer);
	}
	json_t *answer = rig_call(visitor, "latch", "{\"axis\":\"boom\"}", 2);
	struct td_order order = rig_order(rig.urgent);

	assert_int_equal(rig_code(answer), -32602);
	assert_int_equal(order.kind, TD_EVENT_STOP);
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_batch_is_answered_in_one_line_when_its_last_answer_is_known(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(
		keeper,
		"[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"request\",\"params\":"
		"{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}},"
		"{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"reset\",\"params\":{\"axis\":\"drive\"}},"
		"{\"jsonrpc\":\"2.0\",\"id\":3,\"method\":\"nonsense\"},"
		"{\"jsonrpc\":\"2.0\",\"method\":\"release\",\"params\":{\"axis\":\"drive\",\"hold\":1}},7]");
	struct td_order request = rig_order(rig.orders);
	struct td_order reset = rig_order(rig.orders);
	json_t *other = rig_call(keeper, "describe", "", 4); /* not held up by it */

	json_decref(other);
	rig_answer(&rig, reset.tag, TD_CAUSE_NOTHING_TO_RESET);
	rig_answer(&rig, request.tag, TD_CAUSE_STARTED);
	json_t *answer = rig_receive(keeper);
	assert_true(json_is_array(answer));
	assert_int_equal(json_array_size(answer), 4);
	for (size_t i = 0; i < 4; i++) {
		const json_t *one = json_array_get(answer, i);
		static const char *const expected[] = {"Invalid Request", "started", "nothing-to-reset",
						       "Method not found"};

		assert_string_equal(rig_outcome(one), expected[rig_id(one)]);
	}
	json_decref(answer);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_call_the_mover_never_answers_is_told_so_within_two_seconds(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	td_ns before_ns = now_ns();

	rig_send(visitor, ask_boom);
	json_t *answer = rig_receive(visitor);
	td_ns waited_ns = now_ns() - before_ns;

	assert_int_equal(rig_code(answer), -32603);
	assert_int_equal(rig_id(answer), 11);
	assert_true(waited_ns >= TD_S(1) && waited_ns < TD_S(2));
	json_decref(answer);
	rig_answer(&rig, rig_order(rig.orders).tag, TD_CAUSE_STARTED); /* too late: nobody minds */
	rig_sync(visitor);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_status_before_the_mover_spoke_is_not_ready),
		cmocka_unit_test(test_status_shows_the_machine_as_the_notes_drew_it),
		cmocka_unit_test(test_R7_status_counts_the_lease_down_and_tells_whose_it_is),
		cmocka_unit_test(test_describe_tells_names_methods_lease_and_cautions),
		cmocka_unit_test(test_a_request_arrives_whole_with_the_time_it_was_heard),
		cmocka_unit_test(test_answers_find_their_calls_in_whatever_order_they_come),
		cmocka_unit_test(test_R7_what_ends_motion_goes_by_the_urgent_pair_and_the_rest_does_not),
		cmocka_unit_test(test_names_that_name_nothing_are_told_with_the_nearest),
		cmocka_unit_test(test_R7_notifications_can_end_motion_and_nothing_else),
		cmocka_unit_test(test_R7_a_stop_with_wrong_parameters_stops_everything_and_says_so),
		cmocka_unit_test(test_a_batch_is_answered_in_one_line_when_its_last_answer_is_known),
		cmocka_unit_test(test_a_call_the_mover_never_answers_is_told_so_within_two_seconds),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
