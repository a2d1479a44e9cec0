/* SPDX-License-Identifier: MIT */
/* The contract of the rule set, where it ends: the largest and smallest sets, every kind of everything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/rule_cart.h"

static enum td_rules_fault fault_of(const struct td_rules *rules)
{
	return td_rules_check(rules).fault;
}

static void one_axis_alone_is_a_machine_and_so_are_as_many_as_there_can_be(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		rules.axis[axis] = rule_cart().axis[RULE_DRIVE];
	rules.axes = rules.supply.axes = 1;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
	rules.axes = rules.supply.axes = TD_AXES_MAX;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
	rules.axis[TD_AXES_MAX - 1].dead_ns = 0;
	struct td_rules_verdict verdict = td_rules_check(&rules);

	assert_int_equal(verdict.fault, TD_RULES_DEAD_TIME);
	assert_int_equal(verdict.axis, TD_AXES_MAX - 1);
	assert_int_equal(verdict.way, TD_NO_WAY);
	assert_int_equal(verdict.sw, TD_NO_SWITCH);
}

static void as_many_switches_as_there_can_be_are_fine_and_what_is_behind_them_is_not_looked_at(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	rules.sw[RULE_SWITCHES].confirm_ns = -1;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
	for (uint8_t sw = RULE_SWITCHES; sw < TD_SWITCHES_MAX; sw++)
		rules.sw[sw] = rules.sw[0];
	rules.switches = TD_SWITCHES_MAX;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
	rules.sw[TD_SWITCHES_MAX - 1].clear_ns = -1;
	assert_int_equal(td_rules_check(&rules).sw, TD_SWITCHES_MAX - 1);
	rules = rule_cart();
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			rules.axis[axis].way[way] = rule_cart().axis[RULE_WHEEL].way[0];
	rules.switches = 0;
	rules.stop_switch = TD_NO_SWITCH;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
}

static void r9_every_contact_and_pull_is_fine(void **state)
{
	struct td_rules rules = rule_cart();

	(void)state;
	for (unsigned int contact = 0; contact < 2; contact++)
		for (unsigned int pull = 0; pull < 2; pull++) {
			rules.sw[0].contact = (enum td_contact)contact;
			rules.sw[0].pull = (enum td_pull)pull;
			assert_int_equal(fault_of(&rules), TD_RULES_OK);
		}
}

static void r17_every_kind_of_condition_is_fine_and_the_last_one_is_looked_at(void **state)
{
	static const struct td_bar good[] = {{TD_BAR_MOVING, RULE_VENT, TD_NO_WAY},
					     {TD_BAR_AT_END, RULE_VENT, 0},
					     {TD_BAR_AT_END, RULE_VENT, 1},
					     {TD_BAR_OFF_END, RULE_VENT, 0}};
	struct td_rules rules = rule_cart();

	(void)state;
	_Static_assert(sizeof(good) / sizeof(good[0]) == TD_BARS_MAX, "as many as there can be");
	memcpy(rules.axis[RULE_BOOM].way[1].bar, good, sizeof(good));
	rules.axis[RULE_BOOM].way[1].bars = TD_BARS_MAX;
	assert_int_equal(fault_of(&rules), TD_RULES_OK);
	for (uint8_t i = 0; i < TD_BARS_MAX; i++) {
		rules.axis[RULE_BOOM].way[1].bar[i].axis = RULE_AXES;
		struct td_rules_verdict verdict = td_rules_check(&rules);

		assert_int_equal(verdict.fault, TD_RULES_BAR);
		assert_int_equal(verdict.axis, RULE_BOOM);
		assert_int_equal(verdict.way, 1);
		rules.axis[RULE_BOOM].way[1].bar[i] = good[i];
	}
}

static void r6_one_end_is_enough_to_forbid_giving_the_stroke_back(void **state)
{
	(void)state;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		struct td_rules rules = rule_cart();

		rules.axis[RULE_BOOM].way[way] = rule_cart().axis[RULE_WHEEL].way[0];
		rules.axis[RULE_VENT].way[0].bars = 0;
		assert_int_equal(fault_of(&rules), TD_RULES_OK);
		rules.axis[RULE_BOOM].restored_ns = 1;
		assert_int_equal(fault_of(&rules), TD_RULES_RESTORED);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_axis_alone_is_a_machine_and_so_are_as_many_as_there_can_be),
		cmocka_unit_test(
			as_many_switches_as_there_can_be_are_fine_and_what_is_behind_them_is_not_looked_at),
		cmocka_unit_test(r9_every_contact_and_pull_is_fine),
		cmocka_unit_test(r17_every_kind_of_condition_is_fine_and_the_last_one_is_looked_at),
		cmocka_unit_test(r6_one_end_is_enough_to_forbid_giving_the_stroke_back),
	};

	return cmocka_run_group_tests_name("core_limits", tests, NULL, NULL);
}
