/* SPDX-License-Identifier: MIT */
/* A trip of the real processes, retold out of the traces that they left: while the daemon runs, and when it is gone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/cli_run.h"
#include "tests/support/stage.h"

/* What happens is with the kernel within a second. */
enum { TRACE_WITHIN_MS = 8000 };

static int set_up(void **state)
{
	static struct stage stage;

	stage_open(&stage);
	*state = &stage;
	return 0;
}

static int tear_down(void **state)
{
	stage_close(*state);
	return 0;
}

static void trip(struct stage *stage)
{
	assert_string_equal(stage_hold(stage->keeper, "boom", "lower", 1, TD_S(4)), "end-reached");
	stage_sleep(TD_MS(400));
	json_decref(stage_poke(stage, "jam boom"));
	assert_string_equal(stage_hold(stage->keeper, "boom", "raise", 2, TD_S(4)), "leave-limit");
	json_decref(stage_poke(stage, "free boom"));
}

/* Until it tells of the reset, too. */
static void retell_until_reset(struct run *run, const char *const *args)
{
	for (int waited_ms = 0;; waited_ms += 500) {
		run_program(run, args);
		if (strstr(run->out, "reset boom; nothing moved") || waited_ms >= TRACE_WITHIN_MS)
			return;
		stage_sleep(TD_MS(500));
	}
}

static void a_trip_is_retold_while_the_daemon_runs_and_after(void **state)
{
	struct stage *stage = *state;
	char keeper[STAGE_PATH_MAX];
	char config[STAGE_PATH_MAX];
	struct run run;
	json_t *params = json_pack("{s:s}", "axis", "boom");

	(void)snprintf(keeper, sizeof(keeper), "%s", stage_file(stage, "keeper.sock"));
	(void)snprintf(config, sizeof(config), "%s", stage->config);
	trip(stage);
	stage_sleep(TD_MS(500));
	json_decref(stage_call(stage->keeper, "reset", params));
	retell_until_reset(&run, (const char *const[]){"--json", "--socket", keeper, "retell", NULL});
	run_expect(&run, 0, "The boom tripped while raise was powered: the end switch did not clear", "");
	run_expect(&run, 0, "boom_bottom was still active: raise had been powered for 50", "");
	run_expect(&run, 0, "the keeper (session ", "");
	run_expect(&run, 0, " reset boom; nothing moved", "");

	(void)stage_end_daemon(stage);
	run_program(&run, (const char *const[]){"--json", "--config", config, "retell", NULL});
	run_expect(&run, 0, "The boom tripped while raise was powered: the end switch did not clear", "");
	run_program(&run, (const char *const[]){"--json", "--config", config, "retell", "--stop", NULL});
	run_expect(&run, 0, "\"cause\":\"disarmed\"", "");
	stage_start_daemon(stage);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_trip_is_retold_while_the_daemon_runs_and_after),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}
