/* SPDX-License-Identifier: MIT */
/* The rule book as scenarios: every text in tests/unit/rules is one test, named by its headline. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/support/scenario.h"

static void run(void **state)
{
	assert_int_equal(scenario_run(*state), 0);
}

int main(void)
{
	size_t count = 0;
	struct scenario *scenario = scenario_load("tests/unit/rules", &count);
	struct CMUnitTest *test = calloc(count + 1, sizeof(*test));

	for (size_t i = 0; i < count; i++)
		test[i] = (struct CMUnitTest){scenario[i].name, run, NULL, NULL, &scenario[i]};
	int failed = _cmocka_run_group_tests("rules", test, count, NULL, NULL);

	for (size_t i = 0; i < count; i++) {
		free(scenario[i].file);
		free(scenario[i].name);
		free(scenario[i].text);
	}
	free(scenario);
	free(test);
	return count == 0 ? 1 : failed;
}
