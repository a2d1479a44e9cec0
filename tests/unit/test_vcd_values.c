/* SPDX-License-Identifier: MIT */
/* Digits and identifier codes of traces. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "trace/vcd.h"

/* How a short value fills a 4-bit signal: IEEE 1364-2005 18.2.1, the two tables on shortening (from
 * memory): 10 -> 0010, X10 -> XX10, ZX0 -> ZZX0, 0X10 -> 0X10. */
static const struct {
	const char *shown;
	const char *full;
} standard_examples[] = {
	{"10", "0010"},
	{"x10", "xx10"},
	{"zx0", "zzx0"},
	{"0x10", "0x10"},
};

static void short_values_fill_a_signal_as_the_standard_shows(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(standard_examples) / sizeof(standard_examples[0]); i++) {
		struct td_vcd_value from_short;
		struct td_vcd_value from_full;

		assert_true(td_vcd_parse_digits(standard_examples[i].shown, 4, &from_short));
		assert_true(td_vcd_parse_digits(standard_examples[i].full, 4, &from_full));
		assert_true(td_vcd_same(from_short, from_full, 4));
	}
}

static void great_letters_fill_a_signal_as_small_ones_do(void **state)
{
	static const char *const pairs[][2] = {{"X1", "xxx1"}, {"Z0", "zzz0"}};

	(void)state;
	for (size_t i = 0; i < 2; i++) {
		struct td_vcd_value great;
		struct td_vcd_value full;

		assert_true(td_vcd_parse_digits(pairs[i][0], 4, &great));
		assert_true(td_vcd_parse_digits(pairs[i][1], 4, &full));
		assert_true(td_vcd_same(great, full, 4));
	}
}

static void values_are_shortened_as_the_standard_shows(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(standard_examples) / sizeof(standard_examples[0]); i++) {
		struct td_vcd_value value;
		char digits[TD_VCD_WIDTH_MAX + 1];

		assert_true(td_vcd_parse_digits(standard_examples[i].full, 4, &value));
		td_vcd_digits(value, 4, digits);
		assert_string_equal(digits, standard_examples[i].shown);
	}
}

/* Every four-state value of every width up to 6 comes back; no digit too many is written. */
static void every_small_value_comes_back(void **state)
{
	unsigned int count = 0;

	(void)state;
	for (unsigned int width = 1; width <= 6; width++) {
		for (uint64_t bits = 0; bits < 1U << width; bits++) {
			for (uint64_t odd = 0; odd < 1U << width; odd++) {
				const struct td_vcd_value value = {bits, odd};
				struct td_vcd_value back;
				char digits[TD_VCD_WIDTH_MAX + 1];

				td_vcd_digits(value, width, digits);
				assert_true(td_vcd_parse_digits(digits, width, &back));
				assert_true(td_vcd_same(value, back, width));
				if (strlen(digits) > 1)
					assert_false(td_vcd_parse_digits(digits + 1, width, &back) &&
						     td_vcd_same(value, back, width));
				count++;
			}
		}
	}
	print_message("# measured: %u four-state values written and read\n", count);
}

static void the_widest_values_come_back(void **state)
{
	static const struct td_vcd_value values[] = {
		{0, 0},          {UINT64_MAX, 0},        {UINT64_MAX, UINT64_MAX},
		{0, UINT64_MAX}, {UINT64_C(1) << 63, 0}, {0, UINT64_C(1) << 63},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(values) / sizeof(values[0]); i++) {
		struct td_vcd_value back;
		char digits[TD_VCD_WIDTH_MAX + 1];

		td_vcd_digits(values[i], TD_VCD_WIDTH_MAX, digits);
		assert_true(td_vcd_parse_digits(digits, TD_VCD_WIDTH_MAX, &back));
		assert_true(td_vcd_same(values[i], back, TD_VCD_WIDTH_MAX));
	}
}

static void values_differ_only_within_their_width(void **state)
{
	(void)state;
	assert_true(td_vcd_same(td_vcd_number(0x13), td_vcd_number(0x03), 4));
	assert_false(td_vcd_same(td_vcd_number(0x13), td_vcd_number(0x03), 5));
	assert_false(td_vcd_same(td_vcd_unknown(), td_vcd_number(UINT64_MAX), 1));
}

static void bad_digits_are_refused(void **state)
{
	static const char *const bad[] = {"", "2", "0 1", "10101", "-1", "b1", "1y"};
	struct td_vcd_value value;

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++)
		assert_false(td_vcd_parse_digits(bad[i], 4, &value));
	assert_true(td_vcd_parse_digits("1XzZ", 4, &value));
	assert_false(td_vcd_parse_digits("1", TD_VCD_WIDTH_MAX + 1, &value));
}

/* Codes use the printable characters 33 to 126 (IEEE 1364-2005 18.2.1); the order is ours. */
static void codes_count_through_the_printable_characters(void **state)
{
	static const struct {
		uint32_t n;
		const char *code;
	} known[] = {{0, "!"}, {93, "~"}, {94, "!!"}, {95, "\"!"}, {94 + 94 * 94, "!!!"}};
	char code[TD_VCD_CODE_MAX];

	(void)state;
	for (size_t i = 0; i < sizeof(known) / sizeof(known[0]); i++) {
		td_vcd_code(known[i].n, code);
		assert_string_equal(code, known[i].code);
	}
}

static void codes_come_back_and_are_all_different(void **state)
{
	char code[TD_VCD_CODE_MAX];
	uint64_t back;

	(void)state;
	for (uint32_t n = 0; n < 200000; n++) {
		td_vcd_code(n, code);
		assert_true(td_vcd_parse_code(code, &back));
		assert_int_equal(back, n);
	}
	td_vcd_code(UINT32_MAX, code);
	assert_true(td_vcd_parse_code(code, &back));
	assert_int_equal(back, UINT32_MAX);
	assert_true(td_vcd_parse_code("~~~~~~~~~", &back));
}

static void bad_codes_are_refused(void **state)
{
	static const char *const bad[] = {"", " ", "a b", "\x7f", "\xc3\xa9", "1234567890", "\x1f"};
	uint64_t n;

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++)
		assert_false(td_vcd_parse_code(bad[i], &n));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(short_values_fill_a_signal_as_the_standard_shows),
		cmocka_unit_test(great_letters_fill_a_signal_as_small_ones_do),
		cmocka_unit_test(values_are_shortened_as_the_standard_shows),
		cmocka_unit_test(every_small_value_comes_back),
		cmocka_unit_test(the_widest_values_come_back),
		cmocka_unit_test(values_differ_only_within_their_width),
		cmocka_unit_test(bad_digits_are_refused),
		cmocka_unit_test(codes_count_through_the_printable_characters),
		cmocka_unit_test(codes_come_back_and_are_all_different),
		cmocka_unit_test(bad_codes_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
