/* SPDX-License-Identifier: MIT */
/* Taking lines from a real kernel: places, refusals, pulls, clearing. Runs inside the test machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/kernel/cart.h"
#include "tests/kernel/ftrace.h"

enum { WRITES_MAX = 1000 };

static struct ftrace_write writes[WRITES_MAX];

/* --- requests ------------------------------------------------------------------------------------- */

static void r14_outputs_are_low_from_the_request_on(void **state)
{
	(void)state;
	cart_want_the_usual();
	sim_pull(&stage.cart, 0, true);
	sim_pull(&stage.mast, 0, true);
	assert_int_equal(cart_output_levels(), 0x5);
	ftrace_start();
	cart_open_lines();
	assert_int_equal(cart_output_levels(), 0);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	for (size_t i = 0; i < count; i++)
		assert_false(writes[i].high);
	assert_int_equal(stage.lines->outputs, 0xf);
	assert_int_equal(stage.lines->inputs, 0x3);
}

static void lines_of_two_chips_are_found_by_label_and_by_name(void **state)
{
	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	for (unsigned bit = 0; bit < 4; bit++) {
		assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 1U << bit), 0);
		assert_int_equal(cart_output_levels(), 1U << bit);
	}
	assert_int_equal(cart_levels(), 0);
	sim_pull(&stage.cart, 4, true);
	assert_int_equal(cart_levels(), 1);
	sim_pull(&stage.mast, 2, true);
	assert_int_equal(cart_levels(), 3);
}

static void a_chip_with_two_names_in_dev_counts_once(void **state)
{
	char target[64];

	(void)state;
	(void)snprintf(target, sizeof(target), "/dev/%s", stage.cart.node);
	assert_int_equal(symlink(target, "/dev/gpiochip99"), 0);
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(unlink("/dev/gpiochip99"), 0);
}

static void an_unknown_label_is_refused_with_the_labels_there_are(void **state)
{
	(void)state;
	cart_want_output("boom raise", "kart", 1, "");
	cart_refuse_lines("cart.conf:7: boom raise: no GPIO chip has the label \"kart\"");
	assert_non_null(strstr(stage.err.text, "\"cart\""));
	assert_non_null(strstr(stage.err.text, "\"mast\""));
}

static void a_label_on_two_chips_is_refused_with_both(void **state)
{
	struct sim_chip second;

	(void)state;
	sim_chip_add(&second, "cart", 8, NULL);
	cart_want_output("boom raise", "cart", 1, "");
	cart_refuse_lines("several GPIO chips have the label \"cart\"");
	assert_non_null(strstr(stage.err.text, stage.cart.node));
	assert_non_null(strstr(stage.err.text, second.node));
	sim_chip_unplug(&second);
	sim_chip_forget(&second);
}

static void an_unknown_name_is_refused_with_the_names_there_are(void **state)
{
	(void)state;
	cart_want_input("boom_top", "", 0, "boom-tip", TD_GPIO_PULL_UP);
	cart_refuse_lines("no line is named \"boom-tip\"");
	assert_non_null(strstr(stage.err.text, "\"boom-top\""));
	assert_non_null(strstr(stage.err.text, "\"mast-switch\""));
}

static void a_name_on_two_lines_is_refused_with_both(void **state)
{
	(void)state;
	cart_want_input("boom_top", "", 0, "twin", TD_GPIO_PULL_UP);
	cart_refuse_lines("several lines are named \"twin\"");
	assert_non_null(strstr(stage.err.text, "cart:5"));
	assert_non_null(strstr(stage.err.text, "mast:1"));
}

static void an_offset_past_the_end_is_refused_with_the_range(void **state)
{
	(void)state;
	cart_want_output("boom raise", "cart", 8, "");
	cart_refuse_lines("the chip \"cart\" has 8 lines, 0 to 7, so 8 is none of them");
}

static void one_line_under_two_places_is_refused(void **state)
{
	(void)state;
	cart_want_output("boom raise", "cart", 4, "");
	cart_want_input("boom_top", "", 0, "boom-top", TD_GPIO_PULL_UP);
	cart_refuse_lines("boom raise and boom_top are the same line");
}

static void a_held_line_is_refused_with_its_holder(void **state)
{
	int output;
	int input;

	(void)state;
	cart_want_the_usual();
	output = sim_hold(&stage.cart, 1, "rain-gauge");
	cart_refuse_lines("is held by \"rain-gauge\"");
	assert_non_null(strstr(stage.err.text, "boom raise"));
	assert_null(strstr(stage.err.text, "boom lower"));
	close(output);
	input = sim_hold(&stage.mast, 2, "thermostat");
	cart_refuse_lines("mast_switch");
	assert_non_null(strstr(stage.err.text, "\"thermostat\""));
	close(input);
	cart_open_lines();
}

