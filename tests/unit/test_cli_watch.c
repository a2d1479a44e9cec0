/* SPDX-License-Identifier: MIT */
/* tripdog status --watch on a terminal of its own. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "tests/support/cli_run.h"
#include "tests/support/cli_server.h"
#include "tests/support/cli_terminal.h"
#include "tests/unit/cli_script.h"
#include "tests/unit/cli_states.h"

#define FIRST  ">describe", "=" DESCRIBE, ">follow", "={}", ">status", "=" RESTING
#define CHANGE NEWS("started", "move", "the way is powered"), ">status", "=" STOPPED

static const char *const watch[] = {"status", "--watch", NULL};

static void page_and_cursor_are_given_back(const struct terminal *terminal)
{
	const char *away = strstr(terminal->seen, "\033[?1049h\033[?25l");
	const char *back = strstr(terminal->seen, "\033[?25h\033[?1049l");

	assert_non_null(away);
	assert_non_null(back);
	assert_true(away < back);
	assert_null(strstr(back + strlen("\033[?25h\033[?1049l"), "\033["));
}

static void q_and_interrupt_end_it_and_give_the_terminal_back(void **state)
{
	static const char *const keys[] = {"q", "Q", "xyzq", "\003"};
	static const char *const script[] = {FIRST, NULL};

	(void)state;
	for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); i++) {
		struct fake_server *server = fake_start(script);
		struct terminal terminal;

		terminal_open(&terminal, server, watch, NULL, 40);
		terminal_await(&terminal, "q or ^C ends");
		terminal_type(&terminal, keys[i]);
		terminal_end(&terminal);
		fake_finish(server);
		assert_int_equal(terminal.code, TD_EXIT_DONE);
		page_and_cursor_are_given_back(&terminal);
		/* Keys are not echoed. */
		assert_null(strstr(terminal.seen, "xyz"));
	}
}

static void news_draw_the_page_again(void **state)
{
	static const char *const script[] = {FIRST, CHANGE, NULL};
	struct fake_server *server = fake_start(script);
	struct terminal terminal;

	(void)state;
	terminal_open(&terminal, server, watch, NULL, 40);
	terminal_await(&terminal, "NOT ARMED");
	terminal_await(&terminal, "q or ^C ends\033[K\033[J");
	terminal_type(&terminal, "q");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);
	assert_int_equal(fake_count(calls, "status"), 2);
	json_decref(calls);
	assert_int_equal(terminal.code, TD_EXIT_DONE);
}

static void while_something_moves_it_asks_by_itself_and_at_rest_it_does_not(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">follow", "={}",
					     ">status",   "=" BUSY,     ">status", "=" BUSY,
					     ">status",   "=" STOPPED,  NULL};
	struct fake_server *server = fake_start(script);
	struct terminal terminal;

	(void)state;
	terminal_open(&terminal, server, watch, NULL, 40);
	terminal_await(&terminal, "NOT ARMED");
	(void)usleep(500000); /* it would have asked twice more in that time */
	terminal_type(&terminal, "q");
	terminal_end(&terminal);
	json_t *calls = fake_end(server);
	assert_int_equal(fake_count(calls, "status"), 3);
	json_decref(calls);
}

static void a_lost_daemon_is_told_after_the_terminal_is_given_back(void **state)
{
	static const char *const script[] = {FIRST, "~50", ".", NULL};
	struct fake_server *server = fake_start(script);
	struct terminal terminal;

	(void)state;
	terminal_open(&terminal, server, watch, NULL, 40);
	terminal_end(&terminal);
	fake_finish(server);
	assert_int_equal(terminal.code, TD_EXIT_LOST);
	page_and_cursor_are_given_back(&terminal);
	assert_non_null(strstr(strstr(terminal.seen, "\033[?1049l"), "closed the connection"));
}

