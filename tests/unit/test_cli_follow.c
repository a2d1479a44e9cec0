/* SPDX-License-Identifier: MIT */
/* tripdog follow: every change as a line, over lost connections and restarts of the daemon. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "tests/support/cli_run.h"
#include "tests/support/cli_server.h"
#include "tests/unit/cli_script.h"
#include "tests/unit/cli_states.h"

/* clang-format off */
#define FOLLOWS(events) \
	("={\"machine\":\"glasshouse cart\",\"armed\":true,\"latch\":[],\"outputs\":[],\"switches\":[],\"axes\":[" \
	 AXIS("boom", "lower", "raise", "still", "null", "false", "true", "false", "0", "0", "0", "null") \
	 "],\"events\":{" events "}}")
#define LIFE(name, last) "\"instance\":\"" name "\",\"last\":" last
#define NOTHING_MISSED ",\"missed\":0,\"missed_of\":[]"
#define HAPPENED(n, cause, more) \
	("<{\"jsonrpc\":\"2.0\",\"method\":\"news\",\"params\":{\"n\":" n ",\"at_ns\":1,\"cause\":\"" cause "\"," \
	 "\"kind\":\"stop\",\"rule\":\"\",\"sentence\":\"as it happened\",\"remedy\":\"\",\"axis\":\"boom\"" more "}}")
#define REFUSES(code) \
	("!{\"code\":" code ",\"message\":\"later\",\"data\":{\"sentence\":\"not yet\",\"remedy\":\"\"}}")
#define DROPPED \
	("<{\"jsonrpc\":\"2.0\",\"method\":\"dropped\",\"params\":{\"sentence\":\"too slow\",\"remedy\":\"\"}}")
/* clang-format on */

/* Runs against the script until the last words are printed, then interrupts it; the calls it made are the caller's. */
static json_t *run_until(const char *const *script, struct run *run, const char *const *args,
			 const char *words)
{
	struct fake_server *server = fake_start(script);
	const char *all[RUN_ARGS_MAX];

	run_socket_args(server, args, all);
	run_start(run, all);
	run_await_output(run, words);
	assert_int_equal(kill(run->pid, SIGINT), 0);
	run_wait(run);
	return fake_end(server);
}

/* The index-th call of follow said so. */
static void expect_since(const json_t *calls, size_t index, json_int_t since, const char *instance)
{
	const json_t *call = NULL;
	size_t i = 0;
	size_t found = 0;

	assert_int_equal(fake_number(calls, "follow", index, "since"), since);
	json_array_foreach(calls, i, call)
	{
		const json_t *said = json_object_get(json_object_get(call, "params"), "instance");

		if (strcmp(json_string_value(json_object_get(call, "method")), "follow") == 0 &&
		    found++ == index)
			assert_string_equal(json_string_value(said), instance);
	}
}

static void each_change_is_printed_until_interrupted(void **state)
{
	static const char *const script[] = {">follow",
					     "=" RESTING,
					     NEWS("started", "move", "the way is powered"),
					     "<{\"jsonrpc\":\"2.0\",\"method\":\"axis\",\"params\":{}}",
					     NEWS_OF_OTHERS,
					     NULL};
	struct run run;

	(void)state;
	json_decref(run_until(script, &run, ARGS("follow"), "vent open: end-reached"));
	run_expect(&run, TD_EXIT_DONE,
		   "glasshouse cart: armed, latched stop off; drive still, boom still, vent still\n", "");
	run_expect(&run, TD_EXIT_DONE, "boom raise: started, the way is powered (R2)\n", "");
	assert_string_equal(run.err, "");
}

static void once_ends_with_7_when_the_daemon_goes(void **state)
{
	static const char *const script[] = {">follow", "=" RESTING, ".", NULL};

	(void)state;
	run_expect_against(script, ARGS("follow", "--once"), TD_EXIT_LOST, "glasshouse cart",
			   "closed the connection");
}

static void a_lost_connection_is_made_again_from_the_last_news(void **state)
{
	static const char *const script[] = {
		">follow",
		FOLLOWS(LIFE("aa", "4") NOTHING_MISSED),
		HAPPENED("5", "let-go", ""),
		"&",
		">follow",
		FOLLOWS(LIFE("aa", "7") NOTHING_MISSED),
		HAPPENED("6", "lease-out", ""),
		"&", /* in the middle of it */
		">follow",
		FOLLOWS(LIFE("aa", "30") ",\"missed\":20,\"missed_of\":[\"move\",\"refusal\"]"),
		HAPPENED("7", "end-reached", ""),
		HAPPENED("28", "stop-asked", ",\"missed\":20"),
		NULL};
	struct run run;

	(void)state;
	json_t *calls = run_until(script, &run, ARGS("follow"), "stop-asked");
	assert_int_equal(fake_count(calls, "follow"), 3);
	assert_int_equal(fake_number(calls, "follow", 0, "since"), -1);
	expect_since(calls, 1, 5, "aa");
	expect_since(calls, 2, 6, "aa");
	json_decref(calls);
	run_expect(&run, TD_EXIT_DONE, "connected again; nothing is missing\n",
		   "closed the connection; see its messages; trying to connect again");
	run_expect(&run, TD_EXIT_DONE, "no longer kept: 20, of the kinds move, refusal\n", "");
	run_expect(&run, TD_EXIT_DONE, "(news left out here: 20)\n", "");
	const char *gap = strstr(run.out, "(news left out");
	assert_true(strstr(run.out, "end-reached") < gap);
	assert_true(gap < strstr(run.out, "stop-asked"));
}

