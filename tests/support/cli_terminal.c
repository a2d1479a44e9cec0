/* SPDX-License-Identifier: MIT */
#include "tests/support/cli_terminal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <pty.h>
#include <stdbool.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/cli_run.h"

enum { PATIENCE_MS = 20000 };

static void become_program(const struct fake_server *server, const char *const *args, const char *variable)
{
	static char name[] = "tripdog";
	static char locale[] = "LC_ALL=C.UTF-8";
	static char term[] = "TERM=xterm";
	char *environment[] = {locale, term, variable ? strdup(variable) : NULL, NULL};
	const char *all[RUN_ARGS_MAX];
	char *argv[RUN_ARGS_MAX] = {name};

	run_socket_args(server, args, all);
	for (size_t i = 0; all[i]; i++)
		argv[i + 1] = strdup(all[i]);
	(void)execve(run_program_path(), argv, environment);
	_exit(126);
}

void terminal_open(struct terminal *terminal, const struct fake_server *server, const char *const *args,
		   const char *variable, unsigned short rows)
{
	struct winsize size = {.ws_row = rows, .ws_col = 80};

	*terminal = (struct terminal){.fd = -1};
	terminal->pid = forkpty(&terminal->fd, NULL, NULL, &size);
	assert_true(terminal->pid >= 0);
	if (terminal->pid == 0)
		become_program(server, args, variable);
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

void terminal_await(struct terminal *terminal, const char *text)
{
	while (!strstr(terminal->seen, text))
		if (!look(terminal))
			fail_msg("never saw \"%s\" but: %s", text, terminal->seen);
}

void terminal_type(const struct terminal *terminal, const char *keys)
{
	assert_int_equal(write(terminal->fd, keys, strlen(keys)), strlen(keys));
}

void terminal_end(struct terminal *terminal)
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

void terminal_hang_up(struct terminal *terminal)
{
	int status = 0;

	(void)close(terminal->fd);
	assert_int_equal(waitpid(terminal->pid, &status, 0), terminal->pid);
	terminal->code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}
