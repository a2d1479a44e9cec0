/* SPDX-License-Identifier: MIT */
/* What the real daemon recorded of a real drive, replayed by the program: no difference, and with one number changed the
 * difference that this number makes. */
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

#include "tests/support/stage.h"

enum { SAME = 0, DIFFERENT = 3, SAID_MAX = 65536, RAISE_MS = 2600, AWAKE_MS = 10500 };

static struct stage stage;
static char said[SAID_MAX];

/* `$sim` is the program, `$traces` the files of the daemon. Returns the exit status. */
static int shell(const char *line)
{
	char command[2048];
	int fd[2];
	int status = -1;

	snprintf(command, sizeof(command), "{ sim=%s; dir=%s; traces=$dir/state/traces; %s\n} 2>&1",
		 stage_program("tripdog-sim"), stage.dir, line);
	assert_int_equal(pipe(fd), 0);
	pid_t pid = fork();

	if (pid == 0) {
		(void)dup2(fd[1], STDOUT_FILENO);
		(void)close(fd[0]);
		(void)execlp("bash", "bash", "-c", command, NULL);
		_exit(127);
	}
	close(fd[1]);
	FILE *out = fdopen(fd[0], "r");
	size_t length = fread(said, 1, sizeof(said) - 1, out);

	fclose(out);
	assert_int_equal(waitpid(pid, &status, 0), pid);
	said[length] = '\0';
	return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void expect(const char *line, int code, const char *words)
{
	int got = shell(line);

	if (got != code || !strstr(said, words))
		fail_msg("%s\nended with %d, not %d, or did not say \"%s\":\n%s", line, got, code, words,
			 said);
}

/* Up and down, turned round while the drive runs, a jam that trips, the latched stop; long enough awake for a mark. */
static void drive(void)
{
	struct td_link *visitor = stage_link(&stage, "visitor.sock");
	int hold = 1;

	assert_string_equal(stage_hold(stage.keeper, "boom", "raise", hold++, TD_MS(4000)), "end-reached");
	assert_string_equal(stage_hold(visitor, "drive", "forward", 1, TD_MS(600)), "still-held");
	assert_string_equal(stage_hold(visitor, "drive", "backward", 2, TD_MS(1000)), "still-held");
	assert_string_equal(stage_hold(stage.keeper, "steering", "left", hold++, TD_MS(1500)), "hold-limit");
	assert_string_equal(stage_hold(stage.keeper, "boom", "lower", hold++, TD_MS(4000)), "end-reached");
	td_link_close(visitor);
	json_decref(stage_poke(&stage, "jam boom"));
	assert_string_equal(stage_hold(stage.keeper, "boom", "raise", hold++, TD_MS(4000)), "leave-limit");
	json_decref(stage_poke(&stage, "free boom"));
	json_decref(stage_call(stage.keeper, "latch", NULL));
	json_decref(stage_call(stage.keeper, "reset", NULL));
	stage_sleep(TD_MS(400));
	assert_string_equal(stage_hold(stage.keeper, "drive", "forward", hold++, TD_MS(AWAKE_MS)),
			    "still-held");
	json_decref(stage_call(stage.keeper, "stop", NULL));
}

static int record(void **state)
{
	(void)state;
	stage_open(&stage);
	drive();
	return stage_end_daemon(&stage) < 0 ? -1 : 0;
}

static int clean(void **state)
{
	(void)state;
	stage_close(&stage);
	return 0;
}

static void what_the_daemon_recorded_replays_without_a_difference(void **state)
{
	(void)state;
	expect("$sim replay $traces/*.vcd", SAME, ": no difference");
	assert_non_null(strstr(said, "a trip of version"));
	assert_null(strstr(said, " 0 pieces of news"));
	expect("for f in $traces/*.vcd; do cat $f | $sim replay - || exit; done", SAME, ": no difference");
	printf("# measured: %.*s\n", (int)strcspn(strchr(said, '\n') + 3, "\n"), strchr(said, '\n') + 3);
}

static void at_its_marks_all_that_is_counted_is_the_same(void **state)
{
	(void)state;
	expect("$sim replay $traces/run-*.vcd", SAME, ": no difference");
	expect("$sim replay $traces/run-*.vcd | grep -c ' [1-9][0-9]* marks: no difference'", SAME, "1");
}

static void from_its_record_as_far_as_it_can_be_compared(void **state)
{
	(void)state;
	expect("$sim replay $traces/trip-*.vcd --from-record", SAME, ": no difference");
}

static void another_number_makes_the_difference_that_it_must(void **state)
{
	(void)state;
	expect("sed '/way boom raise/,/^$/s/leave_ms = 500/leave_ms = 400/' $dir/cart.conf >$dir/other.conf; "
	       "$sim replay $traces/trip-*.vcd --config $dir/other.conf --out $dir/other.vcd",
	       DIFFERENT, "    [way boom raise] leave_ms: 400; in the trace 500");
	assert_non_null(strstr(said, "this core:   leave-limit boom; outputs none"));
	assert_non_null(strstr(said, "R5   leave-limit, of this core only"));
	expect("$sim replay $dir/other.vcd", SAME, "a replay of version");
	expect("$sim draw $dir/other.vcd", SAME, "<svg");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_the_daemon_recorded_replays_without_a_difference),
		cmocka_unit_test(at_its_marks_all_that_is_counted_is_the_same),
		cmocka_unit_test(from_its_record_as_far_as_it_can_be_compared),
		cmocka_unit_test(another_number_makes_the_difference_that_it_must),
	};

	return cmocka_run_group_tests_name("replay_daemon", tests, record, clean);
}