static void a_refused_request_holds_nothing(void **state)
{
	(void)state;
	cart_want_the_usual();
	int holder = sim_hold(&stage.mast, 2, "thermostat");

	cart_refuse_lines("thermostat");
	close(sim_hold(&stage.cart, 0, "free"));
	close(sim_hold(&stage.cart, 4, "free"));
	close(holder);
}

static void no_right_to_the_chip_is_said_with_the_remedy(void **state)
{
	int status;
	char node[64];

	(void)state;
	(void)snprintf(node, sizeof(node), "/dev/%s", stage.cart.node);
	assert_int_equal(chmod(node, 0600), 0);
	cart_want_output("boom raise", "cart", 1, "");
	pid_t child = fork();

	assert_true(child >= 0);
	if (child == 0) {
		if (setgid(65534) < 0 || setuid(65534) < 0 || td_lines_gpio_open(&stage.wanted, &stage.err))
			_exit(1);
		bool good = strstr(stage.err.text, "Permission denied") && strstr(stage.err.text, "group") &&
			    strstr(stage.err.text, node);

		_exit(good ? 0 : 2);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(status, 0);
}

static void bias_is_honoured(void **state)
{
	(void)state;
	sim_pull(&stage.cart, 6, false);
	sim_pull(&stage.cart, 7, true);
	cart_want_input("up", "cart", 6, "", TD_GPIO_PULL_UP);
	cart_want_input("down", "cart", 7, "", TD_GPIO_PULL_DOWN);
	cart_want_input("as_is", "cart", 3, "", TD_GPIO_AS_IS);
	cart_open_lines();
	assert_int_equal(cart_levels(), 1);
}

/* --- clearing ------------------------------------------------------------------------------------- */

static void clearing_takes_every_output_low_and_lets_go(void **state)
{
	(void)state;
	cart_want_the_usual();
	ftrace_start();
	assert_int_equal(td_lines_gpio_clear(&stage.wanted, &stage.err), 0);
	size_t count = ftrace_stop(writes, WRITES_MAX);
	unsigned low = 0;

	assert_string_equal(stage.err.text, "");
	for (size_t i = 0; i < count; i++) {
		assert_false(writes[i].high);
		low |= 1U << (writes[i].line == stage.mast.base       ? 2
			      : writes[i].line == stage.cart.base + 2 ? 3
								      : writes[i].line - stage.cart.base);
	}
	assert_int_equal(low, 0xf);
	cart_open_lines();
}

static void clearing_says_which_lines_it_could_not_take(void **state)
{
	(void)state;
	cart_want_the_usual();
	int holder = sim_hold(&stage.cart, 1, "rain-gauge");

	ftrace_start();
	assert_int_equal(td_lines_gpio_clear(&stage.wanted, &stage.err), 1);
	size_t count = ftrace_stop(writes, WRITES_MAX);

	print_message("# said: %s\n", stage.err.text);
	assert_non_null(strstr(stage.err.text, "boom raise"));
	assert_non_null(strstr(stage.err.text, "held by \"rain-gauge\""));
	assert_true(count >= 3); /* the other three went low */
	close(holder);
	sim_chip_unplug(&stage.mast);
	assert_int_equal(td_lines_gpio_clear(&stage.wanted, &stage.err), 1);
	assert_non_null(strstr(stage.err.text, "vent close: no GPIO chip has the label \"mast\""));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, cart_set_up, cart_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r14_outputs_are_low_from_the_request_on),
		TEST(lines_of_two_chips_are_found_by_label_and_by_name),
		TEST(a_chip_with_two_names_in_dev_counts_once),
		TEST(an_unknown_label_is_refused_with_the_labels_there_are),
		TEST(a_label_on_two_chips_is_refused_with_both),
		TEST(an_unknown_name_is_refused_with_the_names_there_are),
		TEST(a_name_on_two_lines_is_refused_with_both),
		TEST(an_offset_past_the_end_is_refused_with_the_range),
		TEST(one_line_under_two_places_is_refused),
		TEST(a_held_line_is_refused_with_its_holder),
		TEST(a_refused_request_holds_nothing),
		TEST(no_right_to_the_chip_is_said_with_the_remedy),
		TEST(bias_is_honoured),
		TEST(clearing_takes_every_output_low_and_lets_go),
		TEST(clearing_says_which_lines_it_could_not_take),
	};

	return cmocka_run_group_tests_name("taking lines from a real kernel", tests, NULL, NULL);
}
