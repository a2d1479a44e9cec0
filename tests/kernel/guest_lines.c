/* SPDX-License-Identifier: MIT */
/* Held lines on a real kernel: writes, edges, chips that go away, forks. Runs inside the test machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/kernel/cart.h"
#include "tests/kernel/ftrace.h"
#include "tests/kernel/heap_count.h"
#include "tests/support/stage.h"

enum { WRITES_MAX = 1000 };

static struct ftrace_write writes[WRITES_MAX];

/* --- writes --------------------------------------------------------------------------------------- */

static void r1_what_goes_low_is_written_before_what_goes_high(void **state)
{
	bool level[2] = {false, false};

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	ftrace_start();
	for (unsigned i = 0; i < 50; i++) {
		assert_int_equal(stage.lines->ops->set(stage.lines, 0x3, 0x1), 0);
		assert_int_equal(stage.lines->ops->set(stage.lines, 0x3, 0x2), 0);
	}
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(count >= 200);
	for (size_t i = 0; i < count; i++) {
		assert_in_range(writes[i].line, stage.cart.base, stage.cart.base + 7);
		if (writes[i].line - stage.cart.base < 2)
			level[writes[i].line - stage.cart.base] = writes[i].high;
		assert_false(level[0] && level[1]);
	}
	print_message("# measured: %zu writes in 100 reversals, never both high\n", count);
}

static void r1_the_order_holds_across_two_chips(void **state)
{
	bool close_high = false;
	bool open_high = false;

	(void)state;
	cart_want_the_usual(); /* vent close is on the mast, vent open on the cart */
	cart_open_lines();
	ftrace_start();
	for (unsigned i = 0; i < 50; i++) {
		assert_int_equal(stage.lines->ops->set(stage.lines, 0xc, 0x4), 0);
		assert_int_equal(stage.lines->ops->set(stage.lines, 0xc, 0x8), 0);
	}
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(count >= 200);
	for (size_t i = 0; i < count; i++) {
		if (writes[i].line == stage.mast.base)
			close_high = writes[i].high;
		if (writes[i].line == stage.cart.base + 2)
			open_high = writes[i].high;
		assert_false(close_high && open_high);
	}
}

static void a_write_leaves_lines_outside_its_mask_alone(void **state)
{
	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(stage.lines->ops->set(stage.lines, 0x5, 0x5), 0);
	assert_int_equal(stage.lines->ops->set(stage.lines, 0x8, 0x8), 0);
	assert_int_equal(cart_output_levels(), 0xd);
	assert_int_equal(stage.lines->ops->set(stage.lines, 0x1, 0), 0);
	assert_int_equal(cart_output_levels(), 0xc);
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xffff0000, 0xffffffff), 0);
	assert_int_equal(cart_output_levels(), 0xc);
}

static void closing_clears_the_outputs_before_it_lets_go(void **state)
{
	bool level[16] = {false};

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0xf), 0);
	ftrace_start();
	stage.lines->ops->close(stage.lines);
	stage.lines = NULL;
	size_t count = ftrace_stop(writes, WRITES_MAX);

	assert_true(count >= 4);
	memset(level, true, sizeof(level));
	for (size_t i = 0; i < count; i++)
		level[writes[i].line == stage.mast.base ? 8 : writes[i].line - stage.cart.base] =
			writes[i].high;
	assert_false(level[0] || level[1] || level[2] || level[8]);
}

/* --- edges ---------------------------------------------------------------------------------------- */

static void both_edges_come_with_monotonic_stamps(void **state)
{
	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_false(cart_wakes_within(0));
	for (unsigned i = 0; i < 20; i++) {
		unsigned sw = i / 2 % 2;
		bool up = i % 2 == 0;
		td_ns before = cart_now();

		sim_pull(sw ? &stage.mast : &stage.cart, sw ? 2 : 4, up);
		struct td_lines_edge edge = cart_await_edge();

		assert_int_equal(edge.sw, sw);
		assert_int_equal(edge.high, up);
		assert_int_equal(edge.lost, 0);
		assert_in_range((uint64_t)edge.at_ns, (uint64_t)before, (uint64_t)cart_now());
		assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), 0);
		assert_false(cart_wakes_within(0));
	}
}

static void edges_of_several_lines_come_in_order_of_time(void **state)
{
	struct td_lines_edge edge;
	td_ns last = 0;
	unsigned count = 0;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	/* Kernel 6.1: edges of a line wait for its interrupt thread to have run once. */
	stage_sleep(TD_MS(50));
	for (unsigned i = 0; i < 10; i++) {
		sim_pull(&stage.mast, 2, i % 2 == 0);
		sim_pull(&stage.cart, 4, i % 2 == 0);
	}
	for (; stage.lines->ops->next_edge(stage.lines, &edge) == 1; count++) {
		assert_true(edge.at_ns >= last);
		assert_int_equal(edge.sw, count % 2 ? 0 : 1);
		last = edge.at_ns;
	}
	assert_int_equal(count, 20);
}

