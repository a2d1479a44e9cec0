/* SPDX-License-Identifier: MIT */
/* The example clients of docs/examples do what they say, against the real daemon on the bench. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>
#include <sys/wait.h>

#include "tests/support/stage.h"

enum { RAISE = 1, OUT_MAX = 8192 };

static struct stage stage;
static char out[OUT_MAX];

static int set_up(void **state)
{
	(void)state;
	stage_open(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stage_close(&stage);
	return 0;
}

/* Runs an example on the keeper's socket; all it writes is in `out`. Returns its exit code. */
static int example(const char *name, const char *arguments)
{
	char command[1024];
	size_t used;

	(void)snprintf(command, sizeof(command), "docs/examples/%s %s %s 2>&1", name,
		       stage_file(&stage, "keeper.sock"), arguments);
	FILE *in = popen(command, "r"); /* NOLINT(cert-env33-c): as a person would call it */

	assert_non_null(in);
	used = fread(out, 1, sizeof(out) - 1, in);
	out[used] = '\0';
	int status = pclose(in);

	print_message("# %s %s: %s\n", name, arguments, out);
	return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void the_shell_asks_and_stops(void **state)
{
	(void)state;
	assert_int_equal(example("call.sh", "status"), 0);
	assert_non_null(strstr(out, "\"armed\": true"));
	assert_int_equal(example("call.sh", "stop '{\"axis\": \"boom\"}'"), 0);
	assert_non_null(strstr(out, "\"stopped\""));
}

static void the_shell_is_told_what_is_wrong(void **state)
{
	(void)state;
	assert_int_equal(example("call.sh", "stop '{\"axis\": \"bom\"}'"), 1);
	assert_non_null(strstr(out, "did you mean \"boom\"?"));
	assert_int_equal(example("call.sh", ""), 2);
}

static void R7_the_hold_in_python_moves_and_lets_go(void **state)
{
	double before = stage_position(&stage, "boom");

	(void)state;
	assert_int_equal(example("hold.py", "boom raise 0.5"), 0);
	assert_non_null(strstr(out, "started"));
	assert_non_null(strstr(out, "renewed"));
	assert_non_null(strstr(out, "let-go"));
	assert_false(stage_high(&stage, "boom", RAISE));
	assert_true(stage_position(&stage, "boom") > before);
}

static void the_hold_in_python_tells_a_refusal(void **state)
{
	(void)state;
	assert_int_equal(example("hold.py", "boom up 0.5"), 1);
	assert_non_null(strstr(out, "has no way \"up\""));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(the_shell_asks_and_stops, set_up, tear_down),
		cmocka_unit_test_setup_teardown(the_shell_is_told_what_is_wrong, set_up, tear_down),
		cmocka_unit_test_setup_teardown(R7_the_hold_in_python_moves_and_lets_go, set_up, tear_down),
		cmocka_unit_test_setup_teardown(the_hold_in_python_tells_a_refusal, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
