/* SPDX-License-Identifier: MIT */
/*
 * R1-R11, R14, R15: no state that the core can reach by these moves, and no event in it, breaks a rule. TD_EXPLORE=all (make explore)
 * explores every rule set, and tries from each state whether there is a way back to motion. Two sessions and late events
 * (MOVES_TWO, MOVES_LATE) have been walked through at random (test_normal.c) and searched for flaws (test_bites.c), not
 * exhausted: their states are too many.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/explore/explore.h"

enum { STATES_MAX = 60000000 };

static bool happened(const struct search *search, enum td_cause cause)
{
	return (search->causes[cause / 64] >> cause % 64 & 1) != 0;
}

static bool all_of_them(void)
{
	const char *wanted = getenv("TD_EXPLORE");

	return wanted && strcmp(wanted, "all") == 0;
}

static void explore(int which, unsigned kinds)
{
	static struct search search;
	const struct variant variant = variant_make(which);

	assert_int_equal(td_rules_check(&variant.rules).fault, TD_RULES_OK);
	memset(&search, 0, sizeof(search));
	search.law = (struct law){variant.rules, variant.rules, NULL};
	search.states_max = STATES_MAX;
	search.recovery = all_of_them();
	moves_make(&search.moves, &variant.rules, kinds);
	search_run(&search);
	printf("# measured: %s, %zu moves: %u states, %llu transitions, %llu of them starts, depth %u, %s, "
	       "%.1f s\n",
	       variant.name, search.moves.count, search.store.count, (unsigned long long)search.transitions,
	       (unsigned long long)search.starts, search.depth, search.closed ? "closed" : "NOT closed",
	       search.seconds);
	if (search.at_fault)
		search_print_path(&search);
	assert_false(search.at_fault);
	assert_true(search.closed);
	for (int i = 0; variant.causes[i] != TD_CAUSE_NONE; i++)
		if (!happened(&search, variant.causes[i]))
			fail_msg("never happened: %s", td_cause_info(variant.causes[i])->name);
	search_close(&search);
}

#define EXPLORATION(name, which, kinds)                                                                      \
	static void name(void **state)                                                                       \
	{                                                                                                    \
		(void)state;                                                                                 \
		explore(which, kinds);                                                                       \
	}

EXPLORATION(two_end_switches, VARIANT_ENDS, MOVES_LATCH)
EXPLORATION(no_end_switch, VARIANT_STROKE, MOVES_LATCH)
EXPLORATION(no_end_switch_restored, VARIANT_RESTORED, MOVES_LATCH)
EXPLORATION(one_end_switch, VARIANT_ONE_END, MOVES_LATCH)
EXPLORATION(no_end_switch_disarmed_and_lost, VARIANT_STROKE, MOVES_LATCH | MOVES_MACHINE)

int main(void)
{
	const struct CMUnitTest some[] = {
		cmocka_unit_test(two_end_switches),
		cmocka_unit_test(no_end_switch),
	};
	const struct CMUnitTest all[] = {
		cmocka_unit_test(two_end_switches),
		cmocka_unit_test(no_end_switch),
		cmocka_unit_test(no_end_switch_restored),
		cmocka_unit_test(one_end_switch),
		cmocka_unit_test(no_end_switch_disarmed_and_lost),
	};

	if (all_of_them())
		return cmocka_run_group_tests_name("every state", all, NULL, NULL);
	return cmocka_run_group_tests_name("every state", some, NULL, NULL);
}
