/* SPDX-License-Identifier: MIT */
/*
 * From the edge of an end switch to its output low: the daemon against the least program that could do it, in the
 * same test machine, both at the same real-time priority. The emulator is slow and shares its host, so the ratio says
 * more than the times; on some kernels a few edges in a thousand wait for the next tick of 4 ms, with both programs.
 * Runs inside the test machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <fcntl.h>
#include <linux/gpio.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/mover/harden.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/glasshouse.h"

enum { EDGES = 1000, WRITES_MAX = 40000 };

static struct ftrace_write writes[WRITES_MAX];
static td_ns pressed_ns[EDGES];
static td_ns spans_ns[EDGES];
static td_ns least_dead_ns; /* found beside the latencies, in the same trace */

/* --- what is measured ----------------------------------------------------------------------------- */

static int compare(const void *a, const void *b)
{
	td_ns x = *(const td_ns *)a;
	td_ns y = *(const td_ns *)b;

	return (x > y) - (x < y);
}

struct spread {
	td_ns middle_ns;
	td_ns p99_ns;
	td_ns most_ns;
};

/* The time from each press to the next write of a low level to the line it was for. */
static struct spread measure(size_t count, const unsigned line[2], const char *who)
{
	size_t at = 0;

	for (unsigned i = 0; i < EDGES; i++) {
		while (at < count && (writes[at].at_ns < pressed_ns[i] - TD_US(1) || writes[at].high ||
				      writes[at].line != line[i % 2]))
			at++;
		assert_true(at < count);
		spans_ns[i] = writes[at].at_ns - pressed_ns[i];
	}
	qsort(spans_ns, EDGES, sizeof(spans_ns[0]), compare);
	struct spread spread = {spans_ns[EDGES / 2], spans_ns[EDGES * 99 / 100], spans_ns[EDGES - 1]};

	print_message(
		"# measured: %s, edge to output low: p50 %lld us, p99 %lld us, max %lld us (%d edges)\n", who,
		(long long)spread.middle_ns / 1000, (long long)spread.p99_ns / 1000,
		(long long)spread.most_ns / 1000, EDGES);
	return spread;
}

/* --- the least program ---------------------------------------------------------------------------- */

static int take(int chip, struct gpio_v2_line_request *request)
{
	request->num_lines = 1;
	if (ioctl(chip, GPIO_V2_GET_LINE_IOCTL, request) < 0)
		_exit(1);
	return request->fd;
}

/* Sets the output low when the switch opens and high when it closes, for ever. */
static _Noreturn void bare_loop(void)
{
	struct gpio_v2_line_request switch_line = {.offsets = {BOOM_TOP}};
	struct gpio_v2_line_request output_line = {.offsets = {BOOM_RAISE}};
	struct gpio_v2_line_event event;
	struct td_error err;
	char path[64];

	(void)snprintf(path, sizeof(path), "/dev/%s", house.chip.node);
	int chip = open(path, O_RDWR | O_CLOEXEC);

	switch_line.config.flags =
		GPIO_V2_LINE_FLAG_INPUT | GPIO_V2_LINE_FLAG_EDGE_RISING | GPIO_V2_LINE_FLAG_EDGE_FALLING;
	output_line.config.flags = GPIO_V2_LINE_FLAG_OUTPUT;
	int switch_fd = take(chip, &switch_line);
	int output_fd = take(chip, &output_line);

	if (td_harden_memory(&err) != 0 || td_harden_priority(TD_MOVER_PRIORITY, &err) != 0)
		_exit(2);
	while (read(switch_fd, &event, sizeof(event)) == sizeof(event)) {
		struct gpio_v2_line_values values = {.mask = 1};

		values.bits = event.id == GPIO_V2_LINE_EVENT_FALLING_EDGE;
		if (ioctl(output_fd, GPIO_V2_LINE_SET_VALUES_IOCTL, &values) < 0)
			_exit(3);
	}
	_exit(4);
}

static struct spread measure_bare_loop(void)
{
	pid_t child;

	assert_int_equal(glasshouse_set_up_alone(NULL), 0);
	glasshouse_press(BOOM_TOP, true);
	child = fork();
	assert_true(child >= 0);
	if (child == 0)
		bare_loop();
	stage_sleep(TD_MS(200));
	ftrace_start();
	for (unsigned i = 0; i < EDGES; i++) {
		glasshouse_press(BOOM_TOP, false);
		assert_true(glasshouse_await(BOOM_RAISE, true));
		pressed_ns[i] = td_clock_now();
		glasshouse_press(BOOM_TOP, true);
		assert_true(glasshouse_await(BOOM_RAISE, false));
	}
	size_t count = ftrace_stop(writes, WRITES_MAX);
	const unsigned line[2] = {house.chip.base + BOOM_RAISE, house.chip.base + BOOM_RAISE};

	assert_int_equal(kill(child, SIGKILL), 0);
	assert_int_equal(waitpid(child, NULL, 0), child);
	struct spread spread = measure(count, line, "bare loop");

	assert_int_equal(glasshouse_tear_down(NULL), 0);
	return spread;
}

