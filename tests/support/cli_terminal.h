/* SPDX-License-Identifier: MIT */
/* The built tripdog on a terminal of its own, against a daemon made of a script. */
#ifndef TD_TESTS_CLI_TERMINAL_H
#define TD_TESTS_CLI_TERMINAL_H

#include <sys/types.h>
#include <termios.h>

#include "tests/support/cli_server.h"

struct terminal {
	pid_t pid;
	int fd;
	struct termios before;
	char seen[65536]; /* all it has written */
	size_t used;
	int code; /* exit code, after terminal_end() */
};

/* Starts tripdog with `args` (ends with NULL) and one more variable of the environment ("NAME=VALUE", or NULL). */
void terminal_open(struct terminal *terminal, const struct fake_server *server, const char *const *args,
		   const char *variable, unsigned short rows);

/* Waits until the text was written; fails the test where it never is. */
void terminal_await(struct terminal *terminal, const char *text);

void terminal_type(const struct terminal *terminal, const char *keys);

/* Reads to the end and checks that the terminal was given back as it was. */
void terminal_end(struct terminal *terminal);

/* Hangs up, as a window that is closed does, and waits for the end. */
void terminal_hang_up(struct terminal *terminal);

#endif
