/* SPDX-License-Identifier: MIT */
/* What the reader of the configuration is made of, part by part: places, names, lines, and which values get into each
 * other's way. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "config/nearest.h"
#include "config/place.h"
#include "config/words.h"
#include "config_base.h"

static struct reading reading;

/* --- places and names ---------------------------------------------------------------------------------- */

static void a_place_is_a_label_with_an_offset_or_a_name(void **state)
{
	static const struct {
		const char *text;
		bool good;
	} rows[] = {
		{"cart:3", true},       {"gpiochip_b:3", true}, {"gpiochip:3", true}, {"HALT_CONTACT", true},
		{"gpiochip0:3", false}, {"gpiochip0", false},   {"/dev/x:3", false},  {"/dev/x", false},
		{"cart :3", false},     {"cart\t:3", false},    {"cart: 3", false},   {"cart:\t3", false},
		{":3", false},          {"17", false},          {"cart:", false},     {"cart:03", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_place place;

		if ((td_place_parse(rows[i].text, &place) == NULL) != rows[i].good)
			fail_msg("\"%s\"", rows[i].text);
	}
}

static void two_places_are_one_where_every_part_is_the_same(void **state)
{
	static const struct {
		const char *a;
		const char *b;
		bool same;
	} rows[] = {
		{"cart:3", "cart:3", true}, {"cart:3", "cart:4", false}, {"cart:3", "card:3", false},
		{"HALT", "HALT", true},     {"HALT", "HALT_2", false},   {"cart:0", "cart", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct td_place a;
		struct td_place b;

		assert_null(td_place_parse(rows[i].a, &a));
		assert_null(td_place_parse(rows[i].b, &b));
		assert_int_equal(td_place_same(&a, &b), rows[i].same);
	}
}

static void a_name_has_a_letter_first_and_an_end(void **state)
{
	char longest[TD_NAME_MAX + 1];

	(void)state;
	memset(longest, 'n', sizeof(longest));
	longest[TD_NAME_MAX] = '\0';
	assert_false(td_name_well_formed(longest));
	longest[TD_NAME_MAX - 1] = '\0';
	assert_true(td_name_well_formed(longest));
	assert_true(td_name_well_formed("a-1_b"));
	assert_false(td_name_well_formed(""));
	assert_false(td_name_well_formed("1a"));
	assert_false(td_name_well_formed("aB"));
}

static void words_too_long_to_compare_are_far_from_everything(void **state)
{
	char longest[1024];

	(void)state;
	memset(longest, 'n', sizeof(longest));
	longest[sizeof(longest) - 1] = '\0';
	assert_true(td_edit_distance(longest, "n") == SIZE_MAX);
	assert_true(td_edit_distance("n", longest) == SIZE_MAX);
	assert_int_equal(td_edit_distance("boom", "bomo"), 1);
}

/* --- lines ---------------------------------------------------------------------------------------------- */

static void letters_of_other_languages_may_stand_in_a_text_but_control_characters_not(void **state)
{
	(void)state;
	read_edited(&reading, 2, "name = a\xc2\xa0z"); /* U+00A0, a blank that does not break */
	assert_true(reading.good);
	read_edited(&reading, 2, "name = a\xc2\x9fz"); /* U+009F, the last of C1 */
	assert_false(reading.good);
	assert_true(has_fault(&reading, "x.conf:2:"));
}

static void a_line_of_nothing_but_too_many_blanks_is_a_fault_of_its_own(void **state)
{
	char blanks[TD_CONFIG_LINE_MAX + 2];

	(void)state;
	memset(blanks, ' ', sizeof(blanks));
	blanks[sizeof(blanks) - 1] = '\0';
	read_edited(&reading, 2, blanks);
	assert_int_equal(reading.faults.count, 1);
	assert_true(has_fault(&reading, "x.conf:2:"));
}

static void values_do_not_begin_with_a_quotation_mark(void **state)
{
	(void)state;
	read_edited(&reading, 2, "name = 'cart'");
	assert_true(has_fault(&reading, "begins with a quotation mark"));
	read_edited(&reading, 2, "name = \"cart\"");
	assert_true(has_fault(&reading, "begins with a quotation mark"));
	read_edited(&reading, 2, "name = the 'cart'");
	assert_true(reading.good);
}

/* --- what gets into each other's way -------------------------------------------------------------------- */

static void two_sockets_of_one_path_are_found_however_it_is_written(void **state)
{
	static const struct {
		const char *keeper;
		const char *visitor;
		bool same;
	} rows[] = {
		{"run/x", "run/x", true},
		{"run/x", "run//x", true},
		{"run/x", "run/./x", true},
		{"x", "./x", true},
		{"x", ".//x", true},
		{"x", "././x", true},
		{"run/x", "run/.x", false},
		{"run/x", "run/..x", false},
		{"x", ".x", false},
		{"run/x", "run/y", false},
		{"run/x", "./run///././x", true},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		static char file[BASE_TEXT_MAX];
		char keeper[64];
		char visitor[64];
		const struct edit edits[] = {{7, keeper}, {9, visitor}};

		(void)snprintf(keeper, sizeof(keeper), "socket = %s", rows[i].keeper);
		(void)snprintf(visitor, sizeof(visitor), "socket = %s", rows[i].visitor);
		read_text(&reading, file, base_with(edits, 2, file));
		if (reading.good == rows[i].same)
			fail_msg("%s and %s", rows[i].keeper, rows[i].visitor);
	}
}

static void r17_two_bars_of_which_one_always_holds_are_found(void **state)
{
	static const struct {
		const char *bars;
		bool never;
	} rows[] = {
		{"at-end boom lower, off-end boom lower", true},
		{"off-end boom lower, at-end boom lower", true},
		{"off-end boom lower, off-end boom raise", true},
		{"at-end boom lower, at-end boom raise", false},
		{"at-end boom lower, off-end boom raise", false},
		{"off-end boom raise, at-end boom lower", false},
		{"moving boom, off-end boom lower", false},
		{"off-end boom lower, moving boom", false},
		{"off-end boom lower, moving lamp-arm", false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		char line[128];

		(void)snprintf(line, sizeof(line), "hold_limit_ms = 500\nbars = %s", rows[i].bars);
		read_edited(&reading, 24, line);
		if (has_fault(&reading, "always holds") != rows[i].never || reading.good == rows[i].never)
			fail_msg("%s", rows[i].bars);
	}
}

static void a_socket_is_given_to_the_group_that_is_named(void **state)
{
	(void)state;
	read_edited(&reading, 7, "socket = keeper.sock\ngroup = owners");
	assert_true(reading.good);
	assert_string_equal(reading.config.keeper.group, "owners");
	assert_string_equal(reading.config.visitor.group, "");
	read_edited(&reading, 9, "socket = visitor.sock\ngroup = drivers-2");
	assert_true(reading.good);
	assert_string_equal(reading.config.keeper.group, "");
	assert_string_equal(reading.config.visitor.group, "drivers-2");
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_place_is_a_label_with_an_offset_or_a_name),
		cmocka_unit_test(two_places_are_one_where_every_part_is_the_same),
		cmocka_unit_test(a_name_has_a_letter_first_and_an_end),
		cmocka_unit_test(words_too_long_to_compare_are_far_from_everything),
		cmocka_unit_test(letters_of_other_languages_may_stand_in_a_text_but_control_characters_not),
		cmocka_unit_test(a_line_of_nothing_but_too_many_blanks_is_a_fault_of_its_own),
		cmocka_unit_test(values_do_not_begin_with_a_quotation_mark),
		cmocka_unit_test(two_sockets_of_one_path_are_found_however_it_is_written),
		cmocka_unit_test(a_socket_is_given_to_the_group_that_is_named),
		cmocka_unit_test(r17_two_bars_of_which_one_always_holds_are_found),
	};

	return cmocka_run_group_tests_name("config_parts", tests, NULL, NULL);
}
