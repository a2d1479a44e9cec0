/* SPDX-License-Identifier: MIT */
/* The built tripdog retells traces of a directory, and says what it cannot read. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <errno.h>
#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/exit.h"
#include "daemon/retell/files.h"
#include "tests/support/cli_run.h"
#include "tests/support/retold.h"
#include "tests/unit/cli_script.h"

static struct retold told;
static char dir[] = "/tmp/tripdog-retell-XXXXXX";

static const char *in_dir(const char *name)
{
	static char path[2][128];
	static int turn;

	turn = 1 - turn;
	(void)snprintf(path[turn], sizeof(path[turn]), "%s/%s", dir, name);
	return path[turn];
}

static void empty_dir(void)
{
	char command[128];

	(void)snprintf(command, sizeof(command), "rm -rf %s && mkdir %s", dir, dir);
	assert_int_equal(system(command), 0); // NOLINT(cert-env33-c): a path of our own
}

static void jam(void)
{
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 120);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, 2700);
	retold_drop(&told, "boom");
	retold_run(&told, 1000);
}

/* A visitor tries in vain, the keeper resets, the visitor goes on. */
static void go_on(void)
{
	retold_ask(&told, "boom", "raise");
	retold_drop(&told, "boom");
	retold_run(&told, 2000);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_RESET,
					      .axis = TD_ALL_AXES,
					      .role = TD_ROLE_KEEPER,
					      .session = RETOLD_KEEPER});
	retold_run(&told, 2000);
	retold_ask(&told, "boom", "lower");
	retold_run(&told, 500);
	retold_release(&told, "boom");
	retold_run(&told, 1000);
}

static int make(void **state)
{
	(void)state;
	assert_non_null(mkdtemp(dir));
	return 0;
}

static int unmake(void **state)
{
	(void)state;
	empty_dir();
	return rmdir(dir);
}

/* --- tests ------------------------------------------------------------------------------------------ */

static void tells_the_last_trip_of_a_directory_and_what_came_after(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("trip-00000009-boom-both-ends.vcd"), "trip");
	retold_run(&told, 100);
	retold_record(&told, in_dir("run-00000001.vcd"), "run");
	retold_run(&told, 5000);
	retold_record(&told, in_dir("run-00000002.vcd"), "run");
	jam();
	go_on();
	retold_record(&told, in_dir("run-00000003.vcd"), "run");
	retold_run(&told, 5000);
	retold_record_end(&told);
	/* the trip's file: the same again, but only up to a second after it */
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_run(&told, 5100);
	retold_record(&told, in_dir("trip-00000010-boom-travel-limit.vcd"), "trip");
	jam();
	retold_record_end(&told);

	run_program(&run, ARGS("retell", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE, "The boom tripped while raise was powered: the end was not reached",
		   "");
	run_expect(&run, TD_EXIT_DONE, "\nwhy         boom_top did not become active", "");
	run_expect(&run, TD_EXIT_DONE, "! Moving parts pinch", "");
	assert_null(strstr(run.out, "no reset is recorded"));
	assert_null(strchr(run.out, '\033'));
	run_program(&run, ARGS("--json", "retell", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE,
		   "1.22 s later: a visitor (session 3) asked for boom and was refused: the axis has", "");
	run_expect(&run, TD_EXIT_DONE, "3.22 s later: the keeper (session 9) reset boom; nothing moved", "");
	run_expect(&run, TD_EXIT_DONE, "\"reset\":true", "");
}

static void a_file_alone_says_that_no_reset_is_recorded(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("any.vcd"), "trip");
	jam();
	retold_record_end(&told);
	run_program(&run, ARGS("retell", in_dir("any.vcd")));
	run_expect(&run, TD_EXIT_DONE, "no reset is recorded", "");
	run_program(&run, ARGS("--json", "retell", in_dir("any.vcd")));
	run_expect(&run, TD_EXIT_DONE, "\"cause\":\"travel-limit\"", "");
}

static void stop_tells_of_the_last_stop_of_any_kind(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("run-00000001.vcd"), "run");
	jam();
	go_on();
	retold_record(&told, in_dir("run-00000002.vcd"), "run");
	retold_run(&told, 5000);
	retold_record_end(&told);
	run_program(&run, ARGS("retell", "--stop", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE,
		   "The boom stopped while lower was powered: whoever held the way let go", "");
}

