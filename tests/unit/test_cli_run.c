/* SPDX-License-Identifier: MIT */
/* The built tripdog against a daemon made of a script: what it says, and its exit codes. */
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

/* --- without a daemon ------------------------------------------------------------------------------- */

static void a_wrong_command_line_is_2(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("hold", "boom"));
	run_expect(&run, TD_EXIT_USAGE, "", "hold lacks WAY, --for TIME");
	assert_string_equal(run.out, "");
	run_program(&run, ARGS("stauts"));
	run_expect(&run, TD_EXIT_USAGE, "", "did you mean status?");
}

static void nobody_at_the_socket_is_3(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("--socket", "/nonexistent/sock", "status"));
	run_expect(&run, TD_EXIT_NO_CONNECTION, "", "cannot connect to /nonexistent/sock");
}

static void an_unreadable_configuration_is_2(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("--config", "/nonexistent/tripdog.conf", "status"));
	run_expect(&run, TD_EXIT_USAGE, "", "/nonexistent/tripdog.conf");
}

static void help_and_version_are_0(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("--help"));
	run_expect(&run, TD_EXIT_DONE, "usage: tripdog", "");
	run_program(&run, ARGS("--version"));
	run_expect(&run, TD_EXIT_DONE, "tripdog " TD_VERSION "\n", "");
}

/* The example's configuration with other sockets, in a file of its own. */
static void write_config(const char *path, const char *keeper, const char *visitor)
{
	FILE *from = fopen("docs/examples/glasshouse.conf", "r");
	FILE *to = fopen(path, "w");
	char line[256];

	assert_non_null(from);
	assert_non_null(to);
	while (fgets(line, sizeof(line), from)) {
		if (strstr(line, "keeper.sock"))
			(void)fprintf(to, "socket = %s\n", keeper);
		else if (strstr(line, "visitor.sock"))
			(void)fprintf(to, "socket = %s\n", visitor);
		else
			(void)fputs(line, to);
	}
	(void)fclose(from);
	assert_int_equal(fclose(to), 0);
}

/* Runs describe with such a configuration. SERVER in place of a path is the server's. */
static void describe_through(const char *keeper, const char *visitor, const char *option, struct run *run)
{
	static const char *const script[] = {">describe", DESCRIPTION, NULL};
	struct fake_server *server = fake_start(script);
	char path[256];

	(void)snprintf(path, sizeof(path), "%s.conf", fake_path(server));
	write_config(path, strcmp(keeper, "SERVER") == 0 ? fake_path(server) : keeper,
		     strcmp(visitor, "SERVER") == 0 ? fake_path(server) : visitor);
	run_program(run, ARGS("--config", path, "describe", option));
	(void)unlink(path);
	fake_finish(server);
}

static void the_keepers_socket_is_used_where_it_can_be_else_the_visitors(void **state)
{
	struct run run;

	(void)state;
	describe_through("SERVER", "/nonexistent/v", NULL, &run);
	run_expect(&run, TD_EXIT_DONE, "glasshouse cart", "");
	describe_through("/nonexistent/k", "SERVER", NULL, &run);
	run_expect(&run, TD_EXIT_DONE, "glasshouse cart", "");
	describe_through("/nonexistent/k", "SERVER", "--visitor", &run);
	run_expect(&run, TD_EXIT_DONE, "glasshouse cart", "");
	describe_through("SERVER", "/nonexistent/v", "--keeper", &run);
	run_expect(&run, TD_EXIT_DONE, "glasshouse cart", "");
}

static void a_chosen_socket_is_the_only_one_tried(void **state)
{
	char path[] = "/tmp/tripdog-conf-XXXXXX";
	struct run run;

	(void)state;
	(void)close(mkstemp(path));
	write_config(path, "/nonexistent/k", "/nonexistent/v");
	run_program(&run, ARGS("--config", path, "--visitor", "describe"));
	run_expect(&run, TD_EXIT_NO_CONNECTION, "", "/nonexistent/v");
	run_program(&run, ARGS("--config", path, "--keeper", "describe"));
	run_expect(&run, TD_EXIT_NO_CONNECTION, "", "/nonexistent/k");
	run_program(&run, ARGS("--config", path, "describe"));
	run_expect(&run, TD_EXIT_NO_CONNECTION, "", "/nonexistent/k");
	(void)unlink(path);
}

/* --- one call, one answer --------------------------------------------------------------------------- */

