/* SPDX-License-Identifier: MIT */
/* What breaks around the motion: processes that die, a board that goes away, starts that cannot be. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "sim/child.h"
#include "tests/support/stage.h"

enum { FORWARD = 1, SOON_MS = 100 };

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

static void drive(struct stage *stage)
{
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 0, 1500), "started");
	stage_sleep(TD_MS(200));
	assert_true(stage_high(stage, "drive", FORWARD));
}

/* Waits for the fall and returns how long after `since_ns` it came. */
static double fall_ms(struct stage *stage, td_ns since_ns)
{
	assert_true(stage_wait_output(stage, "drive", FORWARD, false, TD_S(3)));
	return (double)(stage_fall_ns(stage, "drive", FORWARD) - since_ns) / 1e6;
}

static void forget_daemon(struct stage *stage)
{
	td_link_close(stage->keeper);
	stage->keeper = NULL;
	stage->daemon = 0;
}

static void nothing_moves_on_restart_until_asked_anew(struct stage *stage)
{
	forget_daemon(stage);
	stage_start_daemon(stage);
	stage_sleep(TD_MS(300));
	assert_false(stage_any_high(stage));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 1, 300), "hold-ended");
	assert_false(stage_any_high(stage));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, 300), "started");
}

static void r16_front_killed_in_mid_motion(void **state)
{
	struct stage *stage = *state;
	pid_t front = stage_front(stage);

	drive(stage);
	td_ns killed_ns = td_clock_now();

	kill(front, SIGKILL);
	double span_ms = fall_ms(stage, killed_ns);
	int code = td_child_wait(stage->daemon, TD_S(3));

	printf("# measured: front killed -> outputs low %.2f ms, daemon exit code %d\n", span_ms, code);
	assert_true(span_ms < SOON_MS);
	assert_int_equal(code, TD_EXIT_FRONT);
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r16_front_frozen_in_mid_motion(void **state)
{
	struct stage *stage = *state;
	pid_t front = stage_front(stage);

	drive(stage);
	td_ns frozen_ns = td_clock_now();

	kill(front, SIGSTOP);
	double span_ms = fall_ms(stage, frozen_ns);

	printf("# measured: front frozen -> outputs low %.2f ms (lease of 1500 ms, 200 used)\n", span_ms);
	assert_true(span_ms < SOON_MS);
	kill(front, SIGCONT);
	assert_string_equal(stage_axis(stage->keeper, "drive", "state"), "coast");
	stage_sleep(TD_MS(1000));
	assert_false(stage_any_high(stage));
	/* It hears again: asked anew, it moves. */
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 2, 0, 1500), "started");
	assert_true(stage_wait_output(stage, "drive", FORWARD, true, TD_S(1)));
}

/* Gone, or dead and only not yet collected by whoever inherited it. */
static bool is_dead(pid_t pid)
{
	char path[64];
	char state = 'Z';

	snprintf(path, sizeof(path), "/proc/%d/stat", (int)pid);
	FILE *in = fopen(path, "r");

	if (in && fscanf(in, "%*d %*s %c", &state) != 1)
		state = 'Z';
	if (in)
		fclose(in);
	return state == 'Z';
}

