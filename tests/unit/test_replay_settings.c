/* SPDX-License-Identifier: MIT */
/* Which settings of two configuration files are not the same. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sim/replay/settings.h"

static void expect(const char *given, const char *of_trace, const char *words)
{
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	td_settings_tell(out, given, of_trace);
	fclose(out);
	assert_string_equal(text, words);
	free(text);
}

static void other_new_and_missing_settings_are_told(void **state)
{
	(void)state;
	expect("[a]\nx = 1\n", "[a]\nx = 1\n", "");
	expect("[a]\nx = 2\n", "[a]\nx=1 ; remark\n", "    [a] x: 2; in the trace 1\n");
	expect("[a]\nx = 2\n", "[a]\n", "    [a] x: 2; in the trace not given\n");
	expect("[a]\n", "[a]\nx = 2\n", "    [a] x: not given; in the trace 2\n");
	expect("[a]\nx = 1\n[b]\nx = 2\n", "[b]\nx = 3\n[a]\nx = 1\n", "    [b] x: 2; in the trace 3\n");
}

static void order_and_remarks_do_not_matter(void **state)
{
	(void)state;
	expect("# new\n[b]\ny = 2\n\n[a]\nx = 1\n", "[a]\nx = 1\n[b]\ny = 2\n", "");
}

static void of_many_the_first_twenty_are_told(void **state)
{
	char given[4096] = "[a]\n";
	char *text = NULL;
	size_t size = 0;
	size_t used = strlen(given);
	FILE *out = open_memstream(&text, &size);

	(void)state;
	for (int i = 0; i < 23; i++)
		used += (size_t)snprintf(given + used, sizeof(given) - used, "k%d = 1\n", i);
	td_settings_tell(out, given, "");
	fclose(out);
	assert_non_null(strstr(text, "k19: 1; in the trace not given\n    and 3 more\n"));
	assert_null(strstr(text, "k20"));
	free(text);
}

static void any_text_is_borne(void **state)
{
	(void)state;
	expect("", "", "");
	expect("rubbish\n[\n", "]]\n", "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(other_new_and_missing_settings_are_told),
		cmocka_unit_test(order_and_remarks_do_not_matter),
		cmocka_unit_test(of_many_the_first_twenty_are_told),
		cmocka_unit_test(any_text_is_borne),
	};

	return cmocka_run_group_tests_name("replay_settings", tests, NULL, NULL);
}
