/* SPDX-License-Identifier: MIT */
/* The list of causes: numbers and names stand in traces and on the socket, so they must be sound. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "core/cause.h"

enum { TRACE_MAX = 255 }; /* a trace has eight bits for the number */

static unsigned int length_of_list(void)
{
	unsigned int length = 0;

	while (td_cause_at(length))
		length++;
	return length;
}

static void numbers_rise_and_fit_into_a_trace(void **state)
{
	int last = -1;

	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++) {
		int number = (int)td_cause_at(i)->cause;

		assert_true(number > last);
		assert_true(number <= TRACE_MAX);
		last = number;
	}
	print_message("# measured: %u causes\n", length_of_list());
}

static void names_are_all_different(void **state)
{
	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++)
		for (unsigned int k = i + 1; k < length_of_list(); k++)
			assert_string_not_equal(td_cause_at(i)->name, td_cause_at(k)->name);
}

static void assert_hyphenated(const char *name)
{
	size_t length = strlen(name);

	assert_true(length > 0);
	assert_int_equal(strspn(name, "abcdefghijklmnopqrstuvwxyz-"), length);
	assert_true(name[0] != '-' && name[length - 1] != '-');
	assert_null(strstr(name, "--"));
}

static void names_are_lower_case_with_hyphens(void **state)
{
	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++)
		assert_hyphenated(td_cause_at(i)->name);
}

static void assert_sentence(const char *sentence)
{
	size_t length = strlen(sentence);

	assert_true(length > 0);
	assert_true(sentence[length - 1] != '.' && sentence[length - 1] != ' ');
}

static void every_cause_has_a_sentence_and_a_remedy_without_full_stop(void **state)
{
	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++) {
		assert_sentence(td_cause_at(i)->sentence);
		assert_sentence(td_cause_at(i)->remedy);
	}
}

/* The rule book has R1 to R19. */
static void rules_are_those_of_the_rule_book(void **state)
{
	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++) {
		const char *rule = td_cause_at(i)->rule;
		char *after;

		if (rule[0] == '\0')
			continue;
		assert_int_equal(rule[0], 'R');
		long number = strtol(rule + 1, &after, 10);
		assert_true(number >= 1 && number <= 19 && *after == '\0');
	}
}

/* R11: and few of them; a visitor resets nothing else. */
static void R11_visitors_reset_trips_only(void **state)
{
	unsigned int open = 0;

	(void)state;
	for (int number = -1000; number < 1000; number++) {
		bool may = td_cause_visitor_resets((enum td_cause)number);

		open += may;
		assert_true(!may ||
			    (td_cause_known(number) && td_cause_kind((enum td_cause)number) == TD_KIND_TRIP));
	}
	assert_int_equal(open, 1);
	assert_true(td_cause_visitor_resets(TD_CAUSE_TRAVEL_LIMIT));
}

static void only_nothing_has_no_kind(void **state)
{
	(void)state;
	for (unsigned int i = 0; i < length_of_list(); i++) {
		const struct td_cause_info *info = td_cause_at(i);

		assert_true(info->kind >= TD_KIND_NONE && info->kind <= TD_KIND_NOTE);
		assert_int_equal(info->kind == TD_KIND_NONE, info->cause == TD_CAUSE_NONE);
	}
}

static void a_known_number_is_found_and_another_reads_as_internal(void **state)
{
	unsigned int known = 0;

	(void)state;
	for (int number = -1000; number < 1000; number++) {
		const struct td_cause_info *info = td_cause_info((enum td_cause)number);

		assert_non_null(info);
		assert_int_equal(info->cause, td_cause_known(number) ? number : TD_CAUSE_INTERNAL);
		assert_int_equal(td_cause_kind((enum td_cause)number), info->kind);
		known += td_cause_known(number);
	}
	assert_int_equal(known, length_of_list());
	assert_null(td_cause_at(length_of_list()));
	assert_null(td_cause_at(UINT32_MAX));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers_rise_and_fit_into_a_trace),
		cmocka_unit_test(names_are_all_different),
		cmocka_unit_test(names_are_lower_case_with_hyphens),
		cmocka_unit_test(every_cause_has_a_sentence_and_a_remedy_without_full_stop),
		cmocka_unit_test(rules_are_those_of_the_rule_book),
		cmocka_unit_test(R11_visitors_reset_trips_only),
		cmocka_unit_test(only_nothing_has_no_kind),
		cmocka_unit_test(a_known_number_is_found_and_another_reads_as_internal),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
