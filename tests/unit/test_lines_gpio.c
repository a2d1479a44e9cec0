/* SPDX-License-Identifier: MIT */
/* The GPIO backend above a chip seam in memory: the order of its writes, its edges, and what it does on faults. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <poll.h>
#include <string.h>

#include "lines/gpio.h"
#include "tests/support/gpio_cart.h"
#include "tests/support/gpio_fake.h"

static struct td_lines_gpio_request wanted;
static struct td_lines *lines;
static struct td_error err;

static int set_up(void **state)
{
	(void)state;
	fake_reset();
	gpio_cart_wanted(&wanted);
	memset(&err, 0, sizeof(err));
	lines = NULL;
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	if (lines)
		lines->ops->close(lines);
	lines = NULL;
	return fake.open_chips || fake.open_groups ? -1 : 0;
}

static void open_lines(void)
{
	lines = td_lines_gpio_open(&wanted, &err);
	assert_non_null(lines);
	assert_string_equal(err.text, "");
}

static uint32_t output_levels(void)
{
	return (uint32_t)fake.chip[0].line[10].level | (uint32_t)fake.chip[0].line[11].level << 1 |
	       (uint32_t)fake.chip[1].line[0].level << 2 | (uint32_t)fake.chip[0].line[12].level << 3;
}

static bool ready(int timeout_ms)
{
	int fds[TD_LINES_FDS_MAX];

	assert_int_equal(lines->ops->fds(lines, fds), 1);
	struct pollfd waiting = {.fd = fds[0], .events = POLLIN};

	return poll(&waiting, 1, timeout_ms) == 1;
}

/* --- levels --------------------------------------------------------------------------------------- */

/* Replays the writes of one set() and checks that nothing rises before the last fall. */
static void check_order(unsigned first)
{
	bool risen = false;

	for (unsigned i = first; i < fake.writes; i++) {
		bool rises = fake.write[i].levels & fake.write[i].mask;

		assert_true(rises || !risen);
		risen = risen || rises;
	}
}

static void r1_every_change_of_outputs_clears_on_all_chips_before_it_sets(void **state)
{
	(void)state;
	open_lines();
	for (uint32_t from = 0; from < 16; from++) {
		for (uint32_t to = 0; to < 16; to++) {
			fake.writes = 0;
			assert_int_equal(lines->ops->set(lines, 0xf, from), 0);
			unsigned first = fake.writes;

			assert_int_equal(lines->ops->set(lines, 0xf, to), 0);
			assert_int_equal(output_levels(), to);
			check_order(first);
		}
	}
}

static void a_write_touches_its_mask_alone(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xa, 0xffffffff), 0);
	assert_int_equal(output_levels(), 0xa);
	assert_int_equal(lines->ops->set(lines, 0x2, 0), 0);
	assert_int_equal(output_levels(), 0x8);
	fake.writes = 0;
	assert_int_equal(lines->ops->set(lines, 0xfffffff0, 0xffffffff), 0);
	assert_int_equal(fake.writes, 0);
}

static void r15_a_failed_clear_clears_the_rest_and_sets_nothing(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xf, 0x6),
			 0); /* boom raise on the cart, vent close on the mast */
	fake.chip[0].gone = true;
	assert_int_equal(lines->ops->set(lines, 0xf, 0x9), TD_LINES_GONE);
	assert_int_equal(output_levels(), 0x2); /* the mast was cleared; what cannot be written stands */
	fake.chip[0].gone = false;
}

static void levels_map_to_switch_numbers(void **state)
{
	uint32_t levels = 99;

	(void)state;
	open_lines();
	assert_int_equal(lines->ops->get(lines, &levels), 0);
	assert_int_equal(levels, 1);
	fake.chip[0].line[4].level = false;
	fake.chip[1].line[3].level = true;
	assert_int_equal(lines->ops->get(lines, &levels), 0);
	assert_int_equal(levels, 2);
}

static void closing_clears_and_gives_everything_back(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xf, 0xf), 0);
	lines->ops->close(lines);
	lines = NULL;
	assert_int_equal(output_levels(), 0);
	assert_int_equal(fake.open_chips + fake.open_groups, 0);
}

static void abandoning_touches_no_level(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xf, 0x9), 0);
	fake.writes = 0;
	lines->ops->abandon(lines);
	lines = NULL;
	assert_int_equal(fake.writes, 0);
	assert_int_equal(output_levels(), 0x9);
	assert_int_equal(fake.open_chips + fake.open_groups, 0);
}

/* --- edges ---------------------------------------------------------------------------------------- */

static void edges_come_in_order_of_time_over_chips(void **state)
{
	static const struct {
		unsigned chip, offset;
		int at;
	} made[] = {
		{0, 4, 10}, {0, 4, 40}, {1, 3, 20}, {1, 3, 30}, {0, 4, 50},
	};
	struct td_lines_edge edge;

	(void)state;
	open_lines();
	for (size_t i = 0; i < sizeof(made) / sizeof(made[0]); i++)
		fake_edge(made[i].chip, made[i].offset, i % 2, made[i].at, i == 1);
	assert_true(ready(0));
	for (td_ns at = 10; at <= 50; at += 10) {
		assert_int_equal(lines->ops->next_edge(lines, &edge), 1);
		assert_int_equal(edge.at_ns, at);
		assert_int_equal(edge.sw, at == 20 || at == 30);
		assert_int_equal(edge.lost, at == 40);
	}
	assert_int_equal(lines->ops->next_edge(lines, &edge), 0);
	assert_false(ready(0));
}

