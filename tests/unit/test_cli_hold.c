/* SPDX-License-Identifier: MIT */
/* The built tripdog against a daemon made of a script: hold, and all the ways it ends. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "tests/support/cli_run.h"
#include "tests/support/cli_server.h"
#include "tests/unit/cli_script.h"
#include "tests/unit/cli_states.h"

#define HOLD_LONG ARGS("hold", "boom", "raise", "--for", "10s")
#define ONE(axis) MACHINE("true", "", axis, "")
#define BOOM(state, end, trip)                                                                               \
	"=" ONE(AXIS("boom", "lower", "raise", state, "null", "false", "false", end, "null", "0", "0", trip))

static void hold_renews_in_order_and_lets_go_at_the_end_of_its_time(void **state)
{
	static const char *const script[] = {BEGIN, "?", NULL};
	struct run run;
	json_t *calls = run_against(script, &run, ARGS("hold", "boom", "raise", "--for", "240ms"));

	(void)state;
	run_expect(&run, TD_EXIT_DONE, "boom: let go\n", "");
	/* A lease of 150 ms: asked at 0, renewed at 50, 100, 150 and 200; fewer on a machine that is busy, never more. */
	size_t count = fake_count(calls, "request");
	assert_in_range(count, 2, 5);
	for (size_t i = 0; i < count; i++) {
		assert_int_equal(fake_number(calls, "request", i, "seq"), i);
		assert_int_equal(fake_number(calls, "request", i, "hold"), 1);
		assert_int_equal(fake_number(calls, "request", i, "lease_ms"), 150);
	}
	assert_int_equal(fake_count(calls, "release"), 1);
	assert_int_equal(fake_number(calls, "release", 0, "hold"), 1);
	json_decref(calls);
}

static void hold_prints_the_news_of_its_axis_alone(void **state)
{
	static const char *const script[] = {BEGIN,
					     NEWS("started", "move", "the way is powered"),
					     NEWS_OF_OTHERS,
					     ">release",
					     "={\"cause\":\"let-go\"}",
					     NULL};
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("hold", "boom", "raise", "--for", "30ms")));
	run_expect(&run, TD_EXIT_DONE, "boom raise: started, the way is powered (R2)\n", "");
	assert_null(strstr(run.out, "elsewhere"));
}