static void r15_a_storm_of_edges_marks_the_loss_and_the_level_is_right(void **state)
{
	struct td_lines_edge edge;
	unsigned taken = 0;
	unsigned lost = 0;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	for (unsigned i = 0; i < 2501; i++)
		sim_pull(&stage.cart, 4, i % 2 == 0);
	for (; stage.lines->ops->next_edge(stage.lines, &edge) == 1; taken++)
		lost += edge.lost;
	assert_true(taken < 2501);
	assert_true(lost > 0);
	assert_int_equal(cart_levels(), 1);
	print_message("# measured: of 2501 edges unread, %u kept, %u marks of loss\n", taken, lost);
	sim_pull(&stage.cart, 4, false);
	assert_int_equal(cart_await_edge().high, 0);
	assert_int_equal(cart_levels(), 0);
}

static void a_chip_without_interrupts_is_polled(void **state)
{
	struct sim_chip deaf;
	struct td_lines_edge edge;

	(void)state;
	sim_chip_add(&deaf, "deaf", 4, NULL);
	cart_want_the_usual();
	cart_want_input("deaf_switch", "deaf", 3, "", TD_GPIO_PULL_UP);
	cart_open_lines();
	assert_int_equal(cart_levels(), 4);
	for (unsigned i = 0; i < 6; i++) {
		td_ns before = cart_now();

		sim_pull(&deaf, 3, i % 2);
		do {
			assert_true(cart_wakes_within(1000));
		} while (stage.lines->ops->next_edge(stage.lines, &edge) == 0);
		assert_int_equal(edge.sw, 2);
		assert_int_equal(edge.high, i % 2);
		assert_in_range((uint64_t)edge.at_ns, (uint64_t)before, (uint64_t)cart_now());
		assert_int_equal(cart_levels(), i % 2 ? 4 : 0);
	}
	sim_pull(&stage.cart, 4, true);
	do {
		assert_true(cart_wakes_within(1000));
	} while (stage.lines->ops->next_edge(stage.lines, &edge) == 0);
	assert_int_equal(edge.sw, 0);
	stage.lines->ops->close(stage.lines);
	stage.lines = NULL;
	sim_chip_unplug(&deaf);
	sim_chip_forget(&deaf);
}

static void another_chip_that_goes_away_changes_nothing(void **state)
{
	struct sim_chip other;
	struct td_lines_edge edge;

	(void)state;
	sim_chip_add(&other, "weather", 2, NULL);
	cart_want_the_usual();
	cart_open_lines();
	sim_chip_unplug(&other);
	sim_chip_forget(&other);
	cart_wakes_within(200);
	assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), 0);
	sim_pull(&stage.cart, 4, true);
	assert_int_equal(cart_await_edge().high, 1);
}

/* --- processes ------------------------------------------------------------------------------------ */

static void a_child_that_abandons_leaves_the_parent_its_lines(void **state)
{
	int status;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0x9), 0);
	pid_t child = fork();

	assert_true(child >= 0);
	if (child == 0) {
		stage.lines->ops->abandon(stage.lines);
		_exit(0);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
	assert_int_equal(cart_output_levels(), 0x9);
	sim_pull(&stage.cart, 4, true);
	assert_int_equal(cart_await_edge().high, 1);
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0x6), 0);
	assert_int_equal(cart_output_levels(), 0x6);
}

static void r16_a_child_that_keeps_the_lines_can_clear_them(void **state)
{
	int status;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0x5), 0);
	pid_t child = fork();

	assert_true(child >= 0);
	if (child == 0)
		_exit(stage.lines->ops->set(stage.lines, stage.lines->outputs, 0) == 0 ? 0 : 1);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
	assert_int_equal(cart_output_levels(), 0);
}

static void nothing_is_allocated_after_open(void **state)
{
	struct td_lines_edge edge;
	uint32_t word;
	unsigned edges = 0;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	unsigned long before = heap_count();

	assert_true(before > 0);
	for (unsigned i = 0; i < 40; i++) {
		stage.lines->ops->set(stage.lines, 0xf, i & 0x5);
		stage.lines->ops->get(stage.lines, &word);
		sim_pull(&stage.cart, 4, i % 2 == 0);
		edges += stage.lines->ops->next_edge(stage.lines, &edge) == 1;
	}
	assert_int_equal(heap_count(), before);
	assert_int_equal(edges, 40);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, cart_set_up, cart_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r1_what_goes_low_is_written_before_what_goes_high),
		TEST(r1_the_order_holds_across_two_chips),
		TEST(a_write_leaves_lines_outside_its_mask_alone),
		TEST(closing_clears_the_outputs_before_it_lets_go),
		TEST(both_edges_come_with_monotonic_stamps),
		TEST(edges_of_several_lines_come_in_order_of_time),
		TEST(r15_a_storm_of_edges_marks_the_loss_and_the_level_is_right),
		TEST(a_chip_without_interrupts_is_polled),
		TEST(another_chip_that_goes_away_changes_nothing),
		TEST(a_child_that_abandons_leaves_the_parent_its_lines),
		TEST(r16_a_child_that_keeps_the_lines_can_clear_them),
		TEST(nothing_is_allocated_after_open),
	};

	return cmocka_run_group_tests_name("lines on a real kernel", tests, NULL, NULL);
}
