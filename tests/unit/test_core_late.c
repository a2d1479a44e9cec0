/* SPDX-License-Identifier: MIT */
/* Whoever hears of edges late hears of several at once, and nothing between them: no step says that a contact was active for
 * its confirm time before the one that says that it no longer is. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/core.h"
#include "tests/support/rule_cart.h"

struct late {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	uint32_t levels;
};

static void step(struct late *late, struct td_event event, int64_t at_us)
{
	event.at_ns = TD_US(at_us);
	td_core_step(&late->core, &late->rules, &event, &late->result);
}

static void edge(struct late *late, uint8_t sw, bool active, int64_t at_us)
{
	uint32_t bit = UINT32_C(1) << sw;

	late->levels = rule_level(&late->rules, sw, active) ? late->levels | bit : late->levels & ~bit;
	step(late, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = late->levels}, at_us);
}

/* The boom goes up, away from both ends. */
static void go_up(struct late *late, td_ns clear_ns)
{
	memset(late, 0, sizeof(*late));
	late->rules = rule_cart();
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++) {
		late->rules.sw[sw].confirm_ns = TD_MS(2);
		late->rules.sw[sw].clear_ns = clear_ns;
		if (rule_level(&late->rules, sw, false))
			late->levels |= UINT32_C(1) << sw;
	}
	assert_int_equal(td_rules_check(&late->rules).fault, TD_RULES_OK);
	td_core_init(&late->core, &late->rules, 0);
	step(late, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = late->levels}, 0);
	step(late, (struct td_event){.kind = TD_EVENT_ARM}, 0);
	step(late,
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = RULE_BOOM,
			       .way = 1,
			       .session = 1,
			       .hold = 1,
			       .lease_ns = TD_MS(1500)},
	     1000000);
	assert_int_not_equal(late->result.outputs, 0);
}

static void r2_an_end_that_was_active_for_its_time_stops_however_late_it_is_heard(void **state)
{
	static const td_ns clears_ns[] = {TD_CLEAR_MIN_NS, TD_MS(50), TD_CLEAR_MAX_NS};
	struct late late;

	(void)state;
	for (size_t i = 0; i < sizeof(clears_ns) / sizeof(clears_ns[0]); i++) {
		go_up(&late, clears_ns[i]);
		edge(&late, RULE_TOP, true, 1500000);
		edge(&late, RULE_TOP, false, 1502000);
		assert_int_equal(late.result.outputs, 0);
		go_up(&late, clears_ns[i]);
		edge(&late, RULE_TOP, true, 1500000);
		edge(&late, RULE_TOP, false, 1501999); /* too short a pulse */
		assert_int_not_equal(late.result.outputs, 0);
	}
}

static void r10_so_does_the_emergency_stop_input_and_it_latches(void **state)
{
	struct late late;

	(void)state;
	go_up(&late, TD_CLEAR_MIN_NS);
	edge(&late, RULE_STOP, true, 1500000);
	edge(&late, RULE_STOP, false, 1560000);
	assert_int_equal(late.result.outputs, 0);
	assert_int_equal(late.core.latch, TD_LATCH_INPUT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r2_an_end_that_was_active_for_its_time_stops_however_late_it_is_heard),
		cmocka_unit_test(r10_so_does_the_emergency_stop_input_and_it_latches),
	};

	return cmocka_run_group_tests_name("core_late", tests, NULL, NULL);
}