static void hold_ends_as_the_news_say(void **state)
{
	static const struct {
		const char *news;
		int code;
		const char *out;
		const char *err;
	} ends[] = {
		{NEWS("end-reached", "stop", "x"), TD_EXIT_DONE, "boom: end reached\n", ""},
		{NEWS("stop-asked", "stop", "x"), TD_EXIT_HOLD_ENDED, "",
		 "ended early: somebody asked for a stop"},
		{NEWS("hold-limit", "stop", "x"), TD_EXIT_HOLD_ENDED, "", "what to do: go the other way"},
		{NEWS("turn-over", "stop", "x"), TD_EXIT_HOLD_ENDED, "", "join the line for another turn"},
		{NEWS("lease-out", "stop", "x"), TD_EXIT_HOLD_ENDED, "", "not renewed in time"},
		{NEWS("barred", "stop", "x"), TD_EXIT_HOLD_ENDED, "", "another axis"},
		{NEWS("disarmed-cut", "stop", "x"), TD_EXIT_HOLD_ENDED, "", "disarmed"},
		{NEWS("latch-cut", "stop", "x"), TD_EXIT_HOLD_TRIPPED, "", "the latched stop cut the motion"},
		{NEWS("travel-limit", "trip", "x"), TD_EXIT_HOLD_TRIPPED, "", "then reset"},
		{NEWS("both-ends", "trip", "x"), TD_EXIT_HOLD_TRIPPED, "boom raise: both-ends",
		 "both end switches"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(ends) / sizeof(ends[0]); i++) {
		const char *const script[] = {BEGIN, ends[i].news, NULL};

		run_expect_against(script, HOLD_LONG, ends[i].code, ends[i].out, ends[i].err);
	}
}

#define TURN(yours, place, line)                                                                             \
	"{\"needed\":true,\"yours\":" yours ",\"closed\":false,\"line\":" line ",\"place\":" place           \
	",\"wait_ms\":61000,\"left_ms\":5000}"
#define TURN_NEWS(yours, place, line)                                                                        \
	"<{\"jsonrpc\":\"2.0\",\"method\":\"turn\",\"params\":" TURN(yours, place, line) "}"

static void a_visitor_waits_in_line_before_it_holds(void **state)
{
	static const char *const script[] = {">describe",
					     DESCRIPTION,
					     ">follow",
					     "={\"turn\":" TURN("false", "null", "2") "}",
					     ">join",
					     "={\"cause\":\"in-line\",\"turn\":" TURN("false", "2", "3") "}",
					     TURN_NEWS("false", "1", "2"),
					     TURN_NEWS("true", "0", "1"),
					     ">request",
					     "={\"cause\":\"started\"}",
					     "?",
					     NULL};
	struct run run;
	json_t *calls = run_against(script, &run, ARGS("hold", "boom", "raise", "--for", "60ms"));

	(void)state;
	run_expect(&run, TD_EXIT_DONE, "boom: let go\n", "2 before you; your turn comes in 61.0 s");
	assert_non_null(strstr(run.err, "1 before you"));
	assert_true(fake_count(calls, "request") >= 1);
	json_decref(calls);
}

static void a_full_line_is_told(void **state)
{
	static const char *const script[] = {
		">describe", DESCRIPTION,          ">follow", "={\"turn\":" TURN("false", "null", "64") "}",
		">join",     REFUSAL("line-full"), NULL};

	(void)state;
	run_expect_against(script, HOLD_LONG, TD_EXIT_REFUSED, "", "the sentence");
}

/* The news got lost; the refused renewal says that it is over, and status says why. */
static void hold_asks_why_when_only_a_renewal_is_refused(void **state)
{
	static const struct {
		const char *refusal;
		const char *status;
		int code;
		const char *err;
	} ends[] = {
		{REFUSAL("hold-ended"), BOOM("still", "true", "null"), TD_EXIT_DONE, ""},
		{REFUSAL("hold-ended"), BOOM("tripped", "true", "\"travel-limit\""), TD_EXIT_HOLD_TRIPPED,
		 "not reached in the learned time"},
		{REFUSAL("hold-ended"), BOOM("still", "false", "null"), TD_EXIT_HOLD_ENDED,
		 "this hold has ended"},
		{REFUSAL("overtaken"), BOOM("still", "false", "null"), TD_EXIT_HOLD_ENDED,
		 "a stop came after"},
		{REFUSAL("latched"), "=" STOPPED, TD_EXIT_HOLD_TRIPPED, "the latched stop"},
		{REFUSAL("hold-ended"), "={}", TD_EXIT_HOLD_ENDED, "this hold has ended"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(ends) / sizeof(ends[0]); i++) {
		const char *const script[] = {BEGIN,     ">request",     ends[i].refusal,
					      ">status", ends[i].status, NULL};

		run_expect_against(script, HOLD_LONG, ends[i].code, "", ends[i].err);
	}
}

static void hold_goes_on_past_a_stale_renewal_and_a_busy_daemon(void **state)
{
	static const char *const script[] = {
		BEGIN, ">request", REFUSAL("stale"), ">request", "!{\"code\":-32003,\"message\":\"busy\"}",
		"?",   NULL};

	(void)state;
	run_expect_against(script, ARGS("hold", "boom", "raise", "--for", "600ms"), TD_EXIT_DONE,
			   "boom: let go\n", "");
}

static void hold_that_ended_just_before_it_lets_go_tells_how(void **state)
{
	static const char *const script[] = {BEGIN, ">release", NEWS("travel-limit", "trip", "x"),
					     REFUSAL("not-held"), NULL};

	(void)state;
	run_expect_against(script, ARGS("hold", "boom", "raise", "--for", "30ms"), TD_EXIT_HOLD_TRIPPED,
			   "travel-limit", "ended early");
}

static void hold_refused_at_once_is_4(void **state)
{
	static const char *const script[] = {">describe", DESCRIPTION,       ">follow", "={}",
					     ">request",  REFUSAL("at-end"), NULL};
	struct run run;
	json_t *calls = run_against(script, &run, HOLD_LONG);

	(void)state;
	run_expect(&run, TD_EXIT_REFUSED, "", "the remedy");
	assert_int_equal(fake_count(calls, "request"), 1);
	json_decref(calls);
}

static void hold_of_a_misspelt_axis_or_way_asks_for_nothing(void **state)
{
	static const char *const script[] = {">describe", DESCRIPTION, NULL};
	struct run run;
	json_t *calls = run_against(script, &run, ARGS("hold", "bomo", "raise", "--for", "1s"));

	(void)state;
	run_expect(&run, TD_EXIT_USAGE, "", "there is no axis \"bomo\": did you mean boom?");
	assert_int_equal(fake_count(calls, "request"), 0);
	json_decref(calls);
	calls = run_against(script, &run, ARGS("hold", "boom", "rise", "--for", "1s"));
	run_expect(&run, TD_EXIT_USAGE, "",
		   "boom has no way \"rise\": did you mean raise?; its ways are lower and raise");
	assert_int_equal(fake_count(calls, "request"), 0);
	json_decref(calls);
}

static void hold_that_loses_the_daemon_is_7(void **state)
{
	static const char *const closed[] = {BEGIN, ".", NULL};
	static const char *const silent[] = {BEGIN, NULL};

	(void)state;
	run_expect_against(closed, HOLD_LONG, TD_EXIT_LOST, "", "lets go by itself within 150 ms");
	run_expect_against(silent, ARGS("hold", "boom", "raise", "--for", "10s", "--timeout", "100ms"),
			   TD_EXIT_LOST, "", "the daemon has stopped answering");
}

static void hold_prints_documents_alone_with_json(void **state)
{
	static const char *const script[] = {BEGIN, NEWS("end-reached", "stop", "x"), NULL};
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("hold", "boom", "raise", "--for", "10s", "--json")));
	assert_int_equal(run.code, TD_EXIT_DONE);
	for (char *line = strtok(run.out, "\n"); line; line = strtok(NULL, "\n")) {
		json_t *document = json_loads(line, 0, NULL);

		assert_non_null(document);
		json_decref(document);
	}
}

