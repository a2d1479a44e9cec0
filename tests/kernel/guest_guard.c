/* SPDX-License-Identifier: MIT */
/*
 * R16 on a real kernel: whatever befalls one of the three processes while outputs are high, all outputs are low a
 * tenth of a second later. The machine has one processor, and the mover its real-time priority: the hard case for a
 * mover that spins. Times are the kernel's, between the signal and the write that clears the last output. Runs inside
 * the test machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <signal.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/quick.h"
#include "tests/kernel/spread.h"

enum { RUNS = 20, WRITES_MAX = 1000, KILLED = 256 };

static struct ftrace_write writes[WRITES_MAX];

struct blow {
	const char *name;
	pid_t (*whom)(const struct stage *stage);
	int signal_number;
	bool needs_faults;
	int code; /* the daemon's exit code that follows */
	td_ns bound_ns;
};

static pid_t the_mover(const struct stage *stage)
{
	return stage->daemon;
}

static td_ns cleared_ns(size_t count, td_ns struck_ns)
{
	td_ns boom_ns = ftrace_find(writes, count, house.chip.base + BOOM_RAISE, false, struck_ns);
	td_ns vent_ns = ftrace_find(writes, count, house.chip.base + VENT_OPEN, false, struck_ns);

	assert_true(boom_ns > 0 && vent_ns > 0);
	return boom_ns > vent_ns ? boom_ns : vent_ns;
}

/* `wait_ns` moves the blow about between two polls. */
static td_ns strike_once(const struct blow *blow, td_ns wait_ns)
{
	quick_start();
	quick_hold("boom", "raise", BOOM_RAISE, 1500);
	quick_hold("vent", "open", VENT_OPEN, 1500);
	pid_t target = blow->whom(&house.stage);

	stage_sleep(wait_ns);
	assert_int_equal(glasshouse_outputs(), 1U << BOOM_RAISE | 1U << VENT_OPEN);
	ftrace_start();
	td_ns struck_ns = td_clock_now();

	assert_int_equal(kill(target, blow->signal_number), 0);
	assert_int_equal(quick_ended(), blow->code);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_int_equal(glasshouse_outputs(), 0);
	return cleared_ns(count, struck_ns) - struck_ns;
}

static void strike(const struct blow *blow)
{
	td_ns spans_ns[RUNS];
	unsigned in_time = 0;

	quick_use_faults(blow->needs_faults);
	for (unsigned i = 0; i < RUNS; i++) {
		spans_ns[i] = strike_once(blow, TD_MS(5) + i * TD_US(1730));
		in_time += spans_ns[i] <= blow->bound_ns;
	}
	struct spread spread = spread_of(spans_ns, RUNS);

	print_message(
		"# measured: %-26s to all low: min %6lld us, p50 %6lld us, max %6lld us; %u of %d within "
		"%lld ms\n",
		blow->name, (long long)spread.least_ns / 1000, (long long)spread.middle_ns / 1000,
		(long long)spread.most_ns / 1000, in_time, RUNS, (long long)(blow->bound_ns / TD_MS(1)));
	assert_int_equal(in_time, RUNS);
}

static void r16_the_mover_is_killed(void **state)
{
	const struct blow blow = {"mover, SIGKILL", the_mover, SIGKILL, false, KILLED + SIGKILL, TD_MS(100)};

	(void)state;
	strike(&blow);
}

static void r16_the_mover_aborts(void **state)
{
	const struct blow blow = {"mover, SIGABRT", the_mover, SIGABRT, false, KILLED + SIGABRT, TD_MS(100)};

	(void)state;
	strike(&blow);
}

static void r16_the_mover_is_stopped_short(void **state)
{
	const struct blow blow = {"mover, SIGSTOP", the_mover, SIGSTOP, false, KILLED + SIGKILL, TD_MS(100)};

	(void)state;
	strike(&blow);
}

static void r16_the_mover_spins_on_the_only_processor(void **state)
{
	const struct blow blow = {"mover, spinning", the_mover, SIGUSR1, true, KILLED + SIGKILL, TD_MS(100)};

	(void)state;
	strike(&blow);
}

static void r16_the_guard_is_killed(void **state)
{
	const struct blow blow = {"guard, SIGKILL", stage_guard, SIGKILL, false, TD_EXIT_GUARD, TD_MS(10)};

	(void)state;
	strike(&blow);
}

/* Nothing else has failed: what is bounded here is how long the mover goes on without a guard. */
static void r16_the_guard_is_stopped_short(void **state)
{
	const struct blow blow = {"guard, SIGSTOP", stage_guard, SIGSTOP, false, TD_EXIT_GUARD, TD_MS(200)};

	(void)state;
	strike(&blow);
}

static void r16_the_front_is_killed(void **state)
{
	const struct blow blow = {"front, SIGKILL", stage_front, SIGKILL, false, TD_EXIT_FRONT, TD_MS(10)};

	(void)state;
	strike(&blow);
}

static int set_up(void **state)
{
	int result = glasshouse_set_up_alone(state);

	quick_configure(house.chip.label, 2);
	return result;
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r16_the_mover_is_killed),        TEST(r16_the_mover_aborts),
		TEST(r16_the_mover_is_stopped_short), TEST(r16_the_mover_spins_on_the_only_processor),
		TEST(r16_the_guard_is_killed),        TEST(r16_the_guard_is_stopped_short),
		TEST(r16_the_front_is_killed),
	};

	return cmocka_run_group_tests_name("the guard on a real kernel", tests, NULL, NULL);
}
