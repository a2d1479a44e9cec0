/* SPDX-License-Identifier: MIT */
/* The method `metrics`: whose numbers it tells, to whom, in which form, and what the front itself counts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "daemon/mover/meter.h"
#include "daemon/front/session.h"
#include "daemon/front/users.h"
#include "tests/support/front_rig.h"
#include "tests/support/openmetrics.h"

static struct rig rig;
static struct rig_client *keeper;

/* The mover's side of what is counted. */
static struct td_meter *place(void)
{
	struct td_meter *meter = td_shelf_place(rig.shared.meters);

	memset(meter, 0, sizeof(*meter));
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		td_duty_init(&meter->duty[axis], 0);
	return meter;
}

static int start(void **state)
{
	(void)state;
	rig_start_ready(&rig);
	keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	return 0;
}

static int start_counting(void **state)
{
	(void)start(state);
	(void)place();
	td_shelf_lay(rig.shared.meters);
	return 0;
}

static int end(void **state)
{
	(void)state;
	rig_close(keeper);
	return rig_end(&rig);
}

/* The text, free() it; without fault where it is OpenMetrics. */
static char *metrics_of(struct rig_client *client)
{
	json_t *answer = rig_call(client, "metrics", "", 70);
	char *text = strdup(json_string_value(json_object_get(json_object_get(answer, "result"), "text")));

	json_decref(answer);
	if (openmetrics_fault(text))
		fail_msg("%s", openmetrics_fault(text));
	return text;
}

static void must_be(const char *sample, double value)
{
	char *text = metrics_of(keeper);

	if (openmetrics_value(text, sample) != value)
		fail_msg("%s is %g, not %g", sample, openmetrics_value(text, sample), value);
	free(text);
}

static void must_fail(struct rig_client *client, const char *params, int code, const char *words)
{
	json_t *answer = rig_call(client, "metrics", params, 71);

	assert_int_equal(rig_code(answer), code);
	if (!strstr(rig_sentence(answer), words))
		fail_msg("\"%s\" does not say \"%s\"", rig_sentence(answer), words);
	json_decref(answer);
}

static void before_the_mover_has_counted_there_is_nothing(void **state)
{
	(void)state;
	must_fail(keeper, "", -32002, "not known yet");
	(void)place();
	td_shelf_lay(rig.shared.meters);
	free(metrics_of(keeper));
}

static void the_newest_numbers_of_the_mover_are_told(void **state)
{
	(void)state;
	must_be("tripdog_trips_total{axis=\"boom\",cause=\"travel-limit\"}", 0);
	for (uint32_t round = 1; round <= 3; round++) {
		struct td_meter *meter = place();

		meter->trips[RIG_BOOM][TD_CAUSE_TRAVEL_LIMIT] = round;
		meter->starts[RIG_DRIVE][1] = 10 * round;
		td_shelf_lay(rig.shared.meters);
		must_be("tripdog_trips_total{axis=\"boom\",cause=\"travel-limit\"}", round);
		must_be("tripdog_starts_total{axis=\"drive\",way=\"forward\"}", 10 * round);
		/* Nothing new was laid: the same once more. */
		must_be("tripdog_starts_total{axis=\"drive\",way=\"forward\"}", 10 * round);
	}
	atomic_store(&rig.shared.tally->lost, 9);
	must_be("tripdog_trace_entries_lost_total", 9);
}

static void the_state_of_the_machine_is_that_of_the_last_note(void **state)
{
	struct td_note note = rig_machine_note(true, TD_LATCH_ASKED);

	(void)state;
	must_be("tripdog_armed", 1);
	must_be("tripdog_latched", 0);
	rig_note(&rig, &note);
	note = rig_axis_note(RIG_DRIVE, TD_AXIS_TRIPPED);
	rig_note(&rig, &note);
	must_be("tripdog_latched", 1);
	must_be("tripdog_tripped{axis=\"drive\"}", 1);
	must_be("tripdog_tripped{axis=\"boom\"}", 0);
}

static void a_visitor_is_told_all_but_the_traces(void **state)
{
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	char *text = metrics_of(visitor);

	(void)state;
	assert_true(openmetrics_has(text, "tripdog_visitors_in_line"));
	assert_false(openmetrics_has(text, "tripdog_trace_entries_lost_total"));
	free(text);
	rig_close(visitor);
}