static void edges_left_half_way_wake_again(void **state)
{
	struct td_lines_edge edge;

	(void)state;
	open_lines();
	for (int at = 0; at < 3; at++)
		fake_edge(0, 4, at % 2, at, false);
	for (int at = 0; at < 3; at++) {
		assert_true(ready(0));
		assert_int_equal(lines->ops->next_edge(lines, &edge), 1);
		assert_int_equal(edge.at_ns, at);
	}
	assert_false(ready(0));
	fake_edge(0, 4, true, 9, false);
	assert_true(ready(0));
	assert_int_equal(lines->ops->next_edge(lines, &edge), 1);
	assert_false(ready(0));
}

static void r15_more_edges_than_one_burst_all_come(void **state)
{
	struct td_lines_edge edge;
	unsigned count = 0;

	(void)state;
	open_lines();
	for (unsigned round = 0; round < 30; round++) {
		for (unsigned i = 0; i < 100; i++)
			fake_edge(0, 4, i % 2, (int)(round * 100 + i), false);
		while (lines->ops->next_edge(lines, &edge) == 1)
			assert_int_equal(edge.at_ns, count++);
	}
	assert_int_equal(count, 3000);
}

static struct td_lines_edge await_edge(void)
{
	struct td_lines_edge edge;
	int result;

	do {
		assert_true(ready(2000));
		result = lines->ops->next_edge(lines, &edge);
	} while (result == 0);
	assert_int_equal(result, 1);
	return edge;
}

static void r15_a_chip_without_edges_is_polled_and_the_other_is_not(void **state)
{
	(void)state;
	fake.chip[1].deaf = true;
	wanted.poll_ns = TD_MS(1);
	open_lines();
	fake.chip[1].line[3].level = true;
	struct td_lines_edge edge = await_edge();

	assert_int_equal(edge.sw, 1);
	assert_int_equal(edge.high, 1);
	assert_true(edge.at_ns > 0);
	fake_edge(0, 4, true, 77, false);
	edge = await_edge();
	assert_int_equal(edge.sw, 0);
	assert_int_equal(edge.at_ns, 77);
}

static void r15_a_polled_chip_that_goes_away_is_gone(void **state)
{
	struct td_lines_edge edge;
	int result = 0;

	(void)state;
	fake.chip[1].deaf = true;
	wanted.poll_ns = TD_MS(1);
	open_lines();
	fake.chip[1].gone = true;
	while (result == 0) {
		assert_true(ready(2000));
		result = lines->ops->next_edge(lines, &edge);
	}
	assert_int_equal(result, TD_LINES_GONE);
	fake.chip[1].gone = false;
	assert_int_equal(lines->ops->next_edge(lines, &edge), TD_LINES_GONE); /* it stays so */
}

/* --- faults --------------------------------------------------------------------------------------- */

/* Opens, moves and reads: true if a fault was told. */
static bool scenario(void)
{
	struct td_lines_edge edge;
	uint32_t levels;
	bool said = false;

	lines = td_lines_gpio_open(&wanted, &err);
	if (!lines)
		return err.text[0] != '\0';
	said |= lines->ops->set(lines, 0xf, 0x5) < 0;
	fake_edge(0, 4, false, 1, false);
	said |= lines->ops->next_edge(lines, &edge) < 0;
	said |= lines->ops->get(lines, &levels) < 0;
	said |= lines->ops->set(lines, 0xf, 0xa) < 0;
	return said;
}

/* A chip that does not open or a line that is not described may be one we do not need; inputs that cannot have
 * edges are polled. Every other fault must be told. */
static bool may_be_silent(enum fake_call call)
{
	return call == FAKE_OPEN || call == FAKE_LINE || call == FAKE_INPUTS;
}

static void sweep(void **state, unsigned at, bool on, int error)
{
	set_up(state);
	fake.fail_at = at;
	fake.fail_on = on;
	fake.fail_with = error;
	bool told = scenario();

	assert_true(fake.failed > 0);
	assert_true(told || may_be_silent(fake.failed_in));
	if (!on)
		fake.fail_at = 0;
	if (lines)
		lines->ops->close(lines);
	lines = NULL;
	assert_int_equal(fake.open_chips + fake.open_groups, 0);
	if (!on)
		assert_int_equal(output_levels(), 0);
}

static void r15_a_fault_at_any_call_is_told_and_leaks_nothing(void **state)
{
	static const int errors[] = {-ENODEV, -EIO, -EBUSY, -EACCES, -ENOMEM, -EINVAL};
	unsigned calls;

	assert_false(scenario());
	calls = fake.calls;
	lines->ops->close(lines);
	lines = NULL;
	for (size_t e = 0; e < sizeof(errors) / sizeof(errors[0]); e++) {
		for (unsigned at = 1; at <= calls; at++) {
			sweep(state, at, false, errors[e]);
			sweep(state, at, true, errors[e]);
		}
	}
	print_message("# measured: a fault in each of %u calls, 6 errors, once and for ever\n", calls);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r1_every_change_of_outputs_clears_on_all_chips_before_it_sets),
		TEST(a_write_touches_its_mask_alone),
		TEST(r15_a_failed_clear_clears_the_rest_and_sets_nothing),
		TEST(levels_map_to_switch_numbers),
		TEST(closing_clears_and_gives_everything_back),
		TEST(abandoning_touches_no_level),
		TEST(edges_come_in_order_of_time_over_chips),
		TEST(edges_left_half_way_wake_again),
		TEST(r15_more_edges_than_one_burst_all_come),
		TEST(r15_a_chip_without_edges_is_polled_and_the_other_is_not),
		TEST(r15_a_polled_chip_that_goes_away_is_gone),
		TEST(r15_a_fault_at_any_call_is_told_and_leaks_nothing),
	};

	return cmocka_run_group_tests_name("GPIO lines", tests, NULL, NULL);
}
