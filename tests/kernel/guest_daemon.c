/* SPDX-License-Identifier: MIT */
/* The daemon itself on real lines of a real kernel. Runs inside the test machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "sim/child.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/glasshouse.h"

enum { WRITES_MAX = 20000 };

static struct ftrace_write writes[WRITES_MAX];

/* --- helpers -------------------------------------------------------------------------------------- */

static struct td_link *keeper(void)
{
	return house.stage.keeper;
}

/* Starts a hold that lasts `lease_ms` and is not renewed. */
static const char *ask(const char *axis, const char *way, int hold, int lease_ms)
{
	return stage_request(keeper(), axis, way, hold, 0, lease_ms);
}

static const char *reset(void)
{
	static char word[64];
	json_t *answer = stage_call(keeper(), "reset", NULL);
	json_t *text = json_object_get(answer, "result");

	if (!text)
		text = json_object_get(json_object_get(answer, "data"), "cause");
	(void)snprintf(word, sizeof(word), "%s", text ? json_string_value(text) : "?");
	json_decref(answer);
	return word;
}

static td_ns written(size_t count, enum glasshouse_line line, bool high, td_ns from_ns)
{
	return ftrace_find(writes, count, house.chip.base + line, high, from_ns);
}

/* R1 over a trace: at no instant are both inputs of a bridge high. */
static void check_never_both_high(size_t count)
{
	bool level[OUTPUTS] = {false};

	for (size_t i = 0; i < count; i++) {
		unsigned line = writes[i].line - house.chip.base;

		if (line >= OUTPUTS)
			continue;
		level[line] = writes[i].high;
		assert_false(level[line] && level[line ^ 1U]);
	}
}

/* --- motion --------------------------------------------------------------------------------------- */

static void r14_nothing_moves_at_the_start_even_with_every_line_pulled_up(void **state)
{
	(void)state;
	for (unsigned line = 0; line < OUTPUTS; line++)
		sim_pull(&house.chip, line, true);
	ftrace_start();
	stage_start_daemon(&house.stage);
	stage_sleep(TD_MS(300));
	assert_int_equal(glasshouse_outputs(), 0);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	for (size_t i = 0; i < count; i++)
		assert_false(writes[i].high);
}

static void a_hold_powers_its_way_until_it_is_let_go(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "raise", 1, 1000), "started");
	assert_int_equal(glasshouse_outputs(), 1U << BOOM_RAISE);
	json_decref(stage_call(keeper(), "release", json_pack("{s:s, s:i}", "axis", "boom", "hold", 1)));
	assert_int_equal(glasshouse_outputs(), 0);
}

struct direction {
	const char *way;
	enum glasshouse_line output;
	enum glasshouse_line end;
};

static const struct direction up = {"raise", BOOM_RAISE, BOOM_TOP};
static const struct direction down = {"lower", BOOM_LOWER, BOOM_BOTTOM};

static void cut_at_the_end(const struct direction *to)
{
	assert_string_equal(ask("boom", to->way, 1, 1500), "started");
	assert_true(sim_level(&house.chip, to->output));
	ftrace_start();
	td_ns pressed_ns = td_clock_now();

	glasshouse_press(to->end, true);
	assert_true(glasshouse_await(to->output, false));
	stage_sleep(TD_MS(50));
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns cut_ns = written(count, to->output, false, pressed_ns);

	assert_true(cut_ns > 0 && cut_ns - pressed_ns < TD_MS(5));
	assert_int_equal(glasshouse_outputs(), 0);
	print_message("# measured: %s, end switch to output low %lld us, 2 ms of it to confirm\n", to->way,
		      (long long)(cut_ns - pressed_ns) / 1000);
}

static void r2_the_upper_end_switch_cuts_raise(void **state)
{
	(void)state;
	cut_at_the_end(&up);
}

static void r2_the_lower_end_switch_cuts_lower(void **state)
{
	(void)state;
	cut_at_the_end(&down);
}

static void refused_at_the_end(const struct direction *into, const struct direction *out_of)
{
	glasshouse_press(into->end, true);
	stage_sleep(TD_MS(50));
	ftrace_start();
	assert_string_equal(ask("boom", into->way, 1, 300), "at-end");
	assert_int_equal(glasshouse_outputs(), 0);
	assert_string_equal(ask("boom", out_of->way, 2, 300), "started");
	assert_int_equal(glasshouse_outputs(), 1U << out_of->output);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_int_equal(written(count, into->output, true, 0), -1);
}

static void r2_at_the_upper_end_raise_is_refused_and_lower_is_free(void **state)
{
	(void)state;
	refused_at_the_end(&up, &down);
}

