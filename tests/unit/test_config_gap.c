/* SPDX-License-Identifier: MIT */
/*
 * The belt beside the braces: rules the core refuses after every check of the file has passed are a fault of
 * ours, and are reported as one. This program brings its own td_rules_check(), which refuses everything.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config_base.h"

static unsigned int calls;

struct td_rules_verdict td_rules_check(const struct td_rules *rules)
{
	(void)rules;
	calls++;
	return (struct td_rules_verdict){TD_RULES_LEAVE, 1, 0, TD_NO_SWITCH};
}

static void refused_rules_are_reported_as_our_fault(void **state)
{
	static const struct td_config nothing;
	static struct reading reading;
	static char text[BASE_TEXT_MAX];

	(void)state;
	read_text(&reading, text, base_with(NULL, 0, text));
	assert_int_equal(calls, 1);
	assert_false(reading.good);
	assert_int_equal(reading.faults.count, 1);
	assert_true(has_fault(&reading, "x.conf: a fault of tripdog, not of this file"));
	assert_memory_equal(&reading.config, &nothing, sizeof(nothing));
}

static void faulty_files_do_not_get_so_far(void **state)
{
	static struct reading reading;

	(void)state;
	calls = 0;
	read_edited(&reading, 2, "nmae = cart");
	assert_int_equal(calls, 0);
	assert_false(reading.good);
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test(refused_rules_are_reported_as_our_fault),
		cmocka_unit_test(faulty_files_do_not_get_so_far),
	};

	return cmocka_run_group_tests_name("config_gap", tests, NULL, NULL);
}