/* Starts a hold, waits until it holds, and leaves the rest to the caller. */
static struct fake_server *start_hold(struct run *run)
{
	static const char *const script[] = {BEGIN, NEWS("started", "move", "the way is powered"), "?", NULL};
	struct fake_server *server = fake_start(script);
	const char *all[RUN_ARGS_MAX];

	run_socket_args(server, HOLD_LONG, all);
	run_start(run, all);
	run_await_output(run, "started");
	return server;
}

static void hold_lets_go_on_every_signal_that_ends_it(void **state)
{
	static const int signals[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};

	(void)state;
	for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); i++) {
		struct run run;
		struct fake_server *server = start_hold(&run);

		assert_int_equal(kill(run.pid, signals[i]), 0);
		run_wait(&run);
		json_t *calls = fake_end(server);
		run_expect(&run, TD_EXIT_HOLD_ENDED, "boom: let go, interrupted\n", "");
		assert_int_equal(fake_count(calls, "release"), 1);
		json_decref(calls);
	}
}

static void hold_lets_go_before_it_is_suspended_and_stays_so(void **state)
{
	struct run run;
	struct fake_server *server = start_hold(&run);
	int status = 0;

	(void)state;
	assert_int_equal(kill(run.pid, SIGTSTP), 0);
	assert_int_equal(waitpid(run.pid, &status, WUNTRACED), run.pid);
	assert_true(WIFSTOPPED(status));
	run_await_output(&run, "boom: let go, suspended\n");
	assert_int_equal(kill(run.pid, SIGCONT), 0);
	run_wait(&run);
	json_t *calls = fake_end(server);
	run_expect(&run, TD_EXIT_HOLD_ENDED, "", "");
	assert_int_equal(fake_count(calls, "release"), 1);
	const json_t *last = json_array_get(calls, json_array_size(calls) - 1);
	assert_string_equal(json_string_value(json_object_get(last, "method")), "release");
	json_decref(calls);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(hold_renews_in_order_and_lets_go_at_the_end_of_its_time),
		cmocka_unit_test(hold_prints_the_news_of_its_axis_alone),
		cmocka_unit_test(hold_ends_as_the_news_say),
		cmocka_unit_test(a_visitor_waits_in_line_before_it_holds),
		cmocka_unit_test(a_full_line_is_told),
		cmocka_unit_test(hold_asks_why_when_only_a_renewal_is_refused),
		cmocka_unit_test(hold_goes_on_past_a_stale_renewal_and_a_busy_daemon),
		cmocka_unit_test(hold_that_ended_just_before_it_lets_go_tells_how),
		cmocka_unit_test(hold_refused_at_once_is_4),
		cmocka_unit_test(hold_of_a_misspelt_axis_or_way_asks_for_nothing),
		cmocka_unit_test(hold_that_loses_the_daemon_is_7),
		cmocka_unit_test(hold_prints_documents_alone_with_json),
		cmocka_unit_test(hold_lets_go_on_every_signal_that_ends_it),
		cmocka_unit_test(hold_lets_go_before_it_is_suspended_and_stays_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