static void r2_at_the_lower_end_lower_is_refused_and_raise_is_free(void **state)
{
	(void)state;
	refused_at_the_end(&down, &up);
}

static void r3_a_reversal_waits_its_dead_time_and_is_never_both_high(void **state)
{
	(void)state;
	ftrace_start();
	assert_string_equal(ask("boom", "raise", 1, 1000), "started");
	stage_sleep(TD_MS(100));
	assert_string_equal(ask("boom", "lower", 2, 1000), "queued");
	assert_true(glasshouse_await(BOOM_LOWER, true));
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns raise_ns = written(count, BOOM_RAISE, true, 0);
	td_ns off_ns = written(count, BOOM_RAISE, false, raise_ns);
	td_ns lower_ns = written(count, BOOM_LOWER, true, off_ns);

	assert_true(raise_ns > 0 && off_ns > raise_ns && lower_ns > off_ns);
	check_never_both_high(count);
	print_message("# measured: dead time %lld us of 250000\n", (long long)(lower_ns - off_ns) / 1000);
	assert_true(lower_ns - off_ns >= TD_MS(250) - TD_US(1)); /* stamps are cut to whole microseconds */
}

static void r7_a_hold_that_is_not_renewed_ends_with_its_lease(void **state)
{
	(void)state;
	ftrace_start();
	td_ns asked_ns = td_clock_now();

	assert_string_equal(ask("boom", "raise", 1, 300), "started");
	assert_true(glasshouse_await(BOOM_RAISE, false));
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns on_ns = written(count, BOOM_RAISE, true, asked_ns);
	td_ns off_ns = written(count, BOOM_RAISE, false, on_ns);

	assert_true(off_ns - asked_ns >= TD_MS(300));
	assert_true(off_ns - on_ns <= TD_MS(350));
}

/* --- wires ---------------------------------------------------------------------------------------- */

static void r9_a_broken_wire_of_an_end_switch_stops_and_bars_its_way(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "lower", 1, 1500), "started");
	glasshouse_press(BOOM_BOTTOM, true); /* an open contact and a broken wire are the same to the line */
	assert_true(glasshouse_await(BOOM_LOWER, false));
	assert_string_equal(ask("boom", "lower", 2, 300), "at-end");
	assert_int_equal(glasshouse_outputs(), 0);
}

static void r10_a_broken_wire_of_the_stop_contact_is_the_latched_stop(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "raise", 1, 1500), "started");
	stage_sleep(TD_MS(150)); /* R13: starts keep a gap */
	assert_string_equal(ask("drive", "forward", 2, 1500), "started");
	glasshouse_press(STOP_CONTACT, true);
	assert_true(glasshouse_await(BOOM_RAISE, false));
	stage_sleep(TD_MS(20));
	assert_int_equal(glasshouse_outputs(), 0);
	assert_string_equal(ask("boom", "lower", 3, 300), "latched");
	assert_string_equal(reset(), "still-there");
	glasshouse_press(STOP_CONTACT, false);
	stage_sleep(TD_MS(150));
	assert_int_equal(glasshouse_outputs(), 0);
	assert_string_equal(reset(), "reset-done");
	stage_sleep(TD_MS(300));
	assert_int_equal(glasshouse_outputs(), 0);
	assert_string_equal(ask("boom", "lower", 4, 300), "started");
}

/* In bursts, as a contact bounces. Without an end, mover and world would leave the front nothing of the one slow processor, and while it
 * does not hear nothing moves (R16). */
static void storm(void)
{
	for (unsigned i = 0; i < 200; i++) {
		if (i % 20 == 0)
			stage_sleep(TD_MS(30));
		glasshouse_press(VENT_SHUT, i % 2);
	}
}

static void r15_a_storm_on_one_switch_does_not_delay_another(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "raise", 1, 1500), "started");
	ftrace_start();
	storm();
	td_ns pressed_ns = td_clock_now();

	glasshouse_press(BOOM_TOP, true);
	storm();
	assert_true(glasshouse_await(BOOM_RAISE, false));
	size_t count = ftrace_stop(writes, WRITES_MAX);
	td_ns cut_ns = written(count, BOOM_RAISE, false, pressed_ns);

	if (cut_ns <= 0)
		fail_msg("cut %lld us before the switch",
			 (long long)(pressed_ns - written(count, BOOM_RAISE, false, 0)) / 1000);
	print_message("# measured: end switch to output low amid a storm of edges %lld us\n",
		      (long long)(cut_ns - pressed_ns) / 1000);
	assert_true(cut_ns - pressed_ns < TD_MS(10));
}

/* --- ends of the daemon --------------------------------------------------------------------------- */

