/* SPDX-License-Identifier: MIT */
/* tripdog keys on a terminal of its own: a way moves while its key comes again and again, and every way out lets go. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "tests/support/cli_run.h"
#include "tests/support/cli_server.h"
#include "tests/support/cli_terminal.h"
#include "tests/unit/cli_script.h"

#define FIRST ">describe", DESCRIPTION, ">follow", "={}"
#define READY "x ends"

static const char *const args[] = {"keys", NULL};
static struct terminal terminal;

static struct fake_server *start(const char *const *script)
{
	struct fake_server *server = fake_start(script);

	terminal_open(&terminal, server, args, NULL, 40);
	terminal_await(&terminal, READY);
	return server;
}

static void a_held_key_is_a_hold_that_is_renewed_and_let_go(void **state)
{
	static const char *const script[] = {FIRST, "?", NULL};
	struct fake_server *server = start(script);

	(void)state;
	assert_non_null(strstr(terminal.seen, "a boom lower, q raise"));
	for (int i = 0; i < 10; i++) {
		terminal_type(&terminal, "q");
		(void)usleep(30000);
	}
	(void)usleep(400000);
	terminal_type(&terminal, "x");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);

	assert_int_equal(terminal.code, TD_EXIT_DONE);
	/* One hold, renewed; never a second one. */
	assert_true(fake_count(calls, "request") >= 3);
	for (size_t i = 0; i < fake_count(calls, "request"); i++) {
		assert_int_equal(fake_number(calls, "request", i, "hold"), 1);
		assert_int_equal(fake_number(calls, "request", i, "seq"), i);
	}
	assert_int_equal(fake_count(calls, "release"), 1);
	json_decref(calls);
}

static void the_other_key_is_another_hold_and_space_stops_everything(void **state)
{
	static const char *const script[] = {FIRST, "?", NULL};
	struct fake_server *server = start(script);

	(void)state;
	terminal_type(&terminal, "qa x");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);

	assert_int_equal(fake_count(calls, "request"), 2);
	assert_int_equal(fake_number(calls, "request", 0, "hold"), 1);
	assert_int_equal(fake_number(calls, "request", 1, "hold"), 2);
	assert_int_equal(fake_count(calls, "stop"), 1);
	json_decref(calls);
}

static void R11_what_the_daemon_ended_does_not_begin_again_while_the_key_is_down(void **state)
{
	static const char *const script[] = {FIRST, ">request", "={}", NEWS("end-reached", "stop", "x"),
					     "?",   NULL};
	struct fake_server *server = start(script);

	(void)state;
	terminal_type(&terminal, "q");
	terminal_await(&terminal, "end-reached");
	for (int i = 0; i < 10; i++) {
		terminal_type(&terminal, "q");
		(void)usleep(30000);
	}
	terminal_type(&terminal, "x");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);

	assert_int_equal(fake_count(calls, "request"), 1);
	json_decref(calls);
}

static void a_refusal_is_told_once(void **state)
{
	static const char *const script[] = {FIRST, ">request", REFUSAL("latched"), "?", NULL};
	struct fake_server *server = start(script);

	(void)state;
	terminal_type(&terminal, "q");
	terminal_await(&terminal, "boom raise: the sentence");
	terminal_type(&terminal, "qqx");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);

	assert_int_equal(fake_count(calls, "request"), 1);
	json_decref(calls);
}

static void a_terminal_that_goes_away_ends_it(void **state)
{
	static const char *const script[] = {FIRST, "?", NULL};
	struct fake_server *server = start(script);

	(void)state;
	terminal_type(&terminal, "q");
	(void)usleep(100000);
	terminal_hang_up(&terminal);
	fake_finish(server);
	assert_int_equal(terminal.code, TD_EXIT_HOLD_ENDED);
}

static void before_it_is_suspended_it_lets_go(void **state)
{
	static const char *const script[] = {FIRST, "?", NULL};
	struct fake_server *server = start(script);
	int status = 0;

	(void)state;
	terminal_type(&terminal, "q");
	(void)usleep(100000);
	assert_int_equal(kill(terminal.pid, SIGTSTP), 0);
	assert_int_equal(waitpid(terminal.pid, &status, WUNTRACED), terminal.pid);
	assert_true(WIFSTOPPED(status));
	assert_int_equal(kill(terminal.pid, SIGCONT), 0);
	(void)usleep(100000);
	terminal_type(&terminal, "x");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);

	assert_int_equal(fake_count(calls, "release"), 1);
	json_decref(calls);
}

static void without_a_terminal_it_says_so(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("keys"));
	run_expect(&run, TD_EXIT_USAGE, "", "no terminal");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_held_key_is_a_hold_that_is_renewed_and_let_go),
		cmocka_unit_test(the_other_key_is_another_hold_and_space_stops_everything),
		cmocka_unit_test(R11_what_the_daemon_ended_does_not_begin_again_while_the_key_is_down),
		cmocka_unit_test(a_refusal_is_told_once),
		cmocka_unit_test(a_terminal_that_goes_away_ends_it),
		cmocka_unit_test(before_it_is_suspended_it_lets_go),
		cmocka_unit_test(without_a_terminal_it_says_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
