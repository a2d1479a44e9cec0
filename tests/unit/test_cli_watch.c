/* SPDX-License-Identifier: MIT */
/* tripdog status --watch on a terminal of its own. */
#include <errno.h>
#include <poll.h>
#include <pty.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/cli_exit.h"
#include "tests/support/cli_run.h"
#include "tests/support/cli_server.h"
#include "tests/unit/cli_script.h"
#include "tests/unit/cli_states.h"

#define FIRST  ">describe", "=" DESCRIBE, ">follow", "={}", ">status", "=" RESTING
#define CHANGE NEWS("started", "move", "the way is powered"), ">status", "=" STOPPED

enum { PATIENCE_MS = 20000, SEEN_MAX = 65536 };

struct terminal {
	pid_t pid;
	int fd;
	struct termios before;
	char seen[SEEN_MAX];
	size_t used;
	int code;
};

/* `extra`: an option, or NO_COLOR for the environment, or "". */
static void become_program(const struct fake_server *server, const char *extra)
{
	static char name[] = "tripdog";
	static char locale[] = "LC_ALL=C.UTF-8";
	static char term[] = "TERM=xterm";
	static char no_colour[] = "NO_COLOR=1";
	char *environment[] = {locale, term, strcmp(extra, "NO_COLOR") == 0 ? no_colour : NULL, NULL};
	const char *args[] = {"status", extra[0] == '-' ? extra : NULL, NULL};
	const char *all[RUN_ARGS_MAX];
	char *argv[RUN_ARGS_MAX] = {name};

	run_socket_args(server, args, all);
	for (size_t i = 0; all[i]; i++)
		argv[i + 1] = strdup(all[i]);
	(void)execve(run_program_path(), argv, environment);
	_exit(126);
}

static void open_terminal(struct terminal *terminal, const struct fake_server *server, const char *extra,
			  unsigned short rows)
{
	struct winsize size = {.ws_row = rows, .ws_col = 80};

	*terminal = (struct terminal){.fd = -1};
	terminal->pid = forkpty(&terminal->fd, NULL, NULL, &size);
	assert_true(terminal->pid >= 0);
	if (terminal->pid == 0)
		become_program(server, extra);
	assert_int_equal(tcgetattr(terminal->fd, &terminal->before), 0);
}

/* False at the end, or when patience is over. */
static bool look(struct terminal *terminal)
{
	struct pollfd fd = {.fd = terminal->fd, .events = POLLIN};

	if (terminal->used + 1 >= sizeof(terminal->seen) || poll(&fd, 1, PATIENCE_MS) <= 0)
		return false;
	ssize_t got = read(terminal->fd, terminal->seen + terminal->used,
			   sizeof(terminal->seen) - terminal->used - 1);
	if (got <= 0)
		return false;
	terminal->used += (size_t)got;
	return true;
}

static void await(struct terminal *terminal, const char *text)
{
	while (!strstr(terminal->seen, text))
		if (!look(terminal))
			fail_msg("never saw \"%s\" but: %s", text, terminal->seen);
}

static void type(const struct terminal *terminal, const char *keys)
{
	assert_int_equal(write(terminal->fd, keys, strlen(keys)), strlen(keys));
}

/* Reads to the end and checks that the terminal was given back as it was. */
static void await_end(struct terminal *terminal)
{
	struct termios after;
	int status = 0;

	while (look(terminal))
		;
	assert_int_equal(waitpid(terminal->pid, &status, 0), terminal->pid);
	terminal->code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
	assert_int_equal(tcgetattr(terminal->fd, &after), 0);
	assert_int_equal(after.c_iflag, terminal->before.c_iflag);
	assert_int_equal(after.c_oflag, terminal->before.c_oflag);
	assert_int_equal(after.c_lflag, terminal->before.c_lflag);
	assert_int_equal(after.c_cc[VMIN], terminal->before.c_cc[VMIN]);
	assert_int_equal(after.c_cc[VTIME], terminal->before.c_cc[VTIME]);
	(void)close(terminal->fd);
}

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

		open_terminal(&terminal, server, "--watch", 40);
		await(&terminal, "q or ^C ends");
		type(&terminal, keys[i]);
		await_end(&terminal);
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
	open_terminal(&terminal, server, "--watch", 40);
	await(&terminal, "NOT ARMED");
	await(&terminal, "q or ^C ends\033[K\033[J");
	type(&terminal, "q");
	await_end(&terminal);
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
	open_terminal(&terminal, server, "--watch", 40);
	await(&terminal, "NOT ARMED");
	(void)usleep(500000); /* it would have asked twice more in that time */
	type(&terminal, "q");
	await_end(&terminal);
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
	open_terminal(&terminal, server, "--watch", 40);
	await_end(&terminal);
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
	open_terminal(&terminal, server, "--watch", 6);
	await(&terminal, "q or ^C ends");
	type(&terminal, "q");
	await_end(&terminal);
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
	open_terminal(&terminal, server, "--watch", 40);
	await(&terminal, "q or ^C ends");
	assert_int_equal(kill(terminal.pid, SIGTSTP), 0);
	assert_int_equal(waitpid(terminal.pid, &status, WUNTRACED), terminal.pid);
	assert_true(WIFSTOPPED(status));
	await(&terminal, "\033[?1049l");
	struct termios stopped;
	assert_int_equal(tcgetattr(terminal.fd, &stopped), 0);
	assert_int_equal(stopped.c_lflag, terminal.before.c_lflag);
	terminal.used = 0;
	memset(terminal.seen, 0, sizeof(terminal.seen));
	assert_int_equal(kill(terminal.pid, SIGCONT), 0);
	await(&terminal, "\033[?1049h");
	await(&terminal, "q or ^C ends");
	type(&terminal, "q");
	await_end(&terminal);
	fake_finish(server);
	assert_int_equal(terminal.code, TD_EXIT_DONE);
}

static void emphasis_is_for_terminals_and_can_be_turned_off(void **state)
{
	static const char *const script[] = {">describe", "=" DESCRIBE, ">status", "=" STOPPED, NULL};
	static const struct {
		const char *extra;
		bool escapes;
	} cases[] = {{"", true}, {"--no-colour", false}, {"NO_COLOR", false}};

	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct fake_server *server = fake_start(script);
		struct terminal terminal;

		open_terminal(&terminal, server, cases[i].extra, 40);
		await_end(&terminal);
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
