/* SPDX-License-Identifier: MIT */
/* Runs the built tripdog and catches what it says. */
#ifndef TD_TESTS_CLI_RUN_H
#define TD_TESTS_CLI_RUN_H

#include <sys/types.h>

#include <jansson.h>

#include "tests/support/cli_server.h"

enum { RUN_TEXT_MAX = 32768, RUN_ARGS_MAX = 16 };

struct run {
	pid_t pid;
	int code; /* exit code, or -signal */
	int out_fd;
	int err_fd;
	char out[RUN_TEXT_MAX];
	char err[RUN_TEXT_MAX];
};

/* Starts it with these arguments (ending with NULL) and an environment of LC_ALL=C.UTF-8, TZ=UTC0 and
 * TERM=xterm alone. Fails the running test if it cannot. */
void run_start(struct run *run, const char *const *args);

/* Waits for its end, at most 20 s (then it is killed), and fills in the rest. */
void run_wait(struct run *run);

/* Both. */
void run_program(struct run *run, const char *const *args);

/* Waits until its standard output so far contains the text, at most 20 s; fails the running test otherwise. */
void run_await_output(struct run *run, const char *text);

/* "--socket PATH" of the server in front of the arguments; `all` has room for RUN_ARGS_MAX. */
void run_socket_args(const struct fake_server *server, const char *const *args, const char **all);

/* Runs against a script to both ends; the calls it made are the caller's. */
json_t *run_against(const char *const *script, struct run *run, const char *const *args);

/* Fails the running test unless the program ended with this code and said these words on standard output and
 * standard error ("" = anything). */
void run_expect(const struct run *run, int code, const char *out, const char *err);

/* Both, where nobody asks for the calls. */
void run_expect_against(const char *const *script, const char *const *args, int code, const char *out,
			const char *err);

/* Path of the tripdog beside the running test program's build directory. */
const char *run_program_path(void);

#endif