static void status_draws_the_machine(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">status", "=" STOPPED, NULL};

	(void)state;
	run_expect_against(script, ARGS("status"), TD_EXIT_DONE, "latched stop ON", "");
	run_expect_against(script, ARGS("status"), TD_EXIT_DONE, "■───── unknown ─────■", "");
}

static void in_a_pipe_there_are_no_escapes(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">status", "=" STOPPED, NULL};
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("status")));
	assert_null(strchr(run.out, '\033'));
}

static void json_prints_the_result_as_it_came(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">status", "=" BUSY, NULL};
	json_t *wanted = json_loads(BUSY, 0, NULL);
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("status", "--json")));
	json_t *got = json_loads(run.out, 0, NULL);
	assert_true(json_equal(got, wanted));
	assert_ptr_equal(strchr(run.out, '\n'), run.out + strlen(run.out) - 1);
	json_decref(got);
	json_decref(wanted);
}

static void describe_lists_what_there_is(void **state)
{
	static const char *const script[] = {">describe", DESCRIPTION, NULL};

	(void)state;
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE,
			   "lower (end switch boom_bottom), raise (no end switch)", "");
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE, "! Keep fingers away.", "");
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE, "150 ms", "");
	/* The methods are those of the answer, whatever this client was built with. */
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE,
			   "lift              move up\n"
			   "                    with axis, hold (1 to 9), lease_ms (50 to 150, optional),\n"
			   "                    why (optional)\n",
			   "");
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE, "status            how it is\n  lift", "");
	run_expect_against(script, ARGS("describe"), TD_EXIT_DONE, "6 in any hour", "");
}

static void stop_latch_reset_and_untwisted_tell_what_became_of_them(void **state)
{
	static const char *const stop[] = {">stop", STOPPED_ANSWER, NULL};
	static const char *const latch[] = {
		">latch", "={\"cause\":\"latch-asked\",\"sentence\":\"somebody made it\",\"kept\":true}",
		NULL};
	static const char *const reset[] = {">reset", "={\"cause\":\"reset-done\"}", NULL};
	static const char *const untwisted[] = {">untwisted", "={\"cause\":\"untwisted\"}", NULL};

	(void)state;
	run_expect_against(stop, ARGS("stop"), TD_EXIT_DONE, "all axes: the stop was carried out\n", "");
	run_expect_against(stop, ARGS("stop", "boom"), TD_EXIT_DONE, "boom: the stop was carried out\n", "");
	run_expect_against(latch, ARGS("latch"), TD_EXIT_DONE, "latched stop: somebody made it\n", "");
	run_expect_against(reset, ARGS("reset", "boom"), TD_EXIT_DONE, "boom: the stop was reset", "");
	run_expect_against(untwisted, ARGS("untwisted"), TD_EXIT_DONE, "cable: the cable is straight", "");
}

static void stop_and_reset_pass_the_axis_on(void **state)
{
	static const char *const script[] = {">stop", STOPPED_ANSWER, NULL};
	struct run run;
	json_t *calls = run_against(script, &run, ARGS("stop", "boom"));
	json_t *params = json_object_get(json_array_get(calls, 0), "params");

	(void)state;
	assert_string_equal(json_string_value(json_object_get(params, "axis")), "boom");
	assert_int_equal(json_object_size(params), 1);
	json_decref(calls);
}

/* What is not understood alike is not driven; but a stop means the same to every version, and waits for nothing. */
static void a_daemon_of_another_version_is_told_and_stopped_all_the_same(void **state)
{
	static const char *const other[] = {">hello", REFUSAL("other-protocol"), NULL};
	static const char *const stop[] = {">stop", STOPPED_ANSWER, NULL};
	const char *const *const words[] = {ARGS("status"), ARGS("reset", "boom"),
					    ARGS("hold", "boom", "raise", "--for", "1s"), ARGS("next")};
	struct run run;

	(void)state;
	for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); i++) {
		json_t *calls = run_against(other, &run, words[i]);

		run_expect(&run, TD_EXIT_REFUSED, "", "refused: the sentence");
		assert_int_equal(json_array_size(calls), 1);
		assert_int_equal(fake_number(calls, "hello", 0, "protocol"), 1);
		json_decref(calls);
	}
	json_t *calls = run_against(stop, &run, ARGS("stop"));

	assert_int_equal(fake_count(calls, "hello"), 0);
	json_decref(calls);
}

