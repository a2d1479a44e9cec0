/* SPDX-License-Identifier: MIT */
/* On a real kernel: the heartbeat line (R16), and lines that are refused where a Raspberry Pi's chip has them (R14). */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "sim/child.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/glasshouse.h"

enum { HEART = 13, WRITES_MAX = 1024, TRIES = 400 };

static struct ftrace_write writes[WRITES_MAX];

/* Puts a line behind each heading that begins so. */
static void add_below(const char *heading, const char *line)
{
	char text[512];
	char copy[sizeof(house.stage.config) + 8];
	FILE *in = fopen(house.stage.config, "re");

	(void)snprintf(copy, sizeof(copy), "%s.new", house.stage.config);
	FILE *out = fopen(copy, "we");

	assert_true(in && out);
	while (fgets(text, sizeof(text), in)) {
		(void)fputs(text, out);
		if (strncmp(text, heading, strlen(heading)) == 0)
			(void)fprintf(out, "%s\n", line);
	}
	(void)fclose(in);
	(void)fclose(out);
	assert_int_equal(rename(copy, house.stage.config), 0);
}

static void add_heartbeat(void)
{
	char line[80];

	(void)snprintf(line, sizeof(line), "heartbeat = %s:%d", house.chip.label, HEART);
	add_below("[machine]", line);
}

static int set_up_beating(void **state)
{
	if (glasshouse_set_up_alone(state) != 0)
		return -1;
	add_heartbeat();
	stage_start_daemon(&house.stage);
	return 0;
}

/* The cart on a chip of another label. */
static int set_up_as_raspberry(void **state)
{
	if (glasshouse_set_up_alone(state) != 0)
		return -1;
	sim_chip_unplug(&house.chip);
	sim_chip_forget(&house.chip);
	memset(&house.chip, 0, sizeof(house.chip));
	sim_chip_add(&house.chip, "pinctrl-bcm2711", LINES, NULL);
	for (enum glasshouse_line line = BOOM_BOTTOM; line <= STOP_CONTACT; line++)
		glasshouse_press(line, false);
	glasshouse_configure(NULL);
	return 0;
}

/* How many beats there were for so long, with the longest pause between two. */
static unsigned beats(td_ns for_ns, td_ns *longest_ns)
{
	unsigned found = 0;
	td_ns last_ns = 0;

	ftrace_start();
	stage_sleep(for_ns);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	*longest_ns = 0;
	for (size_t i = 0; i < count; i++) {
		if (writes[i].line != house.chip.base + HEART)
			continue;
		if (found++ > 0 && writes[i].at_ns - last_ns > *longest_ns)
			*longest_ns = writes[i].at_ns - last_ns;
		last_ns = writes[i].at_ns;
	}
	return found;
}

static void r16_armed_it_beats_at_rest(void **state)
{
	td_ns longest_ns;
	unsigned found = beats(TD_S(1), &longest_ns);

	(void)state;
	print_message("# measured: %u beats in a second at rest, longest pause %lld us of 10000\n", found,
		      (long long)longest_ns / 1000);
	assert_true(found >= 100 && found <= 202);
	for (size_t i = 1; i < found; i++) /* nothing else was written */
		assert_int_equal(writes[i].high, !writes[i - 1].high);
	assert_int_equal(glasshouse_outputs(), 0);
}

static void r16_stopped_short_at_rest_it_no_longer_beats(void **state)
{
	td_ns longest_ns;

	(void)state;
	assert_int_equal(kill(house.stage.daemon, SIGSTOP), 0);
	stage_sleep(TD_MS(20));
	assert_int_equal(beats(TD_MS(300), &longest_ns), 0);
	assert_int_equal(kill(house.stage.daemon, SIGCONT), 0);
	stage_sleep(TD_MS(20));
	assert_true(beats(TD_MS(300), &longest_ns) > 30);
}