static void both_forms_name_themselves(void **state)
{
	static const struct {
		const char *params;
		const char *form;
		const char *media_type;
		bool eof;
	} forms[] = {
		{"", "openmetrics", "application/openmetrics-text; version=1.0.0; charset=utf-8", true},
		{"{\"form\": \"openmetrics\"}", "openmetrics",
		 "application/openmetrics-text; version=1.0.0; charset=utf-8", true},
		{"{\"form\": \"text\"}", "text", "text/plain; version=0.0.4; charset=utf-8", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(forms) / sizeof(forms[0]); i++) {
		json_t *answer = rig_call(keeper, "metrics", forms[i].params, (int)i);
		json_t *result = json_object_get(answer, "result");

		assert_int_equal(json_object_size(result), 3);
		assert_string_equal(json_string_value(json_object_get(result, "form")), forms[i].form);
		assert_string_equal(json_string_value(json_object_get(result, "media_type")),
				    forms[i].media_type);
		assert_int_equal(strstr(json_string_value(json_object_get(result, "text")), "# EOF\n") !=
					 NULL,
				 forms[i].eof);
		json_decref(answer);
	}
}

static void another_form_is_refused_with_the_nearest(void **state)
{
	(void)state;
	must_fail(keeper, "{\"form\": \"openmetric\"}", -32602,
		  "there is no form \"openmetric\"; did you mean \"openmetrics\"?");
	must_fail(keeper, "{\"form\": \"xml\"}", -32602, "there is no form \"xml\"");
	must_fail(keeper, "{\"form\": 7}", -32602, "form");
}

/* Of a batch the other calls are answered. */
static void in_a_batch_it_is_refused(void **state)
{
	json_t *answers;

	(void)state;
	rig_send(keeper, "[{\"jsonrpc\": \"2.0\", \"id\": 1, \"method\": \"metrics\"},"
			 " {\"jsonrpc\": \"2.0\", \"id\": 2, \"method\": \"status\"}]");
	answers = rig_receive(keeper);
	assert_int_equal(json_array_size(answers), 2);
	assert_int_equal(rig_code(json_array_get(answers, 0)), -32600);
	assert_non_null(strstr(rig_sentence(json_array_get(answers, 0)), "not for a batch"));
	assert_int_equal(rig_code(json_array_get(answers, 1)), 0);
	json_decref(answers);
}

/* --- what the front counts ----------------------------------------------------------------------------------- */

static void connections_are_counted_as_they_come_and_go(void **state)
{
	struct rig_client *visitor[3];

	(void)state;
	must_be("tripdog_connections{role=\"keeper\"}", 1);
	must_be("tripdog_connections{role=\"visitor\"}", 0);
	for (int i = 0; i < 3; i++) {
		visitor[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor[i]);
	}
	must_be("tripdog_connections{role=\"visitor\"}", 3);
	for (int i = 0; i < 3; i++) {
		rig_close(visitor[i]);
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	}
	must_be("tripdog_connections{role=\"visitor\"}", 0);
	must_be("tripdog_connections_made_total{role=\"visitor\"}", 3);
	must_be("tripdog_connections_made_total{role=\"keeper\"}", 1);
	must_be("tripdog_connections_turned_away_total{role=\"visitor\"}", 0);
}

static void who_is_turned_away_is_counted(void **state)
{
	enum { MOST = TD_KEEPERS_PER_USER };
	struct rig_client *more[MOST];

	(void)state;
	for (int i = 1; i < MOST; i++) {
		more[i] = rig_connect(&rig, TD_ROLE_KEEPER);
		rig_sync(more[i]);
	}
	struct rig_client *too_many = rig_connect(&rig, TD_ROLE_KEEPER);

	assert_true(rig_closed(too_many));
	rig_close(too_many);
	must_be("tripdog_connections{role=\"keeper\"}", MOST);
	must_be("tripdog_connections_turned_away_total{role=\"keeper\"}", 1);
	for (int i = 1; i < MOST; i++)
		rig_close(more[i]);
}

static void refusals_of_front_and_mover_are_counted_by_cause(void **state)
{
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	static const char hold[] = "{\"jsonrpc\": \"2.0\", \"id\": 5, \"method\": \"request\", \"params\": "
				   "{\"axis\": \"drive\", \"way\": \"forward\", \"hold\": 5, \"seq\": 0, "
				   "\"token\": \"@\"}}";

	(void)state;
	json_decref(rig_call(visitor, "cooled", "{\"axis\": \"drive\"}", 1));
	must_be("tripdog_refusals_total{cause=\"not-allowed\"}", 1);
	rig_send(keeper, hold);
	rig_answer(&rig, rig_order(rig.orders).tag, TD_CAUSE_HELD_BY_OTHER);
	json_decref(rig_receive(keeper));
	must_be("tripdog_refusals_total{cause=\"held-by-other\"}", 1);
	json_decref(rig_call(keeper, "leave", "", 6));
	must_be("tripdog_refusals_total{cause=\"not-in-line\"}", 1);
	must_be("tripdog_refusals_total{cause=\"tripped\"}", 0);
	/* Faults are no refusals. */
	json_decref(rig_call(keeper, "reset", "{\"axis\": \"nose\"}", 7));
	must_be("tripdog_refusals_total{cause=\"bad-request\"}", 0);
	rig_close(visitor);
}

static int start_with_turns(void **state)
{
	const struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
					rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	(void)state;
	rig_prepare(&rig);
	rig.config.turns.length_ns = TD_S(60);
	rig_start(&rig, false);
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(&rig, &notes[i]);
	keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	(void)place();
	td_shelf_lay(rig.shared.meters);
	return 0;
}

static void the_line_of_visitors_is_told(void **state)
{
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)state;
	must_be("tripdog_visitors_in_line", 0);
	json_decref(rig_call(visitor, "join", "", 1));
	must_be("tripdog_visitors_in_line", 1);
	json_decref(rig_call(visitor, "leave", "", 2));
	must_be("tripdog_visitors_in_line", 0);
	rig_close(visitor);
}