static void a_daemon_started_anew_is_told_from_its_beginning(void **state)
{
	static const char *const script[] = {">follow",
					     FOLLOWS(LIFE("aa", "400") NOTHING_MISSED),
					     "&",
					     ">follow",
					     FOLLOWS(LIFE("bb", "2") ",\"missed\":null,\"missed_of\":null"),
					     HAPPENED("1", "latch-kept", ""),
					     "&",
					     ">follow",
					     FOLLOWS(LIFE("bb", "2") NOTHING_MISSED),
					     HAPPENED("2", "armed", ""),
					     NULL};
	struct run run;

	(void)state;
	json_t *calls = run_until(script, &run, ARGS("follow"), "armed, as it happened");
	expect_since(calls, 1, 400, "aa");
	expect_since(calls, 2, 1, "bb");
	json_decref(calls);
	run_expect(&run, TD_EXIT_DONE, "the daemon was started anew", "");
}

static void a_daemon_that_is_not_ready_is_tried_again(void **state)
{
	static const char *const script[] = {">follow",
					     FOLLOWS(LIFE("aa", "4") NOTHING_MISSED),
					     "&",
					     ">follow",
					     REFUSES("-32002"),
					     "&",
					     ">follow",
					     REFUSES("-32003"),
					     "&",
					     ">follow",
					     FOLLOWS(LIFE("aa", "4") NOTHING_MISSED),
					     NULL};
	struct run run;

	(void)state;
	json_decref(run_until(script, &run, ARGS("follow"), "connected again"));
	assert_int_equal(run.code, TD_EXIT_DONE);
	/* Told once, however often it is tried. */
	const char *lost = strstr(run.err, "trying to connect again");
	assert_non_null(lost);
	assert_null(strstr(lost + 1, "trying to connect again"));
}

static void a_daemon_that_refuses_it_ends_it(void **state)
{
	static const char *const script[] = {
		">follow", FOLLOWS(LIFE("aa", "4") NOTHING_MISSED), "&", ">follow", REFUSAL("not-allowed"),
		NULL};

	(void)state;
	run_expect_against(script, ARGS("follow"), TD_EXIT_REFUSED, "glasshouse cart", "the sentence");
}

static void a_daemon_that_names_no_life_is_followed_without_a_number(void **state)
{
	static const char *const script[] = {
		">follow", "=" RESTING, HAPPENED("5", "let-go", ""), "&", ">follow", "=" RESTING, NULL};
	struct run run;

	(void)state;
	json_t *calls = run_until(script, &run, ARGS("follow"), "connected again");
	assert_int_equal(fake_number(calls, "follow", 1, "since"), -1);
	json_decref(calls);
	assert_int_equal(run.code, TD_EXIT_DONE);
}

static void why_it_is_dropped_is_told(void **state)
{
	static const char *const script[] = {">follow", FOLLOWS(LIFE("aa", "4") NOTHING_MISSED), DROPPED, ".",
					     NULL};

	(void)state;
	run_expect_against(script, ARGS("follow", "--once"), TD_EXIT_LOST, "",
			   "the daemon drops this connection: too slow");
}

static void as_json_everything_is_printed_as_it_came(void **state)
{
	static const char *const script[] = {
		">follow",
		FOLLOWS(LIFE("aa", "4") NOTHING_MISSED),
		"&",
		">follow",
		FOLLOWS(LIFE("aa", "9") ",\"missed\":3,\"missed_of\":[\"note\"]"),
		HAPPENED("8", "let-go", ",\"missed\":3"),
		NULL};
	struct run run;

	(void)state;
	json_decref(run_until(script, &run, ARGS("follow", "--json"), "\"n\":8"));
	run_expect(&run, TD_EXIT_DONE, "\"missed\":3,\"missed_of\":[\"note\"]}}\n", "");
	assert_null(strstr(run.out, "connected again"));
	assert_null(strstr(run.out, "left out"));
}

/* The daemon is gone and stays so: ^C still ends it, with nothing to complain of. */
static void while_it_waits_for_the_daemon_it_can_be_interrupted(void **state)
{
	static const char *const script[] = {">follow", FOLLOWS(LIFE("aa", "4") NOTHING_MISSED),
					     HAPPENED("5", "let-go", ""), ".", NULL};
	struct fake_server *server = fake_start(script);
	const char *all[RUN_ARGS_MAX];
	struct run run;

	(void)state;
	run_socket_args(server, ARGS("follow"), all);
	run_start(&run, all);
	run_await_output(&run, "let-go");
	fake_finish(server);
	assert_int_equal(kill(run.pid, SIGTERM), 0);
	run_wait(&run);
	assert_int_equal(run.code, TD_EXIT_DONE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_change_is_printed_until_interrupted),
		cmocka_unit_test(once_ends_with_7_when_the_daemon_goes),
		cmocka_unit_test(a_lost_connection_is_made_again_from_the_last_news),
		cmocka_unit_test(a_daemon_started_anew_is_told_from_its_beginning),
		cmocka_unit_test(a_daemon_that_is_not_ready_is_tried_again),
		cmocka_unit_test(a_daemon_that_refuses_it_ends_it),
		cmocka_unit_test(a_daemon_that_names_no_life_is_followed_without_a_number),
		cmocka_unit_test(why_it_is_dropped_is_told),
		cmocka_unit_test(as_json_everything_is_printed_as_it_came),
		cmocka_unit_test(while_it_waits_for_the_daemon_it_can_be_interrupted),
	};

	return cmocka_run_group_tests_name("cli_follow", tests, NULL, NULL);
}