/* A trip's own file is written 5 s after it; until then, and where the budget left it out, the run files tell of it. */
static void a_trip_without_a_file_of_its_own_is_found_in_the_run_files(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("run-00000001.vcd"), "run");
	jam();
	retold_record(&told, in_dir("run-00000002.vcd"), "run");
	go_on();
	retold_record_end(&told);
	run_program(&run, ARGS("--json", "retell", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE, "run-00000001.vcd\",\"axis\":\"boom\"", "");
	run_expect(&run, TD_EXIT_DONE, "the keeper (session 9) reset boom; nothing moved", "");
}

/* The newest file of a trip is of another day: the trip of today goes before it. */
static void a_trip_newer_than_every_file_of_a_trip_is_the_one_that_is_told(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("trip-00000001-boom-travel-limit.vcd"), "trip");
	jam();
	retold_record(&told, in_dir("run-00000001.vcd"), "run");
	go_on();
	retold_switch(&told, "boom_top", true);
	retold_switch(&told, "boom_bottom", true);
	retold_run(&told, 1000);
	retold_record_end(&told);
	run_program(&run, ARGS("--json", "retell", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE, "\"cause\":\"both-ends\"", "");
	run_expect(&run, TD_EXIT_DONE, "run-00000001.vcd\",\"axis\":\"boom\"", "");
	run_program(&run, ARGS("--json", "retell", in_dir("trip-00000001-boom-travel-limit.vcd")));
	run_expect(&run, TD_EXIT_DONE, "\"cause\":\"travel-limit\"", "");
	run_expect(&run, TD_EXIT_DONE, "boom was started again", "");
}

static void a_damaged_run_file_is_passed_over_and_named(void **state)
{
	struct run run;
	FILE *out;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("run-00000001.vcd"), "run");
	jam();
	retold_record(&told, in_dir("run-00000002.vcd"), "run");
	retold_run(&told, 100);
	retold_record_end(&told);
	out = fopen(in_dir("run-00000002.vcd"), "a");
	assert_non_null(out);
	assert_true(fputs("1nobody\n", out) >= 0);
	assert_int_equal(fclose(out), 0);
	run_program(&run, ARGS("--json", "retell", "--dir", dir));
	run_expect(&run, TD_EXIT_DONE, "\"cause\":\"travel-limit\"", "run-00000002.vcd: ");
}

static void nothing_recorded_is_8(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	run_program(&run, ARGS("retell", "--dir", dir));
	run_expect(&run, TD_EXIT_NOTHING, "", "no trip is recorded there; --stop tells of the last stop");
	run_program(&run, ARGS("retell", "--stop", "--dir", dir));
	run_expect(&run, TD_EXIT_NOTHING, "", "no stop is recorded there");
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("quiet.vcd"), "run");
	retold_run(&told, 100);
	retold_record_end(&told);
	run_program(&run, ARGS("retell", in_dir("quiet.vcd")));
	run_expect(&run, TD_EXIT_NOTHING, "", "quiet.vcd: no trip is recorded in it");
}

static void write_text(const char *path, const char *text)
{
	FILE *out = fopen(path, "w");

	assert_non_null(out);
	assert_true(fputs(text, out) >= 0);
	assert_int_equal(fclose(out), 0);
}

static void what_cannot_be_read_is_9(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	run_program(&run, ARGS("retell", "--dir", in_dir("missing")));
	run_expect(&run, TD_EXIT_UNREADABLE, "", "missing: cannot be read: No such file or directory");
	run_program(&run, ARGS("retell", in_dir("missing.vcd")));
	run_expect(&run, TD_EXIT_UNREADABLE, "", "missing.vcd: cannot be read: No such file");
	write_text(in_dir("other.vcd"),
		   "$version another program $end $timescale 1ns $end $var wire 1 ! a $end "
		   "$enddefinitions $end #0 0! #5 1!\n");
	run_program(&run, ARGS("retell", in_dir("other.vcd")));
	run_expect(&run, TD_EXIT_UNREADABLE, "", "other.vcd");
	write_text(in_dir("junk.vcd"), "certainly no trace\n");
	run_program(&run, ARGS("retell", in_dir("junk.vcd")));
	run_expect(&run, TD_EXIT_UNREADABLE, "", "junk.vcd");
}