static void a_latch_that_was_not_written_is_told(void **state)
{
	static const char *const latch[] = {
		">latch", "={\"cause\":\"latch-asked\",\"kept\":false,\"fault\":\"the disk is full\"}", NULL};

	(void)state;
	run_expect_against(latch, ARGS("latch"), TD_EXIT_DONE,
			   "latched stop:", "would not outlive a power loss: the disk is full");
}

static void a_stop_for_an_axis_that_there_is_not_stops_all(void **state)
{
	static const char *const script[] = {">stop", NO_SUCH_AXIS, ">stop", STOPPED_ANSWER, NULL};
	struct run run;
	json_t *calls = run_against(script, &run, ARGS("stop", "bom"));

	(void)state;
	run_expect(&run, TD_EXIT_USAGE, "all axes: the stop was carried out", "did you mean \"boom\"?");
	run_expect(&run, TD_EXIT_USAGE, "", "all axes were stopped instead");
	assert_null(json_object_get(json_array_get(calls, 1), "params"));
	json_decref(calls);
}

static void a_refusal_is_4_with_sentence_and_remedy(void **state)
{
	static const char *const script[] = {">reset", REFUSAL("still-there"), NULL};

	(void)state;
	run_expect_against(script, ARGS("reset"), TD_EXIT_REFUSED, "",
			   "refused: the sentence (R2)\ntripdog: what to do: the remedy\n");
	run_expect_against(script, ARGS("reset", "--json"), TD_EXIT_REFUSED, "{\"error\":{\"code\":-32001",
			   "the sentence");
}

static void R11_a_refusal_that_ends_by_itself_says_when(void **state)
{
	static const char *const script[] = {">reset", REFUSAL_FOR_NOW, NULL};

	(void)state;
	run_expect_against(script, ARGS("reset", "boom"), TD_EXIT_REFUSED, "",
			   "what to do: the remedy\ntripdog: possible again in 90.0 s\n");
}

static void an_axis_that_there_is_not_is_2(void **state)
{
	static const char *const script[] = {">reset", NO_SUCH_AXIS, NULL};

	(void)state;
	run_expect_against(script, ARGS("reset", "bom"), TD_EXIT_USAGE, "", "did you mean \"boom\"?");
}

static void a_lost_connection_is_7(void **state)
{
	static const char *const closed[] = {">stop", ".", NULL};
	static const char *const silent[] = {">stop", NULL};
	static const char *const garbage[] = {">stop", "<hello", NULL};

	(void)state;
	run_expect_against(closed, ARGS("stop"), TD_EXIT_LOST, "", "the connection");
	run_expect_against(silent, ARGS("stop", "--timeout", "30ms"), TD_EXIT_LOST, "",
			   "did not answer in time");
	run_expect_against(garbage, ARGS("stop"), TD_EXIT_LOST, "", "does not speak JSON");
}

static void a_status_of_another_shape_is_7(void **state)
{
	static const char *const script[] = {">describe", "={}", ">status", "={\"armed\":true}", NULL};

	(void)state;
	run_expect_against(script, ARGS("status"), TD_EXIT_LOST, "", "same version");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_wrong_command_line_is_2),
		cmocka_unit_test(nobody_at_the_socket_is_3),
		cmocka_unit_test(an_unreadable_configuration_is_2),
		cmocka_unit_test(help_and_version_are_0),
		cmocka_unit_test(the_keepers_socket_is_used_where_it_can_be_else_the_visitors),
		cmocka_unit_test(a_chosen_socket_is_the_only_one_tried),
		cmocka_unit_test(status_draws_the_machine),
		cmocka_unit_test(in_a_pipe_there_are_no_escapes),
		cmocka_unit_test(json_prints_the_result_as_it_came),
		cmocka_unit_test(describe_lists_what_there_is),
		cmocka_unit_test(stop_latch_reset_and_untwisted_tell_what_became_of_them),
		cmocka_unit_test(stop_and_reset_pass_the_axis_on),
		cmocka_unit_test(a_daemon_of_another_version_is_told_and_stopped_all_the_same),
		cmocka_unit_test(a_latch_that_was_not_written_is_told),
		cmocka_unit_test(a_stop_for_an_axis_that_there_is_not_stops_all),
		cmocka_unit_test(a_refusal_is_4_with_sentence_and_remedy),
		cmocka_unit_test(R11_a_refusal_that_ends_by_itself_says_when),
		cmocka_unit_test(an_axis_that_there_is_not_is_2),
		cmocka_unit_test(a_lost_connection_is_7),
		cmocka_unit_test(a_status_of_another_shape_is_7),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
