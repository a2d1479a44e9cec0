/* SPDX-License-Identifier: MIT */
/* Traces as they come: from a pipe, however long they are, with entries missing in the middle. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "tests/support/long_run.h"
#include "tests/support/replay_case.h"

enum { SHORT_BYTES = 500000, LONG_BYTES = 8000000, MORE_KB_MAX = 256 };

static pid_t start_writer(const int fd[2], int64_t bytes)
{
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	(void)close(fd[0]);
	FILE *out = fdopen(fd[1], "w");
	int64_t steps = long_run_write(out, bytes);

	_exit(fclose(out) == 0 && steps > 0 ? 0 : 1);
}

/* In a process of its own, whose peak can be seen. */
static pid_t start_replay(const int fd[2])
{
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	const struct td_replay_order order = {.shown_as = "pipe"};
	struct td_error err;
	FILE *told = fopen("/dev/null", "w");

	(void)close(fd[1]);
	_exit((int)td_replay_file(fdopen(fd[0], "r"), &order, told, &err));
}

static long peak_kb(int64_t bytes)
{
	struct rusage used;
	int fd[2];
	int status = -1;

	fflush(NULL);
	assert_int_equal(pipe(fd), 0);
	pid_t writer = start_writer(fd, bytes);
	pid_t replay = start_replay(fd);

	close(fd[0]);
	close(fd[1]);
	assert_int_equal(wait4(replay, &status, 0, &used), replay);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), TD_REPLAY_SAME);
	assert_int_equal(waitpid(writer, &status, 0), writer);
	assert_int_equal(status, 0);
	return used.ru_maxrss;
}

static void memory_does_not_grow_with_the_trace(void **state)
{
	long small = peak_kb(SHORT_BYTES);
	long large = peak_kb(LONG_BYTES);

	(void)state;
	printf("# measured: replay of 0.5 MB: peak %ld kB, of 8 MB: %ld kB\n", small, large);
	assert_true(large - small < MORE_KB_MAX);
}

/* Wherever it is: what comes before is compared, and nothing is taken for a difference. */
static void entries_that_are_missing_end_the_comparison_and_are_told(void **state)
{
	const struct scenario *scenario =
		replay_scenario("R4 an end not reached in the learned time with margin is a trip");

	(void)state;
	for (uint64_t first = 1; first < 60; first++) {
		struct taped taped;

		assert_int_equal(tape_scenario_with_gap(scenario, first, 3, &taped), 0);
		struct replayed replayed = replay_bytes(taped.trace, taped.length, NULL, false);

		if (replayed.verdict != TD_REPLAY_SAME ||
		    !strstr(replayed.told, "  3 entries are missing, the first at +") ||
		    !strstr(replayed.told, "compared up to there"))
			fail_msg("from entry %d: %s%s", (int)first, replayed.told, replayed.err.text);
		free(replayed.told);
		taped_free(&taped);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(memory_does_not_grow_with_the_trace),
		cmocka_unit_test(entries_that_are_missing_end_the_comparison_and_are_told),
	};

	return cmocka_run_group_tests_name("stream", tests, NULL, NULL);
}