/* A trace that is damaged behind the trip is told up to there, and the damage named. */
static void damage_is_named_with_its_byte(void **state)
{
	struct run run;
	FILE *out;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("bad.vcd"), "trip");
	jam();
	retold_record_end(&told);
	out = fopen(in_dir("bad.vcd"), "a");
	assert_non_null(out);
	assert_true(fputs("1nobody\n#99999999999 0!\n", out) >= 0);
	assert_int_equal(fclose(out), 0);
	run_program(&run, ARGS("retell", in_dir("bad.vcd")));
	run_expect(&run, TD_EXIT_UNREADABLE, "The boom tripped", "byte");
}

static void another_version_is_said(void **state)
{
	struct run run;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	told.version = "0.0.9";
	retold_record(&told, in_dir("old.vcd"), "trip");
	jam();
	retold_record_end(&told);
	run_program(&run, ARGS("retell", in_dir("old.vcd")));
	run_expect(&run, TD_EXIT_DONE, "The boom tripped",
		   "the trace is of version 0.0.9, this is " TD_VERSION);
}

/* As root nothing is forbidden, so the sentence is asked for by itself. */
static void who_may_read_is_said(void **state)
{
	const struct passwd *user = getpwuid(getuid());
	struct td_error err = {""};
	char owner[128];

	(void)state;
	assert_non_null(user);
	empty_dir();
	(void)snprintf(owner, sizeof(owner), "this user may not read it; user %s may", user->pw_name);
	assert_int_equal(chmod(dir, 0750), 0);
	errno = EACCES;
	assert_int_equal(td_retell_cannot_read(in_dir("run-00000001.vcd"), &err), -1);
	assert_non_null(strstr(err.text, owner));
	assert_non_null(strstr(err.text, " may, and members of group "));
	assert_int_equal(chmod(dir, 0700), 0);
	errno = EACCES;
	(void)td_retell_cannot_read(dir, &err);
	assert_non_null(strstr(err.text, owner));
	assert_null(strstr(err.text, "members"));
}

static void a_missing_end_is_said(void **state)
{
	struct run run;
	struct stat about;

	(void)state;
	empty_dir();
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, in_dir("cut.vcd"), "trip");
	jam();
	retold_record_end(&told);
	assert_int_equal(stat(in_dir("cut.vcd"), &about), 0);
	assert_int_equal(truncate(in_dir("cut.vcd"), about.st_size - 3), 0);
	run_program(&run, ARGS("retell", in_dir("cut.vcd")));
	run_expect(&run, TD_EXIT_DONE, "The boom tripped", "its end is missing");
}

static void a_wrong_command_line_is_2(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("retell", "a.vcd", "--dir", "b"));
	run_expect(&run, TD_EXIT_USAGE, "", "FILE and --dir exclude each other");
	run_program(&run, ARGS("status", "--dir", "b"));
	run_expect(&run, TD_EXIT_USAGE, "", "--dir belongs to retell");
	run_program(&run, ARGS("retell", "a.vcd", "b.vcd"));
	run_expect(&run, TD_EXIT_USAGE, "", "one argument too many");
}

static void without_a_daemon_it_says_how_to_name_the_directory(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("--socket", "/nonexistent/sock", "retell"));
	run_expect(&run, TD_EXIT_NO_CONNECTION, "", "name their directory with --dir");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(tells_the_last_trip_of_a_directory_and_what_came_after),
		cmocka_unit_test(a_file_alone_says_that_no_reset_is_recorded),
		cmocka_unit_test(stop_tells_of_the_last_stop_of_any_kind),
		cmocka_unit_test(a_trip_without_a_file_of_its_own_is_found_in_the_run_files),
		cmocka_unit_test(a_trip_newer_than_every_file_of_a_trip_is_the_one_that_is_told),
		cmocka_unit_test(a_damaged_run_file_is_passed_over_and_named),
		cmocka_unit_test(nothing_recorded_is_8),
		cmocka_unit_test(what_cannot_be_read_is_9),
		cmocka_unit_test(damage_is_named_with_its_byte),
		cmocka_unit_test(another_version_is_said),
		cmocka_unit_test(who_may_read_is_said),
		cmocka_unit_test(a_missing_end_is_said),
		cmocka_unit_test(a_wrong_command_line_is_2),
		cmocka_unit_test(without_a_daemon_it_says_how_to_name_the_directory),
	};

	return cmocka_run_group_tests(tests, make, unmake);
}
