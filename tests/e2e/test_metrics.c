/* SPDX-License-Identifier: MIT */
/* The metrics of a real daemon: what is done to the cart is what they tell, no more and no less. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "daemon/exit_codes.h"
#include "tests/support/openmetrics.h"
#include "tests/support/stage.h"

static struct stage stage;
static char before[65536];
static char after[65536];

static int set_up(void **state)
{
	(void)state;
	stage_open(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stage_close(&stage);
	return 0;
}

static void look(char text[static 65536])
{
	json_t *answer = stage_call(stage.keeper, "metrics", NULL);

	(void)snprintf(text, 65536, "%s", json_string_value(json_object_get(answer, "text")));
	json_decref(answer);
	if (openmetrics_fault(text))
		fail_msg("%s", openmetrics_fault(text));
}

static double value(const char *text, const char *sample)
{
	return openmetrics_value(text, sample);
}

/* What a sample rose by between the two looks. */
static double rise(const char *sample)
{
	return value(after, sample) - value(before, sample);
}

#define TRIPS(cause)   "tripdog_trips_total{axis=\"boom\",cause=\"" cause "\"}"
#define STOPS(cause)   "tripdog_stops_total{cause=\"" cause "\"}"
#define REFUSED(cause) "tripdog_refusals_total{cause=\"" cause "\"}"
#define LATCHED(cause) "tripdog_latched_stops_total{cause=\"" cause "\"}"
#define STARTS         "tripdog_starts_total{axis=\"boom\",way=\"raise\"}"
#define RUN            "tripdog_run_seconds_total{axis=\"boom\",way=\"raise\"}"
#define COUNT          "tripdog_stop_latency_seconds_count"

/* The sum over everything that is counted under a name. */
static double sum_of(const char *text, const char *name)
{
	double sum = 0;
	size_t length = strlen(name);

	for (const char *line = text; line; line = strchr(line, '\n')) {
		line += *line == '\n';
		if (strncmp(line, name, length) == 0 && (line[length] == '{' || line[length] == ' '))
			sum += strtod(strchr(line, ' ') + 1, NULL);
	}
	return sum;
}

static void no_other(const char *name, double rises)
{
	double risen = sum_of(after, name) - sum_of(before, name);

	if (risen != rises)
		fail_msg("%s rose by %g in all, not by %g", name, risen, rises);
}

static void a_fresh_daemon_has_counted_nothing(void **state)
{
	(void)state;
	look(after);
	assert_true(value(after, "tripdog_armed") == 1);
	assert_true(sum_of(after, "tripdog_trips_total") == 0);
	assert_true(sum_of(after, "tripdog_stops_total") == 0);
	assert_true(sum_of(after, "tripdog_starts_total") == 0);
	assert_true(sum_of(after, "tripdog_life_starts") == 0);
	assert_true(sum_of(after, "tripdog_refusals_total") == 0);
	assert_true(value(after, "tripdog_stop_latency_seconds_count") == 0);
	assert_true(value(after, "tripdog_connections{role=\"keeper\"}") == 1);
}

static void a_stop_on_request_counts_once(void **state)
{
	(void)state;
	look(before);
	assert_string_equal(stage_request(stage.keeper, "boom", "raise", 1, 0, 1500), "started");
	stage_sleep(TD_MS(300));
	json_decref(stage_call(stage.keeper, "stop", NULL));
	look(after); /* at once: what was answered is counted */
	td_ns ran_ns = stage_fall_ns(&stage, "boom", 1) - stage_rise_ns(&stage, "boom", 1);
	double latency_s = rise("tripdog_stop_latency_seconds_sum");

	no_other("tripdog_starts_total", 1);
	no_other("tripdog_stops_total", 1);
	no_other("tripdog_trips_total", 0);
	assert_true(rise(STARTS) == 1);
	assert_true(rise(STOPS("stop-asked")) == 1);
	assert_true(rise(COUNT) == 1);
	print_message("# measured: powered %.3f s, told %.3f s; the stop took %.6f s\n", (double)ran_ns / 1e9,
		      rise(RUN), latency_s);
	/* The board sees the levels a little later than the daemon writes them. */
	assert_true(rise(RUN) > 0.29 && rise(RUN) < (double)ran_ns / 1e9 + 0.02);
	/* The daemon's own figure of the same stop, in whole microseconds and taken a little later. */
	json_t *status = stage_call(stage.keeper, "status", NULL);
	double told_us = (double)json_integer_value(json_object_get(status, "stop_latency_us"));

	json_decref(status);
	assert_true(latency_s > 0 && latency_s * 1e6 <= told_us);
}

