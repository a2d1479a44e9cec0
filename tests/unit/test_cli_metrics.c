/* SPDX-License-Identifier: MIT */
/* tripdog metrics: the text as it came, to standard output or into a file that is whole at every instant. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include <dirent.h>
#include <errno.h>

#include "daemon/client/exit.h"
#include "daemon/client/file.h"
#include "tests/support/cli_run.h"
#include "tests/unit/cli_script.h"

#define TEXT "a_total 1\\n\\\"x\\\" \\\\ 2\\n"

static const char *const script[] = {
	">metrics", "={\"form\":\"openmetrics\",\"media_type\":\"m\",\"text\":\"" TEXT "\"}", NULL};
static const char text[] = "a_total 1\n\"x\" \\ 2\n";

static char dir[64];
static char path[128];

static int make_dir(void **state)
{
	(void)state;
	(void)snprintf(dir, sizeof(dir), "/tmp/tripdog-metrics-XXXXXX");
	(void)snprintf(path, sizeof(path), "%s/cart.prom", mkdtemp(dir));
	return 0;
}

static int remove_dir(void **state)
{
	(void)state;
	(void)unlink(path);
	return rmdir(dir); /* fails, and the test with it, where anything was left lying about */
}

static void file_must_hold(const char *bytes)
{
	char held[256] = "";
	FILE *file = fopen(path, "r");

	assert_non_null(file);
	held[fread(held, 1, sizeof(held) - 1, file)] = '\0';
	(void)fclose(file);
	assert_string_equal(held, bytes);
}

/* --- the command ------------------------------------------------------------------------------------------- */

static void form_asked_for(const char *const *args, const char *form)
{
	struct run run;
	json_t *calls = run_against(script, &run, args);
	json_t *params = json_object_get(json_array_get(calls, 0), "params");

	run_expect(&run, TD_EXIT_DONE, "", "");
	assert_int_equal(json_object_size(params), 1);
	assert_string_equal(json_string_value(json_object_get(params, "form")), form);
	json_decref(calls);
}

static void files_get_the_older_form_unless_told_otherwise(void **state)
{
	(void)state;
	form_asked_for(ARGS("metrics"), "openmetrics");
	form_asked_for(ARGS("metrics", "--form", "text"), "text");
	form_asked_for(ARGS("metrics", "--output", path), "text");
	form_asked_for(ARGS("metrics", "--output", path, "--form", "openmetrics"), "openmetrics");
}

static void the_text_comes_as_it_is(void **state)
{
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("metrics")));
	assert_int_equal(run.code, TD_EXIT_DONE);
	assert_string_equal(run.out, text);
	assert_string_equal(run.err, "");
}

static void with_json_it_is_the_daemons_answer(void **state)
{
	(void)state;
	run_expect_against(script, ARGS("--json", "metrics"), TD_EXIT_DONE, "\"media_type\":\"m\"", "");
}

static void a_file_gets_it_and_standard_output_nothing(void **state)
{
	struct run run;

	(void)state;
	json_decref(run_against(script, &run, ARGS("metrics", "--output", path)));
	assert_int_equal(run.code, TD_EXIT_DONE);
	assert_string_equal(run.out, "");
	assert_string_equal(run.err, "");
	file_must_hold(text);
}

static void a_refusal_or_silence_leaves_the_file_alone(void **state)
{
	static const char *const refused[] = {
		">metrics",
		"!{\"code\":-32002,\"message\":\"not ready\",\"data\":{\"sentence\":\"not known yet\"}}",
		NULL};
	static const char *const closed[] = {">metrics", ".", NULL};
	static const char *const other[] = {">metrics", "={\"form\":\"openmetrics\"}", NULL};
	static const char *const unknown[] = {
		">metrics", "!{\"code\":-32602,\"message\":\"params\",\"data\":{\"sentence\":\"no form\"}}",
		NULL};

	(void)state;
	assert_int_equal(td_cli_file_write(path, "old\n", 4, NULL), 0);
	run_expect_against(refused, ARGS("metrics", "--output", path), TD_EXIT_REFUSED, "", "not known yet");
	run_expect_against(closed, ARGS("metrics", "--output", path), TD_EXIT_LOST, "", "");
	run_expect_against(other, ARGS("metrics", "--output", path), TD_EXIT_LOST, "", "has no text");
	run_expect_against(unknown, ARGS("metrics", "--form", "xml", "--output", path), TD_EXIT_USAGE, "",
			   "no form");
	file_must_hold("old\n");
}

static void a_file_that_cannot_be_written_is_1(void **state)
{
	(void)state;
	run_expect_against(script, ARGS("metrics", "--output", "/nonexistent/cart.prom"), TD_EXIT_INTERNAL,
			   "", "cannot write /nonexistent/cart.prom: No such file or directory");
	run_expect_against(script, ARGS("metrics", "--output", dir), TD_EXIT_INTERNAL, "",
			   "is no regular file");
}

