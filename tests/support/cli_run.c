/* SPDX-License-Identifier: MIT */
#include "tests/support/cli_run.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

enum { PATIENCE_MS = 20000, LOOK_MS = 2 };

const char *run_program_path(void)
{
	static char path[4096];
	ssize_t length = readlink("/proc/self/exe", path, sizeof(path) - sizeof("/tripdog"));

	assert_true(length > 0);
	path[length] = '\0';
	/* BUILD/tests/unit/test_x: three up. */
	for (int up = 0; up < 3; up++)
		*strrchr(path, '/') = '\0';
	memcpy(path + strlen(path), "/tripdog", sizeof("/tripdog"));
	return path;
}

static void become_program(const struct run *run, const char *const *args)
{
	static char name[] = "tripdog";
	static char locale[] = "LC_ALL=C.UTF-8";
	static char zone[] = "TZ=UTC0";
	static char term[] = "TERM=xterm";
	char *environment[] = {locale, zone, term, NULL};
	char *argv[RUN_ARGS_MAX] = {name};
	size_t count = 1;

	for (; args[count - 1] && count + 1 < RUN_ARGS_MAX; count++)
		argv[count] = strdup(args[count - 1]);
	(void)dup2(run->out_fd, STDOUT_FILENO);
	(void)dup2(run->err_fd, STDERR_FILENO);
	(void)execve(run_program_path(), argv, environment);
	_exit(126);
}

void run_start(struct run *run, const char *const *args)
{
	*run = (struct run){.out_fd = memfd_create("out", MFD_CLOEXEC),
			    .err_fd = memfd_create("err", MFD_CLOEXEC)};
	assert_true(run->out_fd >= 0 && run->err_fd >= 0);
	run->pid = fork();
	assert_true(run->pid >= 0);
	if (run->pid == 0)
		become_program(run, args);
}

static void read_all(int fd, char *text)
{
	ssize_t got = pread(fd, text, RUN_TEXT_MAX - 1, 0);

	text[got > 0 ? got : 0] = '\0';
}

void run_wait(struct run *run)
{
	int status = 0;
	pid_t ended = 0;

	for (int waited = 0; waited < PATIENCE_MS; waited += LOOK_MS) {
		ended = waitpid(run->pid, &status, WNOHANG);
		if (ended != 0)
			break;
		(void)usleep(LOOK_MS * 1000);
	}
	if (ended == 0) {
		(void)kill(run->pid, SIGKILL);
		(void)waitpid(run->pid, &status, 0);
	}
	run->code = WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
	read_all(run->out_fd, run->out);
	read_all(run->err_fd, run->err);
	(void)close(run->out_fd);
	(void)close(run->err_fd);
}

void run_program(struct run *run, const char *const *args)
{
	run_start(run, args);
	run_wait(run);
}

void run_await_output(struct run *run, const char *text)
{
	for (int waited = 0; waited < PATIENCE_MS; waited += LOOK_MS) {
		read_all(run->out_fd, run->out);
		if (strstr(run->out, text))
			return;
		(void)usleep(LOOK_MS * 1000);
	}
	fail_msg("the program never said \"%s\", but: %s", text, run->out);
}

void run_socket_args(const struct fake_server *server, const char *const *args, const char **all)
{
	size_t count = 0;

	all[count++] = "--socket";
	all[count++] = fake_path(server);
	for (; *args; args++)
		all[count++] = *args;
	all[count] = NULL;
}

/* Runs against the script; the calls it made are the caller's. */
json_t *run_against(const char *const *script, struct run *run, const char *const *args)
{
	struct fake_server *server = fake_start(script);
	const char *all[RUN_ARGS_MAX];

	run_socket_args(server, args, all);
	run_program(run, all);
	return fake_end(server);
}

void run_expect(const struct run *run, int code, const char *out, const char *err)
{
	if (run->code != code || !strstr(run->out, out) || !strstr(run->err, err))
		fail_msg("code %d (wanted %d)\nout: %s\n(wanted \"%s\")\nerr: %s\n(wanted \"%s\")", run->code,
			 code, run->out, out, run->err, err);
}

/* Runs, expects, and forgets the calls. */
void run_expect_against(const char *const *script, const char *const *args, int code, const char *out,
			const char *err)
{
	struct run run;

	json_decref(run_against(script, &run, args));
	run_expect(&run, code, out, err);
}
