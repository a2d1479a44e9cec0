/* SPDX-License-Identifier: MIT */
/* tripdog-sim replay from a shell: exit status, pipes, several traces, other configurations, what is written. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "tests/support/replay_case.h"

enum { SAME = 0, UNUSABLE = 1, USAGE = 2, DIFFERENT = 3, SAID_MAX = 65536 };

static char dir[] = "/tmp/tripdog-replay-XXXXXX";
static char said[SAID_MAX];

static void write_file(const char *name, const char *bytes, size_t length)
{
	char path[128];

	snprintf(path, sizeof(path), "%s/%s", dir, name);
	FILE *out = fopen(path, "w");

	assert_non_null(out);
	assert_int_equal(fwrite(bytes, 1, length, out), length);
	assert_int_equal(fclose(out), 0);
}

/* Runs a shell line in the directory of the traces; `sim` stands for the program. Returns its exit status. */
static int shell(const char *line)
{
	const char *build = getenv("TD_BUILD");
	char command[1024];
	char here[512];

	assert_non_null(getcwd(here, sizeof(here)));
	snprintf(command, sizeof(command),
		 "{ top=%s; sim=$top/%s/tripdog-sim; cd %s; set -o pipefail; %s\n} 2>&1", here,
		 build ? build : "build/plain", dir, line);
	int fd[2];

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
	int status = -1;
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

static int make_traces(void **state)
{
	struct taped taped;
	const struct scenario *scenario =
		replay_scenario("R4 an end not reached in the learned time with margin is a trip");

	(void)state;
	assert_non_null(mkdtemp(dir));
	assert_int_equal(tape_scenario(scenario, &taped), 0);
	write_file("trip.vcd", taped.trace, taped.length);
	write_file("cut.vcd", taped.trace, taped.length - 200);
	write_file("half-a-head.vcd", taped.trace, 300);
	write_file("own.conf", taped.config_text, strlen(taped.config_text));
	char *other = replay_edit(taped.config_text, "[way boom raise]", "margin_percent", "113");

	write_file("other.conf", other, strlen(other));
	free(other);
	other = replay_edit(taped.config_text, "[machine]", "supply_ma", "none");
	write_file("broken.conf", other, strlen(other));
	free(other);
	/* another build's core: its tag is another one */
	char *build = strstr(taped.trace, "\nbuild ");

	assert_non_null(build);
	build[8] = build[8] == 'x' ? 'y' : 'x';
	write_file("head-changed.vcd", taped.trace, taped.length);
	taped_free(&taped);
	return 0;
}

static int remove_traces(void **state)
{
	(void)state;
	return shell("rm -f *; cd /; rmdir \"$OLDPWD\"");
}

static void a_trace_of_the_same_rules_is_the_same(void **state)
{
	(void)state;
	expect("$sim replay trip.vcd", SAME, "compared 62 steps, 4 pieces of news, 8 marks: no difference");
	expect("cat trip.vcd | $sim replay -", SAME, "standard input: a run of version test");
	expect("$sim replay trip.vcd --config own.conf", SAME,
	       "Run by own.conf, which has the same settings.");
}

static void other_rules_differ_where_they_must_and_say_why(void **state)
{
	(void)state;
	expect("$sim replay trip.vcd --config other.conf", DIFFERENT,
	       "At +3.260000 s, when a time of this core was over:\n    this core:   travel-limit boom; "
	       "outputs none\n");
	assert_non_null(strstr(said, "R4   travel-limit, of this core only"));
	assert_non_null(strstr(said, "    [way boom raise] margin_percent: 113; in the trace 130\n"));
	expect("$sim replay trip.vcd trip.vcd --config other.conf", DIFFERENT, "The first difference");
}

static void a_missing_end_is_no_error(void **state)
{
	(void)state;
	expect("$sim replay cut.vcd", SAME, "The end of the trace is missing: compared as far as it goes.");
	expect("head -c 100000 trip.vcd | $sim replay -", SAME, "no difference");
}

static void from_the_record_it_says_where_comparing_begins(void **state)
{
	(void)state;
	expect("$sim replay trip.vcd --from-record", SAME, "Begun from the portable record");
	assert_non_null(strstr(said, "Compared from +1.000000 s on"));
}

static void what_cannot_be_used_says_so(void **state)
{
	(void)state;
	expect("$sim replay gone.vcd", UNUSABLE, "gone.vcd: cannot be read: No such file");
	expect("$sim replay half-a-head.vcd", UNUSABLE, "half-a-head.vcd");
	expect("$sim replay /dev/null", UNUSABLE, "/dev/null");
	expect("head -c 9999 /dev/urandom | $sim replay -", UNUSABLE, "standard input");
	expect("$sim replay head-changed.vcd", UNUSABLE, "head-changed.vcd");
	expect("$sim replay trip.vcd --config broken.conf", UNUSABLE, "supply_ma");
	expect("$sim replay trip.vcd --config gone.conf", UNUSABLE, "gone.conf: cannot be read");
	expect("$sim replay trip.vcd --config $top/docs/examples/glasshouse.conf", UNUSABLE, "trip.vcd");
	/* what is unusable weighs more than what differs, and the others are told all the same */
	expect("$sim replay trip.vcd gone.vcd trip.vcd --config other.conf", UNUSABLE,
	       "The first difference");
}

static void a_wrong_command_line_is_told(void **state)
{
	(void)state;
	expect("$sim replay", USAGE, "form: replay TRACE.vcd ...");
	expect("$sim replay --frob trip.vcd", USAGE, "form:");
	expect("$sim replay trip.vcd --map own.map", USAGE, "--map needs --config");
	expect("$sim replay trip.vcd cut.vcd --out new.vcd", USAGE, "--out takes one trace");
	expect("$sim replay trip.vcd --map a --config own.conf --from-record", USAGE, "form:");
}

static void what_this_core_does_is_written_as_a_trace(void **state)
{
	(void)state;
	expect("$sim replay trip.vcd --out same.vcd", SAME, "no difference");
	expect("diff <(sed 1,20d trip.vcd) <(sed 1,20d same.vcd) && echo alike", 0, "alike");
	expect("$sim replay same.vcd", SAME, "same.vcd: a replay of version");
	expect("$sim replay trip.vcd --config other.conf --out new.vcd", DIFFERENT, "travel-limit");
	expect("$sim replay new.vcd", SAME, "no difference");
	expect("$sim draw new.vcd --title what-if", 0, "travel-limit");
}

static void nothing_is_written_over_or_left_in_half(void **state)
{
	(void)state;
	expect("$sim replay trip.vcd --out trip.vcd", UNUSABLE, "trip.vcd: would be written over");
	expect("$sim replay trip.vcd --out gone/new.vcd", UNUSABLE, "gone/new.vcd: cannot be written");
	expect("$sim replay trip.vcd --out /dev/full", UNUSABLE, "/dev/full: could not be written");
	expect("$sim replay trip.vcd >/dev/full", UNUSABLE, "could not be written");
	expect("$sim replay half-a-head.vcd --out none.vcd; ls none.vcd", 2, "none.vcd");
}

static void somebody_elses_trace_is_run_as_input(void **state)
{
	(void)state;
	expect("$sim replay $top/tests/replay/foreign/bounce-longest.vcd", UNUSABLE,
	       "to use it as input, give --config FILE and --map FILE");
	expect("$sim replay - --config $top/docs/examples/glasshouse.conf --map "
	       "$top/tests/replay/foreign/bench.map "
	       "--out foreign.vcd <$top/tests/replay/foreign/bounce-longest.vcd",
	       SAME, "+3.008200 s  R2   boom raise: end-reached");
	expect("$sim replay foreign.vcd", SAME, "no difference");
	expect("$sim replay - --config $top/docs/examples/glasshouse.conf --map gone.map </dev/null",
	       UNUSABLE, "gone.map: cannot be read");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_trace_of_the_same_rules_is_the_same),
		cmocka_unit_test(other_rules_differ_where_they_must_and_say_why),
		cmocka_unit_test(a_missing_end_is_no_error),
		cmocka_unit_test(from_the_record_it_says_where_comparing_begins),
		cmocka_unit_test(what_cannot_be_used_says_so),
		cmocka_unit_test(a_wrong_command_line_is_told),
		cmocka_unit_test(what_this_core_does_is_written_as_a_trace),
		cmocka_unit_test(nothing_is_written_over_or_left_in_half),
		cmocka_unit_test(somebody_elses_trace_is_run_as_input),
	};

	return cmocka_run_group_tests_name("replay", tests, make_traces, remove_traces);
}