static void the_options_belong_to_it_alone(void **state)
{
	struct run run;

	(void)state;
	run_program(&run, ARGS("status", "--output", path));
	run_expect(&run, TD_EXIT_USAGE, "", "--output belongs to metrics, not to status");
	run_program(&run, ARGS("metrics", "--output"));
	run_expect(&run, TD_EXIT_USAGE, "", "--output needs an argument");
	run_program(&run, ARGS("metrics", "boom"));
	run_expect(&run, TD_EXIT_USAGE, "", "one argument too many");
}

/* --- the file ---------------------------------------------------------------------------------------------- */

static void may_be_read_as_the_umask_says(void **state)
{
	static const mode_t masks[] = {022, 077, 0};
	struct stat there;

	(void)state;
	for (size_t i = 0; i < sizeof(masks) / sizeof(masks[0]); i++) {
		mode_t before = umask(masks[i]);

		assert_int_equal(td_cli_file_write(path, "x", 1, NULL), 0);
		assert_int_equal(umask(before), masks[i]);
		assert_int_equal(stat(path, &there), 0);
		assert_int_equal(there.st_mode & 07777, 0666 & ~masks[i]);
	}
}

/* Whoever has the old file open reads it to its end: a new one took its place. */
static void the_old_file_is_replaced_not_overwritten(void **state)
{
	char held[8] = "";

	(void)state;
	assert_int_equal(td_cli_file_write(path, "old", 3, NULL), 0);
	FILE *file = fopen(path, "r");

	assert_int_equal(td_cli_file_write(path, "newer", 5, NULL), 0);
	assert_int_equal(fread(held, 1, sizeof(held) - 1, file), 3);
	assert_string_equal(held, "old");
	(void)fclose(file);
	file_must_hold("newer");
	assert_int_equal(td_cli_file_write(path, "", 0, NULL), 0);
	file_must_hold("");
}

/* The disk is full in the middle: the old file stays, nothing lies beside it. */
static void what_fits_in_part_is_not_there_at_all(void **state)
{
	const struct rlimit little = {.rlim_cur = 10, .rlim_max = RLIM_INFINITY};
	const struct rlimit much = {.rlim_cur = RLIM_INFINITY, .rlim_max = RLIM_INFINITY};
	struct td_error err = {""};

	(void)state;
	assert_int_equal(td_cli_file_write(path, "old", 3, NULL), 0);
	(void)signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
	int written = td_cli_file_write(path, "more than ten bytes", 19, &err);

	assert_int_equal(setrlimit(RLIMIT_FSIZE, &much), 0);
	(void)signal(SIGXFSZ, SIG_DFL);
	assert_int_equal(written, -1);
	assert_non_null(strstr(err.text, strerror(EFBIG)));
	assert_non_null(strstr(err.text, "what was there before is as it was"));
	file_must_hold("old");
}

/* A device would be gone for everybody. */
static void what_is_no_file_is_left_alone(void **state)
{
	struct td_error err = {""};
	struct stat there;
	char link[160];

	(void)state;
	(void)snprintf(link, sizeof(link), "%s/link", dir);
	assert_int_equal(symlink("/dev/null", link), 0);
	assert_int_equal(mkfifo(path, 0600), 0);
	assert_int_equal(td_cli_file_write(path, "x", 1, &err), -1);
	assert_non_null(strstr(err.text, "is no regular file: name one that may be replaced"));
	assert_int_equal(lstat(path, &there), 0);
	assert_true(S_ISFIFO(there.st_mode));
	assert_int_equal(td_cli_file_write(link, "x", 1, &err), -1);
	assert_int_equal(unlink(link), 0);
}

static void a_path_that_is_too_long_is_told(void **state)
{
	static char longest[5000];
	struct td_error err = {""};

	(void)state;
	memset(longest, 'x', sizeof(longest) - 1);
	assert_int_equal(td_cli_file_write(longest, "x", 1, &err), -1);
	assert_int_equal(td_cli_file_write("", "x", 1, &err), -1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(files_get_the_older_form_unless_told_otherwise, make_dir,
						remove_dir),
		cmocka_unit_test(the_text_comes_as_it_is),
		cmocka_unit_test(with_json_it_is_the_daemons_answer),
		cmocka_unit_test_setup_teardown(a_file_gets_it_and_standard_output_nothing, make_dir,
						remove_dir),
		cmocka_unit_test_setup_teardown(a_refusal_or_silence_leaves_the_file_alone, make_dir,
						remove_dir),
		cmocka_unit_test_setup_teardown(a_file_that_cannot_be_written_is_1, make_dir, remove_dir),
		cmocka_unit_test_setup_teardown(the_options_belong_to_it_alone, make_dir, remove_dir),
		cmocka_unit_test_setup_teardown(may_be_read_as_the_umask_says, make_dir, remove_dir),
		cmocka_unit_test_setup_teardown(the_old_file_is_replaced_not_overwritten, make_dir,
						remove_dir),
		cmocka_unit_test_setup_teardown(what_fits_in_part_is_not_there_at_all, make_dir, remove_dir),
		cmocka_unit_test_setup_teardown(what_is_no_file_is_left_alone, make_dir, remove_dir),
		cmocka_unit_test(a_path_that_is_too_long_is_told),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