static void r16_mover_killed_in_mid_motion(void **state)
{
	struct stage *stage = *state;
	pid_t front = stage_front(stage);

	drive(stage);
	td_ns killed_ns = td_clock_now();

	kill(stage->daemon, SIGKILL);
	double span_ms = fall_ms(stage, killed_ns);

	printf("# measured: mover killed -> outputs low %.2f ms (the board's pulls)\n", span_ms);
	assert_true(span_ms < SOON_MS);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), 256 + SIGKILL);
	/* The front does not outlive its mover. */
	for (int i = 0; i < 100 && !is_dead(front); i++)
		stage_sleep(TD_MS(10));
	assert_true(is_dead(front));
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r16_mover_frozen_in_mid_motion(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	td_ns frozen_ns = td_clock_now();

	kill(stage->daemon, SIGSTOP);
	double span_ms = fall_ms(stage, frozen_ns);

	printf("# measured: mover frozen -> outputs low %.2f ms (allowed: 100)\n", span_ms);
	assert_true(span_ms < 100);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), 256 + SIGKILL);
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r16_guard_killed_in_mid_motion(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	td_ns killed_ns = td_clock_now();

	kill(stage_guard(stage), SIGKILL);
	double span_ms = fall_ms(stage, killed_ns);

	printf("# measured: guard killed -> outputs low %.2f ms\n", span_ms);
	assert_true(span_ms < SOON_MS);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), TD_EXIT_GUARD);
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r16_guard_frozen_in_mid_motion(void **state)
{
	struct stage *stage = *state;
	pid_t guard = stage_guard(stage);

	drive(stage);
	td_ns frozen_ns = td_clock_now();

	kill(guard, SIGSTOP);
	double span_ms = fall_ms(stage, frozen_ns);

	printf("# measured: guard frozen -> outputs low %.2f ms\n", span_ms);
	assert_true(span_ms < 200);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), TD_EXIT_GUARD);
	assert_true(is_dead(guard));
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r16_guard_killed_at_rest(void **state)
{
	struct stage *stage = *state;

	kill(stage_guard(stage), SIGKILL);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), TD_EXIT_GUARD);
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void a_scribe_killed_in_mid_motion_ends_everything(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	td_ns killed_ns = td_clock_now();

	kill(stage_scribe(stage), SIGKILL);
	double span_ms = fall_ms(stage, killed_ns);
	int code = td_child_wait(stage->daemon, TD_S(3));

	printf("# measured: scribe killed -> outputs low %.2f ms, daemon exit code %d\n", span_ms, code);
	assert_true(span_ms < SOON_MS);
	assert_int_equal(code, TD_EXIT_SCRIBE);
	nothing_moves_on_restart_until_asked_anew(stage);
}

/* As if its disk took for ever: nobody else waits for it. */
static void a_scribe_that_hangs_holds_up_nobody(void **state)
{
	struct stage *stage = *state;

	kill(stage_scribe(stage), SIGSTOP);
	drive(stage);
	json_decref(stage_call(stage->keeper, "stop", NULL));
	assert_true(stage_wait_output(stage, "drive", FORWARD, false, TD_MS(SOON_MS)));
	assert_int_equal(stage_end_daemon(stage), TD_EXIT_OK);
}

static void asked_to_end_in_mid_motion(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	td_ns asked_ns = td_clock_now();

	kill(stage->daemon, SIGTERM);
	double span_ms = fall_ms(stage, asked_ns);

	printf("# measured: SIGTERM -> outputs low %.2f ms\n", span_ms);
	assert_true(span_ms < SOON_MS);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), TD_EXIT_OK);
	nothing_moves_on_restart_until_asked_anew(stage);
}

static void r15_board_gone_in_mid_motion(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	kill(stage->board, SIGKILL);
	assert_int_equal(td_child_wait(stage->daemon, TD_S(3)), TD_EXIT_LINES);
	forget_daemon(stage);
}

/* --- starts ---------------------------------------------------------------------------------------- */

static int run_daemon(struct stage *stage, const char *option, const char *file)
{
	char program[STAGE_PATH_MAX];
	struct td_error err;

	snprintf(program, sizeof(program), "%s", stage_program("tripdogd"));
	const char *const argv[] = {program, option, file, NULL};
	pid_t pid = td_child_start(argv, stage_file(stage, "other.log"), &err);

	assert_true(pid > 0);
	return td_child_wait(pid, TD_S(10));
}

static int run_clear(struct stage *stage, const char *config)
{
	char option[STAGE_PATH_MAX + 16];

	snprintf(option, sizeof(option), "--config=%s", config);
	return run_daemon(stage, "--clear-lines", option);
}

static bool log_says(struct stage *stage, const char *words)
{
	char line[1024];
	bool found = false;
	FILE *in = fopen(stage_file(stage, "other.log"), "r");

	assert_non_null(in);
	while (fgets(line, sizeof(line), in))
		found |= strstr(line, words) != NULL;
	fclose(in);
	return found;
}

static void a_second_daemon_on_the_same_sockets_is_refused_and_the_first_lives(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	assert_int_equal(run_daemon(stage, "--config", stage->config), TD_EXIT_START);
	assert_true(log_says(stage, "another daemon holds this socket"));
	assert_true(stage_high(stage, "drive", FORWARD));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 1, 300), "renewed");
}

static void a_second_daemon_on_the_same_board_is_refused_and_the_first_lives(void **state)
{
	struct stage *stage = *state;
	char line[512];
	FILE *in = fopen(stage->config, "r");
	FILE *out = fopen(stage_file(stage, "second.conf"), "w");

	while (fgets(line, sizeof(line), in)) { /* the same machine behind other sockets */
		char *dot = strstr(line, "r.sock");

		if (dot && strstr(line, "socket ="))
			*dot = '2';
		fputs(line, out);
	}
	fclose(in);
	fclose(out);
	drive(stage);
	assert_int_equal(run_daemon(stage, "--config", stage_file(stage, "second.conf")), TD_EXIT_LINES);
	assert_true(stage_high(stage, "drive", FORWARD));
	assert_string_equal(stage_request(stage->keeper, "drive", "forward", 1, 1, 300), "renewed");
}

