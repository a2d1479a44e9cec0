/* SPDX-License-Identifier: MIT */
/*
 * From the edge of an end switch to its output low: the daemon against the least program that could do it, in the
 * same test machine and at the same time, both at the same real-time priority; in quiet, then with two programs that
 * want all of the processor and a flood of garbage at the visitors' socket. The emulated processor does 125 million
 * instructions a second and has no caches: this compares the programs' own paths, it foretells no board's times. Runs
 * inside the test machine.
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
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/mover/harden.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/quick.h"
#include "tests/kernel/spread.h"
#include "tests/support/flood.h"

enum {
	EDGES = 1000,
	WRITES_MAX = 40000,
	HOGS = 2,
	GARBAGE_PER_S = 2000,
	THROWERS = 16,
};

/* Longer than it takes; checked. */
#define LOAD_NS TD_S(30)

static struct ftrace_write writes[WRITES_MAX];
static td_ns pressed_ns[EDGES];
static td_ns spans_ns[EDGES];

/* --- what is measured ----------------------------------------------------------------------------- */

/* The time from each press to the next write of a low level to the line it was for. */
static struct spread measure(size_t count, const unsigned line[2])
{
	size_t at = 0;

	for (unsigned i = 0; i < EDGES; i++) {
		while (at < count && (writes[at].at_ns < pressed_ns[i] - TD_US(1) || writes[at].high ||
				      writes[at].line != line[i % 2]))
			at++;
		assert_true(at < count);
		spans_ns[i] = writes[at].at_ns - pressed_ns[i];
	}
	return spread_of(spans_ns, EDGES);
}

static void show(const char *who, const char *when, const struct spread *spread)
{
	print_message(
		"# measured: %s, %s, edge to output low: p50 %lld us, p99 %lld us, max %lld us (%d edges)\n",
		when, who, (long long)spread->middle_ns / 1000, (long long)spread->p99_ns / 1000,
		(long long)spread->most_ns / 1000, EDGES);
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
	struct gpio_v2_line_request switch_line = {.offsets = {SPARE_SWITCH}};
	struct gpio_v2_line_request output_line = {.offsets = {SPARE_OUTPUT}};
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
	const unsigned line[2] = {house.chip.base + SPARE_OUTPUT, house.chip.base + SPARE_OUTPUT};
	pid_t child;

	sim_pull(&house.chip, SPARE_SWITCH, true);
	child = fork();
	assert_true(child >= 0);
	if (child == 0)
		bare_loop();
	stage_sleep(TD_MS(200));
	ftrace_start();
	for (unsigned i = 0; i < EDGES; i++) {
		sim_pull(&house.chip, SPARE_SWITCH, false);
		assert_true(glasshouse_await(SPARE_OUTPUT, true));
		pressed_ns[i] = td_clock_now();
		sim_pull(&house.chip, SPARE_SWITCH, true);
		assert_true(glasshouse_await(SPARE_OUTPUT, false));
	}
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_int_equal(kill(child, SIGKILL), 0);
	assert_int_equal(waitpid(child, NULL, 0), child);
	return measure(count, line);
}

/* --- the daemon ----------------------------------------------------------------------------------- */

