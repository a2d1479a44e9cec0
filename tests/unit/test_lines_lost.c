/* SPDX-License-Identifier: MIT */
/* R15: which of several chips is gone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "lines/gpio.h"
#include "tests/support/gpio_cart.h"
#include "tests/support/gpio_fake.h"

static struct td_lines *lines;

static void open_on_both_chips(void)
{
	struct td_lines_gpio_request wanted;
	struct td_error err = {""};

	fake_reset();
	gpio_cart_wanted(&wanted);
	lines = td_lines_gpio_open(&wanted, &err);
	assert_non_null(lines);
}

static void close_lines(void)
{
	for (unsigned i = 0; i < fake.chips; i++)
		fake.chip[i].gone = false;
	lines->ops->close(lines);
}

static void r15_no_chip_is_named_while_all_answer(void **state)
{
	(void)state;
	open_on_both_chips();
	assert_null(td_lines_gpio_lost(lines));
	close_lines();
}

static void r15_the_chip_that_does_not_answer_is_named(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 2; i++) {
		open_on_both_chips();
		fake.chip[i].gone = true;
		assert_string_equal(td_lines_gpio_lost(lines), fake.chip[i].label);
		close_lines();
	}
}

/* The heartbeat on a chip of its own. */
static void r15_the_chip_of_the_heartbeat_alone_is_named(void **state)
{
	struct td_lines_gpio_request wanted;
	struct td_error err = {""};

	(void)state;
	fake_reset();
	memset(&wanted, 0, sizeof(wanted));
	wanted.outputs = 1;
	gpio_cart_place(&wanted.output[0], "boom raise", "cart", 11, "");
	wanted.beats = 1;
	gpio_cart_place(&wanted.heartbeat, "heartbeat", "mast", 1, "");
	lines = td_lines_gpio_open(&wanted, &err);
	assert_non_null(lines);
	assert_null(td_lines_gpio_lost(lines));
	fake.chip[1].gone = true;
	assert_string_equal(td_lines_gpio_lost(lines), fake.chip[1].label);
	close_lines();
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r15_no_chip_is_named_while_all_answer),
		cmocka_unit_test(r15_the_chip_that_does_not_answer_is_named),
		cmocka_unit_test(r15_the_chip_of_the_heartbeat_alone_is_named),
	};

	return cmocka_run_group_tests_name("a lost chip is named", tests, NULL, NULL);
}