static void r16_ended_or_killed_it_leaves_the_heartbeat_low(void **state)
{
	(void)state;
	assert_int_equal(stage_end_daemon(&house.stage), TD_EXIT_OK);
	assert_false(sim_level(&house.chip, HEART));
	for (int i = 0; i < 5; i++) {
		stage_start_daemon(&house.stage);
		assert_int_equal(kill(house.stage.daemon, SIGKILL), 0);
		assert_int_equal(td_child_wait(house.stage.daemon, TD_S(2)), 256 + SIGKILL);
		house.stage.daemon = 0;
		td_link_close(house.stage.keeper);
		house.stage.keeper = NULL;
		stage_sleep(TD_MS(300)); /* guard and front end by themselves */
		assert_false(sim_level(&house.chip, HEART));
	}
}

static void r16_clear_lines_takes_the_heartbeat_low(void **state)
{
	bool said;
	unsigned low = 0;

	(void)state;
	add_heartbeat();
	ftrace_start();
	assert_int_equal(glasshouse_run("--clear-lines", "every output is low", &said), TD_EXIT_OK);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(said);
	for (size_t i = 0; i < count; i++)
		low += writes[i].line == house.chip.base + HEART && !writes[i].high;
	assert_int_equal(low, 1);
}

/* The status of a daemon that need not be armed; the caller's. */
static json_t *status_of_daemon(void)
{
	const char *const argv[] = {stage_program("tripdogd"), "--config", house.stage.config, NULL};
	struct td_error err;

	house.stage.daemon = td_child_start(argv, stage_file(&house.stage, "daemon.log"), &err);
	assert_true(house.stage.daemon > 0);
	for (int i = 0; i < TRIES; i++, stage_sleep(TD_MS(10))) {
		if (!house.stage.keeper)
			house.stage.keeper = td_link_open(stage_file(&house.stage, "keeper.sock"), &err);
		json_t *status =
			house.stage.keeper ? stage_call(house.stage.keeper, "status", NULL) : json_object();

		if (json_is_array(json_object_get(status, "axes")))
			return status;
		json_decref(status);
	}
	fail_msg("the daemon did not come up");
	return NULL;
}

static void r14_bridge_inputs_that_rise_by_themselves_are_refused(void **state)
{
	json_t *status = status_of_daemon();
	const json_t *why_not = json_object_get(status, "why_not");

	(void)state;
	assert_true(json_is_false(json_object_get(status, "armed")));
	assert_int_equal(json_array_size(why_not), OUTPUTS); /* lines 0 to 7 */
	assert_non_null(strstr(json_string_value(json_array_get(why_not, BOOM_RAISE)),
			       "boom raise is on line 5 of \"pinctrl-bcm2711\""));
	json_decref(status);
	stage_sleep(TD_MS(500));
	assert_string_equal(stage_request(house.stage.keeper, "boom", "raise", 1, 0, 1500), "not-armed");
	assert_int_equal(glasshouse_outputs(), 0);
}

static void r14_accepted_by_name_they_arm(void **state)
{
	(void)state;
	add_below("[way ", "accept_risky_line = yes");
	json_t *status = status_of_daemon();

	assert_true(json_is_true(json_object_get(status, "armed")));
	assert_int_equal(json_array_size(json_object_get(status, "why_not")), 0);
	assert_int_equal(json_array_size(json_object_get(status, "accepted")), OUTPUTS);
	json_decref(status);
}

#define BEATING(name) cmocka_unit_test_setup_teardown(name, set_up_beating, glasshouse_tear_down)
#define ALONE(name)   cmocka_unit_test_setup_teardown(name, glasshouse_set_up_alone, glasshouse_tear_down)
#define AS_PI(name)   cmocka_unit_test_setup_teardown(name, set_up_as_raspberry, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		BEATING(r16_armed_it_beats_at_rest),
		BEATING(r16_stopped_short_at_rest_it_no_longer_beats),
		BEATING(r16_ended_or_killed_it_leaves_the_heartbeat_low),
		ALONE(r16_clear_lines_takes_the_heartbeat_low),
		AS_PI(r14_bridge_inputs_that_rise_by_themselves_are_refused),
		AS_PI(r14_accepted_by_name_they_arm),
	};

	return cmocka_run_group_tests_name("heartbeat and arming on a real kernel", tests, NULL, NULL);
}
