/* SPDX-License-Identifier: MIT */
/* The real daemon under a service manager that the test plays: ready, watchdog, a new configuration. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "tests/support/manager_ear.h"
#include "tests/support/stage.h"

#define WATCHDOG_NS TD_MS(800)

static struct stage stage;

static int set_up(void **state)
{
	(void)state;
	ear_open(true);
	setenv("WATCHDOG_USEC", "800000", 1);
	stage_open(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stage_close(&stage);
	ear_forget();
	return 0;
}

static void add_to_config(const char *old, const char *new)
{
	char line[512];
	FILE *in = fopen(stage.config, "r");
	FILE *out = fopen(stage_file(&stage, "changed.conf"), "w");

	assert_non_null(in);
	assert_non_null(out);
	while (fgets(line, sizeof(line), in))
		(void)fputs(strncmp(line, old, strlen(old)) == 0 ? new : line, out);
	(void)fclose(in);
	(void)fclose(out);
	assert_int_equal(rename(stage_file(&stage, "changed.conf"), stage.config), 0);
}

static bool machine_is_named(const char *name)
{
	json_t *status = stage_call(stage.keeper, "status", NULL);
	const char *is = json_string_value(json_object_get(status, "machine"));
	bool same = is && strcmp(is, name) == 0;

	json_decref(status);
	return same;
}

static bool configuration_was_refused(void)
{
	json_t *status = stage_call(stage.keeper, "status", NULL);
	const json_t *refused = json_object_get(status, "config_refused");

	assert_true(json_is_boolean(refused));
	bool is = json_is_true(refused);

	json_decref(status);
	return is;
}

static void link_anew(void)
{
	struct td_error err;

	td_link_close(stage.keeper);
	stage.keeper = td_link_open(stage_file(&stage, "keeper.sock"), &err);
	assert_non_null(stage.keeper);
}

static void r16_a_mover_that_is_stopped_does_not_feed_the_watchdog(void **state)
{
	(void)state;
	assert_int_equal(ear_wait_for("READY=1", NULL, TD_S(5)), 0);
	assert_true(ear_wait_for("WATCHDOG=1", NULL, WATCHDOG_NS) >= 0);
	assert_int_equal(kill(stage.daemon, SIGSTOP), 0);
	stage_sleep(TD_MS(20));
	while (ear_hear())
		;
	assert_null(ear_wait(2 * WATCHDOG_NS));
	assert_int_equal(kill(stage.daemon, SIGCONT), 0);
	assert_true(ear_wait_for("WATCHDOG=1", NULL, WATCHDOG_NS) >= 0);
}

static void r14_a_good_configuration_starts_anew_in_the_same_process(void **state)
{
	pid_t front = stage_front(&stage);

	(void)state;
	assert_true(ear_wait_for("READY=1", NULL, TD_S(5)) >= 0);
	json_decref(stage_call(stage.keeper, "latch", NULL));
	assert_true(ear_wait_for("STATUS=latched stop, nothing moves until it is reset", NULL, TD_S(2)) >= 0);
	add_to_config("name = ", "name = renamed cart\n");
	assert_int_equal(kill(stage.daemon, SIGHUP), 0);
	assert_true(ear_wait_for("RELOADING=1", NULL, TD_S(5)) >= 0);
	assert_int_equal(ear_wait_for("READY=1", "STOPPING", TD_S(10)), 0);
	link_anew();
	assert_true(machine_is_named("renamed cart"));
	assert_false(configuration_was_refused());
	assert_int_not_equal(stage_front(&stage), front);
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", 1, 0, 300), "latched");
}

static void r14_what_moves_stops_for_a_new_configuration_and_moves_again_when_asked(void **state)
{
	(void)state;
	assert_true(ear_wait_for("READY=1", NULL, TD_S(5)) >= 0);
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", 1, 0, 1500), "started");
	assert_true(stage_wait_output(&stage, "drive", 1, true, TD_S(1)));
	td_ns asked_ns = td_clock_now();

	assert_int_equal(kill(stage.daemon, SIGHUP), 0);
	assert_true(stage_wait_output(&stage, "drive", 1, false, TD_S(1)));
	td_ns took_ns = stage_fall_ns(&stage, "drive", 1) - asked_ns;

	print_message("# measured: %lld us from the signal to the outputs low\n", (long long)took_ns / 1000);
	assert_in_range(took_ns, 0, TD_MS(100));
	assert_int_equal(ear_wait_for("READY=1", NULL, TD_S(10)), 0);
	assert_false(stage_any_high(&stage));
	link_anew();
	assert_false(stage_any_high(&stage));
	(void)stage_request(stage.keeper, "drive", "forward", 1, 0, 1500); /* queued until the rest is over */
	assert_true(stage_wait_output(&stage, "drive", 1, true, TD_S(1)));
}

static void r14_a_bad_configuration_leaves_the_old_one_in_force(void **state)
{
	(void)state;
	assert_true(ear_wait_for("READY=1", NULL, TD_S(5)) >= 0);
	add_to_config("name = ", "name = renamed cart\nnme = another\n");
	assert_int_equal(kill(stage.daemon, SIGHUP), 0);
	assert_true(ear_wait_for("STATUS=the new configuration was refused (the log says why), the old one "
				 "is in force; "
				 "armed",
				 NULL, TD_S(10)) >= 0);
	assert_false(machine_is_named("renamed cart"));
	/* The front may hear of it a little later than we. */
	for (int i = 0; i < 100 && !configuration_was_refused(); i++)
		stage_sleep(TD_MS(10));
	assert_true(configuration_was_refused());
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", 1, 0, 300), "started");
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	assert_true(ear_wait_for("STOPPING=1", NULL, TD_S(1)) >= 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r16_a_mover_that_is_stopped_does_not_feed_the_watchdog),
		TEST(r14_a_good_configuration_starts_anew_in_the_same_process),
		TEST(r14_what_moves_stops_for_a_new_configuration_and_moves_again_when_asked),
		TEST(r14_a_bad_configuration_leaves_the_old_one_in_force),
	};

	return cmocka_run_group_tests_name("under a service manager", tests, NULL, NULL);
}
