/* SPDX-License-Identifier: MIT */
/* Taking the lines, above a chip seam in memory: places, refusals and their sentences, clearing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <stdio.h>
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

/* --- open ----------------------------------------------------------------------------------------- */

static void r14_open_takes_outputs_low_and_inputs_with_their_pull(void **state)
{
	(void)state;
	fake.chip[0].line[11].level = true;
	open_lines();
	assert_int_equal(output_levels(), 0);
	assert_int_equal(lines->outputs, 0xf);
	assert_int_equal(lines->inputs, 0x3);
	assert_int_equal(fake.chip[0].line[4].bias, TD_GPIO_PULL_UP);
	assert_int_equal(fake.chip[1].line[3].bias, TD_GPIO_PULL_DOWN);
	assert_int_equal(fake.writes, 0);
}

/* What is spoilt, and what the sentence must then hold. */
struct refusal {
	const char *chip;
	uint32_t offset;
	const char *name;
	const char *says[3];
};

/* Two chips of one label, each with a line of one name. */
static void add_twins(void)
{
	fake.chips = 4;
	for (unsigned twin = 2; twin < 4; twin++) {
		(void)snprintf(fake.chip[twin].label, sizeof(fake.chip[twin].label), "twin");
		fake_name(twin, 0, "pair");
		fake.chip[twin].lines = 2;
	}
}

static void refused_places_name_the_file_line_and_the_candidates(void **state)
{
	static const struct refusal table[] = {
		{"kart",
		 1,
		 "",
		 {"cart.conf:9: boom lower: no GPIO chip has the label \"kart\"", "\"cart\"", "\"mast\""}},
		{"twin",
		 1,
		 "",
		 {"several GPIO chips have the label \"twin\"", "/dev/gpiochip2", "/dev/gpiochip3"}},
		{"cart", 32, "", {"the chip \"cart\" has 32 lines, 0 to 31, so 32 is none of them"}},
		{"", 0, "boom-tip", {"no line is named \"boom-tip\"", "\"boom-top\"", "\"pair\""}},
		{"",
		 0,
		 "pair",
		 {"several lines are named \"pair\"", "twin:0 (/dev/gpiochip2)", "twin:0 (/dev/gpiochip3)"}},
		{"cart", 11, "", {"boom lower and boom raise are the same line, 11 of \"cart\""}},
		{"cart", 4, "", {"boom lower and boom_top are the same line, 4 of \"cart\""}},
		{"locked",
		 0,
		 "",
		 {"no GPIO chip has the label", "cannot be opened: Permission denied", "group"}},
	};

	for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); i++) {
		set_up(state);
		add_twins();
		if (strcmp(table[i].chip, "locked") == 0)
			fake.chip[3].refuses = -EACCES;
		gpio_cart_place(&wanted.output[0], "boom lower", table[i].chip, table[i].offset,
				table[i].name);
		lines = td_lines_gpio_open(&wanted, &err);
		assert_null(lines);
		for (size_t n = 0; n < 3 && table[i].says[n]; n++)
			if (!strstr(err.text, table[i].says[n]))
				fail_msg("no '%s' in '%s'", table[i].says[n], err.text);
		assert_int_equal(fake.open_chips + fake.open_groups, 0);
	}
}

/* What a chip that comes later could mend, and what it could not. */
static void r15_an_absent_chip_is_told_from_a_wrong_place(void **state)
{
	static const struct {
		const char *chip;
		uint32_t offset;
		const char *name;
		bool absent;
	} rows[] = {
		{"cart", 10, "", false},   {"kart", 1, "", true},  {"locked", 0, "", true},
		{"", 0, "boom-tip", true}, {"twin", 1, "", false}, {"cart", 32, "", false},
		{"", 0, "pair", false},
	};

	(void)state;
	add_twins();
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		gpio_cart_place(&wanted.output[0], "boom lower", rows[i].chip, rows[i].offset, rows[i].name);
		if (td_lines_gpio_absent(&wanted, &err) != rows[i].absent)
			fail_msg("%s:%u %s: %s", rows[i].chip, rows[i].offset, rows[i].name, err.text);
		assert_int_equal(fake.open_chips + fake.open_groups, 0);
	}
	fake.chips = 0;
	assert_true(td_lines_gpio_absent(&wanted, &err));
	assert_non_null(strstr(err.text, "this machine shows no GPIO chip"));
}

static void a_machine_without_chips_is_refused(void **state)
{
	(void)state;
	fake.chips = 0;
	assert_null(td_lines_gpio_open(&wanted, &err));
	assert_non_null(strstr(err.text, "this machine shows no GPIO chip"));
}

static void lines_without_any_name_are_refused_with_the_other_form(void **state)
{
	(void)state;
	fake.chip[0].line[4].name[0] = '\0';
	assert_null(td_lines_gpio_open(&wanted, &err));
	assert_non_null(strstr(err.text, "use \"LABEL:OFFSET\""));
}

