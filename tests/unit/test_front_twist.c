/* SPDX-License-Identifier: MIT */
/* R18 on the socket: the turns in view, and the word of who has untwisted the cable. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "daemon/front/mirror.h"
#include "tests/support/front_rig.h"

/* The drive goes ahead by `forward`; the boom plays the steering. */
static void start_with_cable(struct rig *rig, enum td_twist_source source)
{
	struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
				  rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	rig_prepare(rig);
	rig->config.rules.cable = (struct td_cable_rules){
		.twist = {.source = source,
			  .limit_uturn = 1500000,
			  .rate_ppm_s = {[1] = {[TD_TWIST_LEFT] = 1}, [0] = {[TD_TWIST_LEFT] = -1}}},
		.drive = RIG_DRIVE,
		.steering = RIG_BOOM,
		.left = RIG_LOWER,
	};
	notes[0].as.machine.twist_counted = source != TD_TWIST_UNLIMITED;
	notes[0].as.machine.twist_blocked = 1U << 1;
	notes[0].as.machine.twist_net_uturn = -1111111;
	notes[0].as.machine.twist_doubt_uturn = 388889;
	rig_start(rig, false);
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(rig, &notes[i]);
}

static void expect_member(struct rig_client *client, const char *method, const char *member,
			  const char *expected)
{
	json_t *answer = rig_call(client, method, "", 1);
	const json_t *got = json_object_get(json_object_get(answer, "result"), member);
	json_t *wanted = json_loads(expected, JSON_DECODE_ANY, NULL);

	assert_non_null(wanted);
	if (!json_equal(got, wanted)) {
		char *text = json_dumps(got, JSON_ENCODE_ANY);

		fail_msg("%s: %s is %s", method, member, text ? text : "missing");
	}
	json_decref(wanted);
	json_decref(answer);
}

static void test_R18_status_and_describe_show_the_cable_in_degrees(void **state)
{
	static const struct {
		enum td_twist_source source;
		const char *status, *describe;
	} rows[] = {
		{TD_TWIST_ESTIMATE,
		 "{\"net_degrees\":-400,\"doubt_degrees\":140,\"limit_degrees\":540,\"blocked\":[\"forward\"]"
		 "}",
		 "{\"source\":\"estimate\",\"limit_degrees\":540,\"ahead\":{\"axis\":\"drive\",\"way\":"
		 "\"forward\"},"
		 "\"left\":{\"axis\":\"boom\",\"way\":\"lower\"}}"},
		{TD_TWIST_SENSOR,
		 "{\"net_degrees\":-400,\"doubt_degrees\":140,\"limit_degrees\":540,\"blocked\":[\"forward\"]"
		 "}",
		 "{\"source\":\"sensor\",\"limit_degrees\":540,\"ahead\":{\"axis\":\"drive\",\"way\":"
		 "\"forward\"},"
		 "\"left\":{\"axis\":\"boom\",\"way\":\"lower\"}}"},
		{TD_TWIST_UNLIMITED, "null", "null"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct rig rig;

		start_with_cable(&rig, rows[i].source);
		struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

		expect_member(visitor, "status", "twist", rows[i].status);
		expect_member(visitor, "describe", "twist", rows[i].describe);
		rig_close(visitor);
		assert_int_equal(rig_end(&rig), 0);
	}
}

static void test_R18_degrees_are_rounded_to_the_nearest(void **state)
{
	static const struct {
		int64_t uturn, degrees;
	} rows[] = {{0, 0},
		    {1388, 0},
		    {1389, 1},
		    {-1388, 0},
		    {-1389, -1},
		    {500000, 180},
		    {4000000000, 1440000},
		    {-4000000000, -1440000}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_int_equal(td_degrees(rows[i].uturn), rows[i].degrees);
}

static void test_R18_the_keepers_word_goes_to_the_mover_behind_what_was_asked_before(void **state)
{
	struct rig rig;

	(void)state;
	start_with_cable(&rig, TD_TWIST_ESTIMATE);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"id\":4,\"method\":\"untwisted\"}");
	struct td_order order = rig_order(rig.orders);

	assert_int_equal(order.kind, TD_EVENT_UNTWISTED);
	assert_int_equal(order.role, TD_ROLE_KEEPER);
	assert_int_equal(order.session, 1);
	rig_answer(&rig, order.tag, TD_CAUSE_UNTWISTED);
	json_t *answer = rig_receive(keeper);

	assert_string_equal(rig_outcome(answer), "untwisted");
	json_decref(answer);
	/* a notification is ignored: a refusal could not be told */
	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"method\":\"untwisted\"}");
	rig_sync(keeper);
	assert_true(rig_no_order(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R18_a_visitor_may_not_say_so_and_the_mover_never_hears_of_it(void **state)
{
	struct rig rig;

	(void)state;
	start_with_cable(&rig, TD_TWIST_ESTIMATE);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_call(visitor, "untwisted", "", 1);

	assert_string_equal(rig_outcome(answer), "not-allowed");
	json_decref(answer);
	assert_true(rig_no_order(&rig));
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* Whoever follows learns whether it was they. */
static void test_R18_the_news_tell_who_said_so(void **state)
{
	struct rig rig;

	(void)state;
	start_with_cable(&rig, TD_TWIST_ESTIMATE);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	struct td_note note = rig_news_note(TD_CAUSE_UNTWISTED, RIG_DRIVE, TD_NO_WAY, 1, 0);

	json_decref(rig_call(keeper, "follow", "", 1));
	rig_note(&rig, &note);
	json_t *news = rig_receive(keeper);
	const json_t *params = json_object_get(news, "params");

	assert_string_equal(json_string_value(json_object_get(params, "cause")), "untwisted");
	assert_string_equal(json_string_value(json_object_get(params, "axis")), "drive");
	assert_string_equal(json_string_value(json_object_get(params, "holder")), "you");
	assert_null(json_object_get(params, "hold"));
	json_decref(news);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_R18_status_and_describe_show_the_cable_in_degrees),
		cmocka_unit_test(test_R18_degrees_are_rounded_to_the_nearest),
		cmocka_unit_test(test_R18_the_keepers_word_goes_to_the_mover_behind_what_was_asked_before),
		cmocka_unit_test(test_R18_a_visitor_may_not_say_so_and_the_mover_never_hears_of_it),
		cmocka_unit_test(test_R18_the_news_tell_who_said_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