/* The boom goes up and down between its ends, and every way ends at its switch. */
static size_t drive_to_and_fro(void)
{
	ftrace_start();
	for (unsigned i = 0; i < EDGES; i++) {
		bool up = i % 2 == 0;

		quick_hold("boom", up ? "raise" : "lower", up ? BOOM_RAISE : BOOM_LOWER, 1500);
		glasshouse_press(up ? BOOM_BOTTOM : BOOM_TOP, false);
		stage_sleep(TD_MS(2)); /* more than clear_ms, or both ends are active at once */
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

static void check_dead_time(size_t count)
{
	td_ns least_ns = least_dead_time(count);

	print_message("# measured: least dead time over %d reversals %lld us of 5000\n", EDGES - 1,
		      (long long)least_ns / 1000);
	assert_true(least_ns >= TD_MS(5) - TD_US(1)); /* stamps are cut to whole microseconds */
}

static struct spread measure_daemon(void)
{
	const unsigned line[2] = {house.chip.base + BOOM_RAISE, house.chip.base + BOOM_LOWER};
	size_t count = drive_to_and_fro();

	check_dead_time(count);
	return measure(count, line);
}

/* --- what disturbs -------------------------------------------------------------------------------- */

struct load {
	pid_t hog[HOGS];
	struct flood flood;
	td_ns begun_ns;
};

static pid_t make_hog(void)
{
	pid_t pid = fork();

	assert_true(pid >= 0);
	if (pid > 0)
		return pid;
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	for (;;)
		;
}

static void load_begin(struct load *load)
{
	for (unsigned i = 0; i < HOGS; i++)
		load->hog[i] = make_hog();
	load->flood = flood_start(&(struct flood_plan){.path = stage_file(&house.stage, "visitor.sock"),
						       .kind = FLOOD_GARBAGE,
						       .clients = THROWERS,
						       .per_second = GARBAGE_PER_S,
						       .for_ns = LOAD_NS});
	flood_go(&load->flood);
	load->begun_ns = td_clock_now();
}

static void load_end(struct load *load)
{
	td_ns span_ns = td_clock_now() - load->begun_ns;
	td_ns hogged_ns = 0;

	for (unsigned i = 0; i < HOGS; i++) {
		struct rusage used;

		assert_int_equal(kill(load->hog[i], SIGKILL), 0);
		assert_int_equal(wait4(load->hog[i], NULL, 0, &used), load->hog[i]);
		hogged_ns += TD_S(used.ru_utime.tv_sec) + TD_US(used.ru_utime.tv_usec);
	}
	struct flood_result thrown = flood_end(&load->flood);

	print_message(
		"# measured: load for %.1f s: %llu lines of garbage, hogs had %.0f%% of the processor\n",
		(double)span_ns / 1e9, (unsigned long long)thrown.turns,
		(double)hogged_ns * 100 / (double)span_ns);
	assert_true(thrown.seconds * 1e9 >= (double)span_ns);
	assert_true(thrown.turns > 1000);
}

/* --- tests ---------------------------------------------------------------------------------------- */

/* The world outside does not wait for a share of the processor; nor does it come before the mover. */
static int set_up(void **state)
{
	struct td_error err;
	int result = glasshouse_set_up_alone(state);

	quick_configure(house.chip.label, 0);
	quick_start();
	return result == 0 ? td_harden_priority(TD_MOVER_PRIORITY - 10, &err) : result;
}

static void compare(const char *when)
{
	struct spread bare = measure_bare_loop();
	struct spread ours = measure_daemon();

	show("bare loop", when, &bare);
	show("tripdogd", when, &ours);
	print_message("# measured: %s, tripdogd to bare loop: p50 x%.2f, p99 x%.2f, max x%.2f\n", when,
		      (double)ours.middle_ns / (double)bare.middle_ns,
		      (double)ours.p99_ns / (double)bare.p99_ns, (double)ours.most_ns / (double)bare.most_ns);
	assert_true(ours.middle_ns < 3 * bare.middle_ns);
	assert_true(ours.p99_ns < 3 * bare.p99_ns);
	assert_true(ours.most_ns < TD_MS(5));
}

static void r2_r3_a_thousand_edges_are_answered_nearly_as_fast_as_can_be(void **state)
{
	(void)state;
	compare("quiet");
}

static void r2_r3_under_hogs_and_a_flood_too(void **state)
{
	struct load load;

	(void)state;
	load_begin(&load);
	compare("2 hogs and a flood");
	load_end(&load);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r2_r3_a_thousand_edges_are_answered_nearly_as_fast_as_can_be),
		TEST(r2_r3_under_hogs_and_a_flood_too),
	};

	return cmocka_run_group_tests_name("latency on a real kernel", tests, NULL, NULL);
}