static void held_lines_are_named_with_their_holders(void **state)
{
	(void)state;
	fake_hold(0, 10, "rain-gauge");
	fake_hold(0, 12, "thermostat");
	assert_null(td_lines_gpio_open(&wanted, &err));
	assert_non_null(strstr(err.text,
			       "boom lower (line 10 of /dev/gpiochip0 \"cart\") is held by \"rain-gauge\""));
	assert_non_null(
		strstr(err.text, "vent open (line 12 of /dev/gpiochip0 \"cart\") is held by \"thermostat\""));
	assert_null(strstr(err.text, "boom raise"));
}

static void a_long_list_of_candidates_is_cut_off_cleanly(void **state)
{
	(void)state;
	for (unsigned i = 0; i < 32; i++)
		(void)snprintf(fake.chip[0].line[i].name, TD_GPIO_TEXT_MAX,
			       "a-line-with-a-very-long-name-%02u", i);
	assert_null(td_lines_gpio_open(&wanted, &err));
	assert_non_null(strstr(err.text, "no line is named \"boom-top\""));
	assert_true(strlen(err.text) < sizeof(err.text));
}

static void the_request_follows_the_configuration(void **state)
{
	static struct td_config config;
	struct td_lines_gpio_request made;

	(void)state;
	memset(&config, 0, sizeof(config));
	config.axes = 1;
	config.switches = 2;
	config.poll_ns = TD_MS(7);
	(void)snprintf(config.axis[0].name, sizeof(config.axis[0].name), "boom");
	(void)snprintf(config.axis[0].way_name[0], sizeof(config.axis[0].way_name[0]), "lower");
	(void)snprintf(config.axis[0].way_name[1], sizeof(config.axis[0].way_name[1]), "raise");
	(void)snprintf(config.axis[0].input[1].chip, sizeof(config.axis[0].input[1].chip), "cart");
	config.axis[0].input[1].offset = 11;
	(void)snprintf(config.sw[1].name, sizeof(config.sw[1].name), "boom_top");
	(void)snprintf(config.sw[1].place.name, sizeof(config.sw[1].place.name), "boom-top");
	config.rules.sw[1].pull = TD_PULL_DOWN;
	td_lines_gpio_wanted(&config, "cart.conf", &made);
	assert_int_equal(made.outputs, 2);
	assert_int_equal(made.inputs, 2);
	assert_int_equal(made.poll_ns, TD_MS(7));
	assert_string_equal(made.output[1].use, "boom raise");
	assert_string_equal(made.output[1].place.chip, "cart");
	assert_int_equal(made.output[1].place.offset, 11);
	assert_int_equal(made.input[0].bias, TD_GPIO_PULL_UP);
	assert_int_equal(made.input[1].bias, TD_GPIO_PULL_DOWN);
	assert_string_equal(made.input[1].use, "boom_top");
	assert_string_equal(made.input[1].place.name, "boom-top");
}

/* --- clearing ------------------------------------------------------------------------------------- */

static void clearing_goes_on_past_a_line_that_is_held(void **state)
{
	(void)state;
	fake_hold(0, 11, "rain-gauge");
	fake.chip[0].line[10].level = fake.chip[0].line[12].level = fake.chip[1].line[0].level = true;
	assert_int_equal(td_lines_gpio_clear(&wanted, &err), 1);
	assert_non_null(strstr(err.text,
			       "boom raise (line 11 of /dev/gpiochip0 \"cart\") is held by \"rain-gauge\""));
	assert_int_equal(output_levels(), 0);
	assert_true(fake.chip[0].line[10].was_output && fake.chip[0].line[12].was_output);
	assert_int_equal(fake.open_chips + fake.open_groups, 0);
}

static void clearing_all_says_nothing(void **state)
{
	(void)state;
	(void)snprintf(err.text, sizeof(err.text), "left over");
	assert_int_equal(td_lines_gpio_clear(&wanted, &err), 0);
	assert_string_equal(err.text, "");
	assert_false(fake.chip[0].line[4].was_output);
}

static void clearing_without_a_chip_says_so_for_every_line(void **state)
{
	(void)state;
	fake.chips = 0;
	assert_int_equal(td_lines_gpio_clear(&wanted, &err), 4);
	assert_non_null(strstr(err.text, "boom lower: this machine shows no GPIO chip"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r14_open_takes_outputs_low_and_inputs_with_their_pull),
		TEST(refused_places_name_the_file_line_and_the_candidates),
		TEST(r15_an_absent_chip_is_told_from_a_wrong_place),
		TEST(a_machine_without_chips_is_refused),
		TEST(lines_without_any_name_are_refused_with_the_other_form),
		TEST(held_lines_are_named_with_their_holders),
		TEST(a_long_list_of_candidates_is_cut_off_cleanly),
		TEST(the_request_follows_the_configuration),
		TEST(clearing_goes_on_past_a_line_that_is_held),
		TEST(clearing_all_says_nothing),
		TEST(clearing_without_a_chip_says_so_for_every_line),
	};

	return cmocka_run_group_tests_name("taking GPIO lines", tests, NULL, NULL);
}
