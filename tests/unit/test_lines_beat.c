/* SPDX-License-Identifier: MIT */
/* The heartbeat line of the GPIO backend, and where its outputs are, above a chip seam in memory. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <string.h>

#include "lines/gpio.h"
#include "tests/support/gpio_cart.h"
#include "tests/support/gpio_fake.h"

enum { HEART = 20 };

static struct td_lines_gpio_request wanted;
static struct td_lines *lines;
static struct td_error err;

/* The heartbeat is line 20 of the cart. */
static int set_up(void **state)
{
	(void)state;
	fake_reset();
	gpio_cart_wanted(&wanted);
	wanted.beats = 1;
	gpio_cart_place(&wanted.heartbeat, "heartbeat", "cart", HEART, "");
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
	if (!lines)
		fail_msg("%s", err.text);
}

static bool heart(void)
{
	return fake.chip[0].line[HEART].level;
}

static void r16_the_heartbeat_is_requested_low(void **state)
{
	(void)state;
	fake.chip[0].line[HEART].level = true;
	open_lines();
	assert_true(lines->beats);
	assert_true(fake.chip[0].line[HEART].was_output);
	assert_false(heart());
	assert_int_equal(lines->outputs, 0xf); /* it is none of the outputs */
	assert_int_equal(fake.writes, 0);
}

static void r16_a_beat_touches_the_heartbeat_alone(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xf, 0x1), 0);
	fake.writes = 0;
	assert_int_equal(lines->ops->beat(lines, 1), 0);
	assert_true(heart());
	assert_int_equal(lines->ops->beat(lines, 0), 0);
	assert_false(heart());
	assert_int_equal(fake.writes, 2);
	assert_true(fake.chip[0].line[10].level);
	assert_int_equal(lines->ops->beat(lines, 7), 0);
	assert_true(heart());
}

static void r16_outputs_are_set_without_touching_the_heartbeat(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->beat(lines, 1), 0);
	assert_int_equal(lines->ops->set(lines, UINT32_MAX, UINT32_MAX), 0);
	assert_int_equal(lines->ops->set(lines, UINT32_MAX, 0), 0);
	assert_true(heart());
}

static void r16_all_low_means_the_heartbeat_too_even_past_a_fault(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->set(lines, 0xf, 0x1), 0);
	assert_int_equal(lines->ops->beat(lines, 1), 0);
	fake.fail_at = fake.calls + 1; /* the write of the outputs */
	fake.fail_with = -EIO;
	assert_int_equal(td_lines_all_low(lines), TD_LINES_FAILED);
	assert_int_equal(fake.failed_in, FAKE_WRITE);
	assert_false(heart());
	fake.fail_at = 0;
	assert_int_equal(td_lines_all_low(lines), 0);
}

static void r16_closing_leaves_it_low(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->beat(lines, 1), 0);
	lines->ops->close(lines);
	lines = NULL;
	assert_false(heart());
}

static void r16_abandoning_touches_no_level(void **state)
{
	(void)state;
	open_lines();
	assert_int_equal(lines->ops->beat(lines, 1), 0);
	lines->ops->abandon(lines);
	lines = NULL;
	assert_true(heart());
}

static void r16_clearing_takes_it_low_too(void **state)
{
	(void)state;
	fake.chip[0].line[HEART].level = true;
	assert_int_equal(td_lines_gpio_clear(&wanted, &err), 0);
	assert_false(heart());
	fake_hold(0, HEART, "rain-gauge");
	assert_int_equal(td_lines_gpio_clear(&wanted, &err), 1);
	assert_non_null(strstr(err.text, "heartbeat (line 20 of"));
	assert_non_null(strstr(err.text, "is held by \"rain-gauge\""));
}

static void r16_a_line_is_not_both_heartbeat_and_something_else(void **state)
{
	static const char *const other[] = {"boom raise", "boom_top"};
	static const uint32_t offset[] = {11, 4}; /* boom_top goes by name: only here it shows */

	for (int i = 0; i < 2; i++) {
		set_up(state);
		gpio_cart_place(&wanted.heartbeat, "heartbeat", "cart", offset[i], "");
		assert_null(td_lines_gpio_open(&wanted, &err));
		assert_non_null(strstr(err.text, "and heartbeat are the same line"));
		assert_non_null(strstr(err.text, other[i]));
	}
}

static void r15_a_heartbeat_that_cannot_be_written_is_an_error(void **state)
{
	(void)state;
	open_lines();
	fake.chip[0].gone = true;
	assert_int_equal(lines->ops->beat(lines, 1), TD_LINES_GONE);
	fake.chip[0].gone = false;
}

static void r15_a_fault_at_any_call_of_opening_leaks_nothing(void **state)
{
	open_lines();
	unsigned calls = fake.calls;

	for (unsigned at = 1; at <= calls; at++) {
		(void)tear_down(state);
		set_up(state);
		fake.fail_at = at;
		fake.fail_with = -EIO;
		lines = td_lines_gpio_open(&wanted, &err);
		assert_true(lines || err.text[0]);
		if (!lines)
			assert_int_equal(fake.open_chips + fake.open_groups, 0);
		fake.fail_at = 0;
	}
	print_message("# measured: a fault in each of %u calls\n", calls);
}

static void without_a_heartbeat_nothing_beats(void **state)
{
	(void)state;
	wanted.beats = 0;
	open_lines();
	assert_false(lines->beats);
	assert_false(fake.chip[0].line[HEART].was_output);
	assert_int_equal(td_lines_all_low(lines), 0);
	assert_null(td_lines_gpio_where(lines, TD_GPIO_HEARTBEAT).chip);
}

static void outputs_are_where_they_were_found(void **state)
{
	static const struct {
		const char *chip;
		unsigned output;
		uint32_t offset;
	} table[] = {{"cart", 0, 10}, {"cart", 1, 11}, {"mast", 2, 0},
		     {"cart", 3, 12}, {NULL, 4, 0},    {"cart", TD_GPIO_HEARTBEAT, HEART}};

	(void)state;
	fake_name(0, 11, "boom-up");
	gpio_cart_place(&wanted.output[1], "boom raise", "", 0, "boom-up");
	open_lines();
	for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); i++) {
		struct td_gpio_where where = td_lines_gpio_where(lines, table[i].output);

		assert_int_equal(where.offset, table[i].offset);
		assert_int_equal(where.chip == NULL, table[i].chip == NULL);
		if (where.chip)
			assert_string_equal(where.chip, table[i].chip);
	}
	assert_null(td_lines_gpio_where(lines, UINT32_MAX).chip);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r16_the_heartbeat_is_requested_low),
		TEST(r16_a_beat_touches_the_heartbeat_alone),
		TEST(r16_outputs_are_set_without_touching_the_heartbeat),
		TEST(r16_all_low_means_the_heartbeat_too_even_past_a_fault),
		TEST(r16_closing_leaves_it_low),
		TEST(r16_abandoning_touches_no_level),
		TEST(r16_clearing_takes_it_low_too),
		TEST(r16_a_line_is_not_both_heartbeat_and_something_else),
		TEST(r15_a_heartbeat_that_cannot_be_written_is_an_error),
		TEST(r15_a_fault_at_any_call_of_opening_leaks_nothing),
		TEST(without_a_heartbeat_nothing_beats),
		TEST(outputs_are_where_they_were_found),
	};

	return cmocka_run_group_tests_name("the heartbeat line", tests, NULL, NULL);
}
