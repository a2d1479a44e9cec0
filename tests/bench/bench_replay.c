/* SPDX-License-Identifier: MIT */
/*
 * How fast a trace is replayed, beside another program (vcd2fst) that reads the same bytes, and how much memory that
 * takes: 1 MB, 100 MB and 1 GB, made as they are read, through a pipe. Processor time, so that other programs do
 * not count. `bench_replay BUILD [BYTES ...]`; `bench_replay --write BYTES` writes such a trace on standard output.
 */
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/long_run.h"

enum { PATH_BYTES = 512 };

struct measured {
	int code;
	double cpu_s;
	long peak_kb;
	int64_t steps;
};

/* The process that writes the trace into the pipe, and then how many steps it wrote into the other. */
static pid_t start_writer(int64_t bytes, const int pipe_fd[2], const int count_fd[2])
{
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	(void)close(pipe_fd[0]);
	FILE *out = fdopen(pipe_fd[1], "w");
	int64_t steps = out ? long_run_write(out, bytes) : -1;

	(void)fclose(out);
	_exit(write(count_fd[1], &steps, sizeof(steps)) == sizeof(steps) && steps > 0 ? 0 : 1);
}

static pid_t start_reader(char *const *argv, const int pipe_fd[2])
{
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	(void)close(pipe_fd[1]);
	(void)dup2(pipe_fd[0], STDIN_FILENO);
	(void)dup2(open("/dev/null", O_WRONLY), STDOUT_FILENO);
	(void)execvp(argv[0], argv);
	perror(argv[0]);
	_exit(127);
}

static double seconds(const struct timeval *time)
{
	return (double)time->tv_sec + (double)time->tv_usec * 1e-6;
}

/* A program that reads a trace of this size on its standard input. */
static struct measured measure(char *const *argv, int64_t bytes)
{
	struct measured measured = {.code = -1, .steps = -1};
	struct rusage used;
	int pipe_fd[2];
	int count_fd[2];
	int status = 0;

	if (pipe(pipe_fd) != 0 || pipe(count_fd) != 0)
		return measured;
	pid_t writer = start_writer(bytes, pipe_fd, count_fd);
	pid_t reader = start_reader(argv, pipe_fd);

	(void)close(pipe_fd[0]);
	(void)close(pipe_fd[1]);
	if (wait4(reader, &status, 0, &used) == reader) {
		measured.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
		measured.cpu_s = seconds(&used.ru_utime) + seconds(&used.ru_stime);
		measured.peak_kb = used.ru_maxrss;
	}
	(void)close(count_fd[1]);
	if (read(count_fd[0], &measured.steps, sizeof(measured.steps)) != (ssize_t)sizeof(measured.steps))
		measured.steps = -1;
	(void)close(count_fd[0]);
	(void)waitpid(writer, NULL, 0);
	return measured;
}

static int compare(const char *build, int64_t bytes)
{
	static char program[PATH_BYTES];
	static char fst[PATH_BYTES];
	static char other[] = "vcd2fst";
	static char verb[] = "replay";
	static char standard[] = "-";
	char *const ours[] = {program, verb, standard, NULL};
	char *const theirs[] = {other, standard, fst, NULL};

	(void)snprintf(program, sizeof(program), "%s/tripdog-sim", build);
	(void)snprintf(fst, sizeof(fst), "%s/bench_replay.fst", build);
	struct measured replay = measure(ours, bytes);
	struct measured read = measure(theirs, bytes);

	(void)unlink(fst);
	if (replay.code != 0 || read.code != 0 || replay.steps <= 0) {
		printf("# replay ended with %d, vcd2fst with %d\n", replay.code, read.code);
		return 1;
	}
	printf("# measured: %5.0f MB, %9" PRId64 " steps: replay %.2f s (%.0f steps a second), peak %ld kB; "
	       "vcd2fst %.2f s, peak %ld kB; ratio %.2f\n",
	       (double)bytes / 1e6, replay.steps, replay.cpu_s, (double)replay.steps / replay.cpu_s,
	       replay.peak_kb, read.cpu_s, read.peak_kb, replay.cpu_s / read.cpu_s);
	return fflush(stdout);
}

int main(int argc, char **argv)
{
	static const int64_t sizes[] = {1000000, 100000000, 1000000000};
	int failed = 0;

	if (argc == 3 && strcmp(argv[1], "--write") == 0)
		return long_run_write(stdout, strtoll(argv[2], NULL, 10)) > 0 && fflush(stdout) == 0 ? 0 : 1;
	for (int i = 2; i < argc; i++)
		failed |= compare(argv[1], strtoll(argv[i], NULL, 10));
	for (size_t i = 0; argc == 2 && i < sizeof(sizes) / sizeof(sizes[0]); i++)
		failed |= compare(argv[1], sizes[i]);
	return failed ? 1 : 0;
}