static void a_low_window_says_that_something_is_below(void **state)
{
	static const char *const script[] = {FIRST, NULL};
	struct fake_server *server = fake_start(script);
	struct terminal terminal;

	(void)state;
	terminal_open(&terminal, server, watch, NULL, 6);
	terminal_await(&terminal, "q or ^C ends");
	terminal_type(&terminal, "q");
	terminal_end(&terminal);
	fake_finish(server);
	assert_non_null(strstr(terminal.seen, "the window is too low for the rest"));
	assert_null(strstr(terminal.seen, "switches:"));
}

static void suspended_it_gives_the_terminal_back_and_takes_it_again(void **state)
{
	static const char *const script[] = {FIRST, ">status", "=" RESTING, NULL};
	struct fake_server *server = fake_start(script);
	struct terminal terminal;
	int status = 0;

	(void)state;
	terminal_open(&terminal, server, watch, NULL, 40);
	terminal_await(&terminal, "q or ^C ends");
	assert_int_equal(kill(terminal.pid, SIGTSTP), 0);
	assert_int_equal(waitpid(terminal.pid, &status, WUNTRACED), terminal.pid);
	assert_true(WIFSTOPPED(status));
	terminal_await(&terminal, "\033[?1049l");
	struct termios stopped;
	assert_int_equal(tcgetattr(terminal.fd, &stopped), 0);
	assert_int_equal(stopped.c_lflag, terminal.before.c_lflag);
	terminal.used = 0;
	memset(terminal.seen, 0, sizeof(terminal.seen));
	assert_int_equal(kill(terminal.pid, SIGCONT), 0);
	terminal_await(&terminal, "\033[?1049h");
	terminal_await(&terminal, "q or ^C ends");
	terminal_type(&terminal, "q");
	terminal_end(&terminal);
	fake_finish(server);
	assert_int_equal(terminal.code, TD_EXIT_DONE);
}

static void emphasis_is_for_terminals_and_can_be_turned_off(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">status", "=" STOPPED, NULL};
	static const struct {
		const char *args[3];
		const char *variable;
		bool escapes;
	} cases[] = {{{"status"}, NULL, true},
		     {{"status", "--no-colour"}, NULL, false},
		     {{"status"}, "NO_COLOR=1", false}};

	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct fake_server *server = fake_start(script);
		struct terminal terminal;

		terminal_open(&terminal, server, cases[i].args, cases[i].variable, 40);
		terminal_end(&terminal);
		fake_finish(server);
		assert_int_equal(terminal.code, TD_EXIT_DONE);
		assert_int_equal(strchr(terminal.seen, '\033') != NULL, cases[i].escapes);
		assert_non_null(strstr(terminal.seen, "NOT ARMED"));
	}
}

static void in_a_pipe_one_page_follows_the_other(void **state)
{
	static const char *const script[] = {FIRST, CHANGE, NULL};
	struct fake_server *server = fake_start(script);
	const char *const args[] = {"status", "--watch", NULL};
	const char *all[RUN_ARGS_MAX];
	struct run run;

	(void)state;
	run_socket_args(server, args, all);
	run_start(&run, all);
	run_await_output(&run, "switches: boom_bottom ACTIVE, stop_contact ACTIVE\n");
	assert_int_equal(kill(run.pid, SIGTERM), 0);
	run_wait(&run);
	fake_finish(server);
	run_expect(&run, TD_EXIT_DONE, "stop_contact clear\n\n glasshouse cart", "");
	assert_null(strchr(run.out, '\033'));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(q_and_interrupt_end_it_and_give_the_terminal_back),
		cmocka_unit_test(news_draw_the_page_again),
		cmocka_unit_test(while_something_moves_it_asks_by_itself_and_at_rest_it_does_not),
		cmocka_unit_test(a_lost_daemon_is_told_after_the_terminal_is_given_back),
		cmocka_unit_test(a_low_window_says_that_something_is_below),
		cmocka_unit_test(suspended_it_gives_the_terminal_back_and_takes_it_again),
		cmocka_unit_test(emphasis_is_for_terminals_and_can_be_turned_off),
		cmocka_unit_test(in_a_pipe_one_page_follows_the_other),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