/* --- the daemon ----------------------------------------------------------------------------------- */

static const char boom_alone[] =
	"[machine]\n"
	"backend = gpio\n"
	"state_dir = %s/state\n"
	"[keeper]\nsocket = %s/keeper.sock\n"
	"[visitor]\nsocket = %s/visitor.sock\n"
	"[axis boom]\nways = lower raise\ndead_time_ms = 5\nrest_ms = 5\n"
	"[way boom lower]\ninput = %s:4\nend_switch = boom_bottom\ntravel_ms = 1000\n"
	"early_percent = 0\nleave_ms = 500\n"
	"[way boom raise]\ninput = %s:5\nend_switch = boom_top\ntravel_ms = 1000\n"
	"early_percent = 0\nleave_ms = 500\n"
	"[switch boom_bottom]\nline = %s:16\nconfirm_ms = 0\nclear_ms = 0\n"
	"[switch boom_top]\nline = %s:17\nconfirm_ms = 0\nclear_ms = 0\n";

static void configure_boom_alone(void)
{
	const char *dir = house.stage.dir;
	const char *label = house.chip.label;
	FILE *out = fopen(house.stage.config, "we");

	assert_non_null(out);
	(void)fprintf(out, boom_alone, dir, dir, dir, label, label, label, label);
	assert_int_equal(fclose(out), 0);
}

/* The boom goes up and down between its ends, and every way ends at its switch. */
static size_t drive_to_and_fro(void)
{
	ftrace_start();
	for (unsigned i = 0; i < EDGES; i++) {
		bool up = i % 2 == 0;
		const char *answer = stage_request(house.stage.keeper, "boom", up ? "raise" : "lower",
						   (int)i + 1, 0, 1500);

		if (strcmp(answer, "started") != 0 && strcmp(answer, "queued") != 0)
			fail_msg("edge %u: %s", i, answer);
		assert_true(glasshouse_await(up ? BOOM_RAISE : BOOM_LOWER, true));
		glasshouse_press(up ? BOOM_BOTTOM : BOOM_TOP, false);
		pressed_ns[i] = td_clock_now();
		glasshouse_press(up ? BOOM_TOP : BOOM_BOTTOM, true);
		assert_true(glasshouse_await(up ? BOOM_RAISE : BOOM_LOWER, false));
	}
	return ftrace_stop(writes, WRITES_MAX);
}

/* R1 and R3 over the whole trace; the least time both inputs were low between opposite ways. */
static td_ns least_dead_time(size_t count)
{
	bool level[2] = {false, false};
	td_ns fell_ns[2] = {0, 0};
	td_ns least_ns = TD_NEVER;

	for (size_t i = 0; i < count; i++) {
		unsigned way = writes[i].line - (house.chip.base + BOOM_LOWER);

		if (way > 1)
			continue;
		if (writes[i].high && !level[way] && fell_ns[1 - way])
			least_ns = td_time_earlier(least_ns, writes[i].at_ns - fell_ns[1 - way]);
		if (!writes[i].high && level[way])
			fell_ns[way] = writes[i].at_ns;
		level[way] = writes[i].high;
		assert_false(level[0] && level[1]);
	}
	return least_ns;
}

static struct spread measure_daemon(void)
{
	assert_int_equal(glasshouse_set_up_alone(NULL), 0);
	configure_boom_alone();
	stage_start_daemon(&house.stage);
	size_t count = drive_to_and_fro();
	const unsigned line[2] = {house.chip.base + BOOM_RAISE, house.chip.base + BOOM_LOWER};
	struct spread spread = measure(count, line, "tripdogd");

	least_dead_ns = least_dead_time(count);
	assert_int_equal(glasshouse_tear_down(NULL), 0);
	return spread;
}

static void r2_every_edge_of_a_thousand_is_answered_nearly_as_fast_as_can_be(void **state)
{
	struct spread bare = measure_bare_loop();
	struct spread ours = measure_daemon();

	(void)state;
	print_message("# measured: tripdogd to bare loop: p50 x%.2f, p99 x%.2f, max x%.2f\n",
		      (double)ours.middle_ns / (double)bare.middle_ns,
		      (double)ours.p99_ns / (double)bare.p99_ns, (double)ours.most_ns / (double)bare.most_ns);
	assert_true(ours.middle_ns < 10 * bare.middle_ns);
	assert_true(ours.p99_ns < TD_MS(50));
}

static void r3_no_reversal_of_a_thousand_has_less_than_its_dead_time(void **state)
{
	(void)state;
	print_message("# measured: least dead time over %d reversals %lld us of 5000\n", EDGES - 1,
		      (long long)least_dead_ns / 1000);
	assert_true(least_dead_ns >= TD_MS(5) - TD_US(1)); /* stamps are cut to whole microseconds */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r2_every_edge_of_a_thousand_is_answered_nearly_as_fast_as_can_be),
		cmocka_unit_test(r3_no_reversal_of_a_thousand_has_less_than_its_dead_time),
	};

	return cmocka_run_group_tests_name("latency on a real kernel", tests, NULL, NULL);
}