static void clear_lines_says_who_is_in_the_way_and_works_when_nobody_is(void **state)
{
	struct stage *stage = *state;

	drive(stage);
	assert_int_equal(run_clear(stage, stage->config), TD_EXIT_NOT_CLEARED);
	assert_true(log_says(stage, "board.sock"));
	assert_true(stage_high(stage, "drive", FORWARD)); /* the daemon that holds them goes on */
	stage_end_daemon(stage);
	assert_int_equal(run_clear(stage, stage->config), TD_EXIT_OK);
	assert_int_equal(run_clear(stage, stage_file(stage, "none.conf")), TD_EXIT_CONFIG);
	assert_true(log_says(stage, "cut the motor supply"));
}

static void a_file_with_faults_ends_the_start_with_every_fault(void **state)
{
	struct stage *stage = *state;
	FILE *out = fopen(stage_file(stage, "bad.conf"), "w");

	fputs("[axis boom]\nways = lower raise\ndead_time_ms = 0\nrest_mss = 7\n", out);
	fclose(out);
	assert_int_equal(run_daemon(stage, "--config", stage_file(stage, "bad.conf")), TD_EXIT_CONFIG);
	assert_true(log_says(stage, "bad.conf:3:"));
	assert_true(log_says(stage, "bad.conf:4:"));
	assert_true(log_says(stage, "rest_ms"));
}

static void a_missing_file_ends_the_start(void **state)
{
	struct stage *stage = *state;

	assert_int_equal(run_daemon(stage, "--config", stage_file(stage, "none.conf")), TD_EXIT_CONFIG);
	assert_true(log_says(stage, "none.conf"));
}

static void a_wrong_option_ends_the_start(void **state)
{
	struct stage *stage = *state;

	assert_int_equal(run_daemon(stage, "--confg", stage->config), TD_EXIT_USAGE);
	assert_int_equal(run_daemon(stage, "--config", NULL), TD_EXIT_USAGE);
	assert_int_equal(run_daemon(stage, "stray", NULL), TD_EXIT_USAGE);
	assert_int_equal(run_daemon(stage, "--help", NULL), TD_EXIT_OK);
	assert_int_equal(run_daemon(stage, "--version", NULL), TD_EXIT_OK);
	assert_int_equal(run_daemon(stage, "--explain-config", NULL), TD_EXIT_OK);
	assert_true(log_says(stage, "dead_time_ms"));
}

static void without_a_board_the_start_ends_and_says_which(void **state)
{
	struct stage *stage = *state;

	stage_end_daemon(stage);
	td_child_end(stage->board);
	stage->board = 0;
	assert_int_equal(run_daemon(stage, "--config", stage->config), TD_EXIT_LINES);
	assert_true(log_says(stage, "board.sock"));
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(r16_front_killed_in_mid_motion),
		SCENE(r16_front_frozen_in_mid_motion),
		SCENE(r16_mover_killed_in_mid_motion),
		SCENE(r16_mover_frozen_in_mid_motion),
		SCENE(r16_guard_killed_in_mid_motion),
		SCENE(r16_guard_frozen_in_mid_motion),
		SCENE(r16_guard_killed_at_rest),
		SCENE(a_scribe_killed_in_mid_motion_ends_everything),
		SCENE(a_scribe_that_hangs_holds_up_nobody),
		SCENE(asked_to_end_in_mid_motion),
		SCENE(r15_board_gone_in_mid_motion),
		SCENE(a_second_daemon_on_the_same_sockets_is_refused_and_the_first_lives),
		SCENE(a_second_daemon_on_the_same_board_is_refused_and_the_first_lives),
		SCENE(clear_lines_says_who_is_in_the_way_and_works_when_nobody_is),
		SCENE(a_file_with_faults_ends_the_start_with_every_fault),
		SCENE(a_missing_file_ends_the_start),
		SCENE(a_wrong_option_ends_the_start),
		SCENE(without_a_board_the_start_ends_and_says_which),
	};

	return cmocka_run_group_tests_name("faults", tests, NULL, NULL);
}