static void each_way_to_stop_has_its_own_count(void **state)
{
	(void)state;
	look(before);
	assert_string_equal(stage_hold(stage.keeper, "steering", "left", 1, TD_S(2)), "hold-limit");
	assert_string_equal(stage_hold(stage.keeper, "boom", "raise", 2, TD_S(6)), "end-reached");
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", 3, 0, 100), "started");
	assert_true(stage_wait_output(&stage, "drive", 1, false, TD_S(2)));
	stage_sleep(TD_MS(50));
	look(after);
	assert_true(rise(STOPS("hold-limit")) == 1);
	assert_true(rise(STOPS("end-reached")) == 1);
	assert_true(rise(STOPS("lease-out")) == 1);
	no_other("tripdog_stops_total", 3);
	no_other("tripdog_trips_total", 0);
	no_other("tripdog_latched_stops_total", 0);
	assert_true(rise(COUNT) == 3);
	assert_true(value(after, "tripdog_heat_ratio{axis=\"boom\"}") > 0);
	assert_true(value(after, "tripdog_heat_ratio{axis=\"vent\"}") == 0);
	assert_true(value(after, "tripdog_duty_ratio{axis=\"steering\",span=\"minute\"}") > 0.015);
}

static void r8_a_trip_counts_for_its_axis_and_refusals_for_their_cause(void **state)
{
	(void)state;
	look(before);
	assert_string_equal(stage_request(stage.keeper, "boom", "raise", 1, 0, 1500), "started");
	json_decref(stage_poke(&stage, "break boom_bottom"));
	assert_true(stage_wait_output(&stage, "boom", 1, false, TD_S(1)));
	assert_string_equal(stage_axis(stage.keeper, "boom", "trip.cause"), "wrong-end");
	assert_string_equal(stage_request(stage.keeper, "boom", "lower", 2, 0, 300), "tripped");
	assert_string_equal(stage_request(stage.keeper, "boom", "raise", 3, 0, 300), "tripped");
	json_decref(stage_call(stage.keeper, "latch", NULL));
	look(after);
	assert_true(rise(TRIPS("wrong-end")) == 1);
	no_other("tripdog_trips_total", 1);
	assert_true(rise(REFUSED("tripped")) == 2);
	no_other("tripdog_refusals_total", 2);
	assert_true(value(after, "tripdog_tripped{axis=\"boom\"}") == 1);
	assert_true(rise(LATCHED("latch-asked")) == 1);
	assert_true(value(after, "tripdog_latched") == 1);
	assert_true(rise(COUNT) == 1);
}

/* Counters begin anew, the life of a motor does not. */
static void a_restart_begins_the_counters_anew(void **state)
{
	(void)state;
	assert_string_equal(stage_hold(stage.keeper, "boom", "raise", 1, TD_S(6)), "end-reached");
	json_decref(stage_call(stage.keeper, "latch", NULL));
	look(before);
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	stage_start_daemon(&stage);
	look(after);
	assert_true(value(before, STARTS) == 1);
	assert_true(value(after, STARTS) == 0);
	assert_true(value(after, RUN) == 0);
	assert_true(value(after, "tripdog_life_starts{axis=\"boom\",way=\"raise\"}") == 1);
	assert_true(value(after, "tripdog_life_run_seconds{axis=\"boom\",way=\"raise\"}") ==
		    value(before, RUN));
	assert_true(value(after, LATCHED("latch-kept")) == 1);
	assert_true(value(after, "tripdog_start_time_seconds") > value(before, "tripdog_start_time_seconds"));
	assert_true(value(after, "tripdog_up_seconds") < 60);
}

/* Runs the client as a person would; what it wrote is in `after`. */
static int client(const char *arguments)
{
	char command[1024];

	(void)snprintf(command, sizeof(command), "%s --socket %s metrics %s", stage_program("tripdog"),
		       stage_file(&stage, "visitor.sock"), arguments);
	FILE *in = popen(command, "r"); /* NOLINT(cert-env33-c): as a person would call it */

	assert_non_null(in);
	after[fread(after, 1, sizeof(after) - 1, in)] = '\0';
	int status = pclose(in);

	return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void the_client_puts_them_where_they_are_wanted(void **state)
{
	char arguments[512];

	(void)state;
	assert_int_equal(client("| cat"), 0);
	assert_null(openmetrics_fault(after));
	(void)snprintf(arguments, sizeof(arguments), "--output %s", stage_file(&stage, "cart.prom"));
	assert_int_equal(client(arguments), 0);
	assert_string_equal(after, "");
	FILE *file = fopen(stage_file(&stage, "cart.prom"), "r");

	assert_non_null(file);
	after[fread(after, 1, sizeof(after) - 1, file)] = '\0';
	(void)fclose(file);
	assert_non_null(strstr(after, "# TYPE tripdog_trips_total counter\n"));
	assert_null(strstr(after, "# EOF"));
	/* A reader that goes away early is no failure of ours that matters to anybody. */
	assert_int_equal(client("| head -n 1"), 0);
	assert_string_equal(after, "# HELP tripdog_build the program that runs\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_fresh_daemon_has_counted_nothing, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_stop_on_request_counts_once, set_up, tear_down),
		cmocka_unit_test_setup_teardown(each_way_to_stop_has_its_own_count, set_up, tear_down),
		cmocka_unit_test_setup_teardown(r8_a_trip_counts_for_its_axis_and_refusals_for_their_cause,
						set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_restart_begins_the_counters_anew, set_up, tear_down),
		cmocka_unit_test_setup_teardown(the_client_puts_them_where_they_are_wanted, set_up,
						tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