static void since_when_and_how_long(void **state)
{
	char *first = metrics_of(keeper);
	const struct timespec pause = {.tv_nsec = 30000000};

	(void)state;
	nanosleep(&pause, NULL);
	char *second = metrics_of(keeper);
	double start_s = openmetrics_value(first, "tripdog_start_time_seconds");
	double passed_s = openmetrics_value(second, "tripdog_up_seconds") -
			  openmetrics_value(first, "tripdog_up_seconds");

	assert_true(start_s == openmetrics_value(second, "tripdog_start_time_seconds"));
	assert_true(start_s < (double)time(NULL) + 1 && start_s > (double)time(NULL) - 60);
	assert_true(passed_s >= 0.029 && passed_s < 20);
	free(first);
	free(second);
}

/* Whatever the mover lays meanwhile, what is told belongs together. */
static void numbers_of_one_look_belong_together(void **state)
{
	(void)state;
	for (uint32_t round = 1; round <= 200; round++) {
		struct td_meter *meter = place();

		for (unsigned i = 0; i <= TD_METER_BOUNDS; i++)
			meter->stops[i] = round;
		for (uint8_t way = 0; way < TD_WAYS; way++)
			meter->starts[RIG_BOOM][way] = round;
		td_shelf_lay(rig.shared.meters);
		char *text = metrics_of(keeper);

		assert_true(openmetrics_value(text, "tripdog_starts_total{axis=\"boom\",way=\"raise\"}") ==
			    round);
		assert_true(openmetrics_value(text, "tripdog_stop_latency_seconds_count") ==
			    (double)round * (TD_METER_BOUNDS + 1));
		free(text);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(before_the_mover_has_counted_there_is_nothing, start, end),
		cmocka_unit_test_setup_teardown(the_newest_numbers_of_the_mover_are_told, start_counting,
						end),
		cmocka_unit_test_setup_teardown(the_state_of_the_machine_is_that_of_the_last_note,
						start_counting, end),
		cmocka_unit_test_setup_teardown(a_visitor_is_told_all_but_the_traces, start_counting, end),
		cmocka_unit_test_setup_teardown(both_forms_name_themselves, start_counting, end),
		cmocka_unit_test_setup_teardown(another_form_is_refused_with_the_nearest, start_counting,
						end),
		cmocka_unit_test_setup_teardown(in_a_batch_it_is_refused, start_counting, end),
		cmocka_unit_test_setup_teardown(connections_are_counted_as_they_come_and_go, start_counting,
						end),
		cmocka_unit_test_setup_teardown(who_is_turned_away_is_counted, start_counting, end),
		cmocka_unit_test_setup_teardown(refusals_of_front_and_mover_are_counted_by_cause,
						start_counting, end),
		cmocka_unit_test_setup_teardown(the_line_of_visitors_is_told, start_with_turns, end),
		cmocka_unit_test_setup_teardown(since_when_and_how_long, start_counting, end),
		cmocka_unit_test_setup_teardown(numbers_of_one_look_belong_together, start_counting, end),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