static void asked_to_end_it_leaves_everything_low(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "raise", 1, 1500), "started");
	ftrace_start();
	assert_int_equal(stage_end_daemon(&house.stage), TD_EXIT_OK);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(written(count, BOOM_RAISE, false, 0) > 0);
	assert_int_equal(glasshouse_outputs(), 0);
}

static void r16_killed_it_leaves_nothing_high_and_nothing_held(void **state)
{
	(void)state;
	assert_string_equal(ask("boom", "raise", 1, 1500), "started");
	assert_true(sim_level(&house.chip, BOOM_RAISE));
	assert_int_equal(kill(house.stage.daemon, SIGKILL), 0);
	td_ns killed_ns = td_clock_now();

	while (glasshouse_outputs() != 0)
		assert_true(td_clock_now() - killed_ns < TD_MS(100));
	assert_int_equal(td_child_wait(house.stage.daemon, TD_S(2)), 256 + SIGKILL);
	house.stage.daemon = 0;
	td_link_close(house.stage.keeper);
	house.stage.keeper = NULL;
	stage_sleep(TD_MS(300)); /* guard and front end by themselves; the service manager waits longer */
	stage_start_daemon(&house.stage);
	stage_sleep(TD_MS(100));
	assert_int_equal(glasshouse_outputs(), 0);
}

static void r16_clear_lines_takes_every_output_low(void **state)
{
	bool said;
	unsigned low = 0;

	(void)state;
	ftrace_start();
	assert_int_equal(glasshouse_run("--clear-lines", "every output is low", &said), TD_EXIT_OK);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(said);
	for (size_t i = 0; i < count; i++) {
		assert_false(writes[i].high);
		low |= 1U << (writes[i].line - house.chip.base);
	}
	assert_int_equal(low, (1U << OUTPUTS) - 1);
}

static void r16_clear_lines_names_what_it_cannot_take_and_clears_the_rest(void **state)
{
	bool said;
	int holder = sim_hold(&house.chip, BOOM_RAISE, "rain-gauge");

	(void)state;
	ftrace_start();
	assert_int_equal(glasshouse_run("--clear-lines", "is held by \"rain-gauge\"", &said),
			 TD_EXIT_NOT_CLEARED);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(said);
	for (enum glasshouse_line line = 0; line < OUTPUTS; line++)
		assert_true(line == BOOM_RAISE || written(count, line, false, 0) > 0);
	close(holder);
}

static void a_line_held_by_somebody_is_named_and_nothing_starts(void **state)
{
	bool said;
	int holder = sim_hold(&house.chip, BOOM_RAISE, "rain-gauge");

	(void)state;
	assert_int_equal(glasshouse_run(NULL, "boom raise (line 5 of", &said), TD_EXIT_LINES);
	assert_true(said);
	assert_int_equal(glasshouse_run(NULL, "is held by \"rain-gauge\"", &said), TD_EXIT_LINES);
	assert_true(said);
	close(holder);
	stage_start_daemon(&house.stage);
}

#define TEST(name)       cmocka_unit_test_setup_teardown(name, glasshouse_set_up, glasshouse_tear_down)
#define TEST_ALONE(name) cmocka_unit_test_setup_teardown(name, glasshouse_set_up_alone, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST_ALONE(r14_nothing_moves_at_the_start_even_with_every_line_pulled_up),
		TEST(a_hold_powers_its_way_until_it_is_let_go),
		TEST(r2_the_upper_end_switch_cuts_raise),
		TEST(r2_the_lower_end_switch_cuts_lower),
		TEST(r2_at_the_upper_end_raise_is_refused_and_lower_is_free),
		TEST(r2_at_the_lower_end_lower_is_refused_and_raise_is_free),
		TEST(r3_a_reversal_waits_its_dead_time_and_is_never_both_high),
		TEST(r7_a_hold_that_is_not_renewed_ends_with_its_lease),
		TEST(r9_a_broken_wire_of_an_end_switch_stops_and_bars_its_way),
		TEST(r10_a_broken_wire_of_the_stop_contact_is_the_latched_stop),
		TEST(r15_a_storm_on_one_switch_does_not_delay_another),
		TEST(asked_to_end_it_leaves_everything_low),
		TEST(r16_killed_it_leaves_nothing_high_and_nothing_held),
		TEST_ALONE(r16_clear_lines_takes_every_output_low),
		TEST_ALONE(r16_clear_lines_names_what_it_cannot_take_and_clears_the_rest),
		TEST_ALONE(a_line_held_by_somebody_is_named_and_nothing_starts),
	};

	return cmocka_run_group_tests_name("the daemon on a real kernel", tests, NULL, NULL);
}
