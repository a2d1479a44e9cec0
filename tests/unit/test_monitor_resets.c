/* SPDX-License-Identifier: MIT */
/*
 * The monitor counts the resets of visitors that were certainly taken (R11): a trip that is known, resets by visitors
 * alone, and power after them. The cart allows three within an hour, of all axes together.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { DOWN, UP }; /* the vent closes and opens */

#define BOTH_ENDS (UINT32_C(1) << RULE_BOTTOM | UINT32_C(1) << RULE_TOP)

#define MINUTE TD_S(60)
#define HOUR   TD_S(3600)
#define PAUSE  TD_MS(300)                              /* before each request */
#define TAKES  (TD_MS(2600) + 2 * TD_S(1) + 2 * PAUSE) /* one of taken() */

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
	td_ns now_ns;
	uint32_t hold;
};

static struct bench bench;

static enum td_breach step(struct td_event event, uint32_t outputs)
{
	event.at_ns = bench.now_ns;
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	(void)td_monitor_judge(&bench.monitor, &bench.rules, bench.now_ns, outputs, &bench.verdict);
	return bench.verdict.breach;
}

static uint32_t levels(uint32_t active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&bench.rules, sw, (active >> sw & 1) != 0))
			word |= UINT32_C(1) << sw;
	return word;
}

static void begin(uint8_t visitor_resets)
{
	bench = (struct bench){.rules = rule_cart()};
	bench.rules.visitor_resets = visitor_resets;
	bench.rules.axis[RULE_VENT].way[DOWN].bars = 0;
	bench.rules.axis[RULE_BOOM].way[UP].bars = 0;
	td_monitor_init(&bench.monitor, &bench.rules, 0);
	assert_int_equal(step((struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(0)}, 0),
			 TD_BREACH_NONE);
	assert_int_equal(step((struct td_event){.kind = TD_EVENT_ARM}, 0), TD_BREACH_NONE);
}

static enum td_breach ask(uint8_t axis, uint8_t way)
{
	bench.now_ns += PAUSE;
	return step((struct td_event){.kind = TD_EVENT_REQUEST,
				      .axis = axis,
				      .way = way,
				      .session = 1,
				      .hold = ++bench.hold,
				      .lease_ns = TD_LEASE_MAX_NS},
		    UINT32_C(1) << (axis * TD_WAYS + way));
}

static void fine(enum td_breach found)
{
	if (found != TD_BREACH_NONE)
		fail_msg("%s", td_breach_info(found)->sentence);
}

static void reset(uint8_t axis, enum td_role role)
{
	fine(step((struct td_event){.kind = TD_EVENT_RESET, .axis = axis, .role = (uint8_t)role}, 0));
}

/* Both ends of the boom, until that counts. */
static void levels_of_ends(bool active)
{
	fine(step((struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(active ? BOTH_ENDS : 0)}, 0));
	bench.now_ns += TD_MS(50);
	fine(step((struct td_event){.kind = TD_EVENT_TIME}, 0));
}

/* Powered until its travel limit cuts it. */
static enum td_breach trip(uint8_t axis, uint8_t way)
{
	enum td_breach found = ask(axis, way);
	td_ns ends_ns = bench.now_ns + bench.rules.axis[axis].way[way].limit_ns;

	for (uint32_t seq = 1; bench.now_ns + TD_S(1) < ends_ns; seq++) {
		bench.now_ns += TD_S(1);
		fine(step((struct td_event){.kind = TD_EVENT_REQUEST,
					    .axis = axis,
					    .way = way,
					    .session = 1,
					    .hold = bench.hold,
					    .seq = seq,
					    .lease_ns = TD_LEASE_MAX_NS},
			  bench.monitor.outputs));
	}
	bench.now_ns = ends_ns;
	fine(step((struct td_event){.kind = TD_EVENT_TIME}, 0));
	assert_true(bench.monitor.axis[axis].tripped);
	bench.now_ns += TD_S(1);
	return found;
}

/* One that is certainly taken: the boom trips on its way up, is reset and powered down. */
static enum td_breach taken(void)
{
	fine(trip(RULE_BOOM, UP));
	reset(RULE_BOOM, TD_ROLE_VISITOR);
	enum td_breach found = ask(RULE_BOOM, DOWN);

	fine(step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}, 0));
	bench.now_ns += TD_S(1);
	reset(RULE_BOOM, TD_ROLE_KEEPER); /* or the way would lock */
	return found;
}

/* --- how many ------------------------------------------------------------------------------------------- */

static void r11_one_more_than_there_may_be_within_an_hour_is_found(void **state)
{
	static const struct {
		td_ns apart_ns;
		enum td_breach breach;
	} rows[] = {{MINUTE, TD_BREACH_RESETS_SPENT},
		    {HOUR - 1, TD_BREACH_RESETS_SPENT},
		    {HOUR, TD_BREACH_NONE},
		    {2 * HOUR, TD_BREACH_NONE}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(1);
		fine(taken());
		bench.now_ns += rows[i].apart_ns - TAKES;
		assert_int_equal(taken(), rows[i].breach);
	}
}

static void r11_the_verdict_says_who_and_how_soon(void **state)
{
	(void)state;
	begin(1);
	fine(taken());
	bench.now_ns += MINUTE - TAKES;
	fine(trip(RULE_BOOM, UP));
	reset(RULE_BOOM, TD_ROLE_VISITOR);
	assert_int_equal(ask(RULE_BOOM, DOWN), TD_BREACH_RESETS_SPENT);
	assert_int_equal(bench.verdict.rule, 11);
	assert_int_equal(bench.verdict.axis, RULE_BOOM);
	assert_int_equal(bench.verdict.way, DOWN);
	assert_true(bench.verdict.measured_ns == MINUTE && bench.verdict.bound_ns == HOUR);
	/* Told once, of the start: nobody was reset for what follows. */
	bench.now_ns += TD_MS(100);
	fine(step((struct td_event){.kind = TD_EVENT_TIME}, bench.monitor.outputs));
	bench.now_ns += TD_MS(100);
	fine(step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}, 0));
	bench.now_ns += TD_S(1);
	fine(ask(RULE_BOOM, DOWN));
}

static void r11_all_axes_count_together(void **state)
{
	(void)state;
	begin(3);
	fine(trip(RULE_BOOM, UP));
	reset(RULE_BOOM, TD_ROLE_VISITOR);
	fine(trip(RULE_BOOM, DOWN));
	reset(RULE_BOOM, TD_ROLE_VISITOR);
	fine(trip(RULE_VENT, UP));
	reset(RULE_VENT, TD_ROLE_VISITOR);
	fine(trip(RULE_VENT, DOWN));
	reset(RULE_VENT, TD_ROLE_VISITOR);
	fine(ask(RULE_BOOM, UP)); /* the second of the boom: three are certain */
	fine(step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}, 0));
	bench.now_ns += TD_S(1);
	assert_int_equal(ask(RULE_VENT, DOWN), TD_BREACH_RESETS_SPENT);
	assert_int_equal(bench.verdict.axis, RULE_VENT);
}

/* The one that was reset first is powered last. */
static void r11_the_order_of_the_starts_does_not_matter(void **state)
{
	static const struct {
		td_ns apart_ns;
		enum td_breach breach;
	} rows[] = {{HOUR - 1, TD_BREACH_RESETS_SPENT}, {HOUR, TD_BREACH_NONE}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(1);
		fine(trip(RULE_BOOM, UP));
		fine(trip(RULE_VENT, UP));
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		bench.now_ns += rows[i].apart_ns;
		reset(RULE_VENT, TD_ROLE_VISITOR);
		bench.now_ns += MINUTE;
		fine(ask(RULE_VENT, DOWN));
		fine(step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}, 0));
		bench.now_ns += TD_S(1);
		assert_int_equal(ask(RULE_BOOM, DOWN), rows[i].breach);
	}
}

static void r11_as_many_as_there_can_be_are_counted_for_ever(void **state)
{
	(void)state;
	begin(TD_VISITOR_RESETS_MAX);
	for (int i = 0; i < 3 * TD_VISITOR_RESETS_MAX; i++) {
		fine(taken());
		bench.now_ns += MINUTE - TAKES;
	}
	bench.now_ns += HOUR;
	for (int i = 0; i < TD_VISITOR_RESETS_MAX; i++)
		fine(taken());
	assert_int_equal(taken(), TD_BREACH_RESETS_SPENT);
}

/* --- what is not certain ----------------------------------------------------------------------------------- */

static void r11_what_is_not_powered_again_was_perhaps_not_reset(void **state)
{
	(void)state;
	begin(1);
	fine(taken());
	fine(trip(RULE_BOOM, UP));
	reset(RULE_BOOM, TD_ROLE_VISITOR);
	fine(step((struct td_event){.kind = TD_EVENT_TIME}, 0));
}

static void r11_what_the_keeper_resets_too_may_be_the_keepers(void **state)
{
	(void)state;
	for (int all = 0; all < 2; all++) {
		begin(1);
		fine(taken());
		fine(trip(RULE_BOOM, UP));
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		reset(all ? (uint8_t)TD_ALL_AXES : (uint8_t)RULE_BOOM, TD_ROLE_KEEPER);
		fine(ask(RULE_BOOM, DOWN));
	}
}

/* Of two resets of one trip the first may have been refused: they count from the first to the second. */
static void r11_one_of_several_resets_of_one_trip_was_taken(void **state)
{
	static const struct {
		td_ns second_ns;
		enum td_breach breach;
	} rows[] = {{HOUR - 1, TD_BREACH_RESETS_SPENT}, {HOUR, TD_BREACH_NONE}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin(1);
		fine(taken());
		bench.now_ns += 30 * MINUTE - TAKES;
		fine(trip(RULE_BOOM, UP));
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		bench.now_ns += rows[i].second_ns - 30 * MINUTE;
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		assert_int_equal(ask(RULE_BOOM, DOWN), rows[i].breach);
	}
}

/* A trip that comes while the boom goes up, by what only the keeper resets. */
static void trip_by(enum td_event_kind kind)
{
	fine(ask(RULE_BOOM, UP));
	bench.now_ns += PAUSE;
	if (kind == TD_EVENT_LEVELS) {
		fine(step((struct td_event){.kind = kind, .levels = levels(BOTH_ENDS)},
			  bench.monitor.outputs));
		bench.now_ns += TD_MS(2);
		kind = TD_EVENT_TIME;
	}
	fine(step((struct td_event){.kind = kind}, 0));
	levels_of_ends(false);
	fine(step((struct td_event){.kind = TD_EVENT_ARM}, 0));
	bench.now_ns += TD_S(1);
}

static void r11_no_visitor_resets_what_only_the_keeper_may(void **state)
{
	static const enum td_event_kind kinds[] = {TD_EVENT_LEVELS, TD_EVENT_LINES_LOST, TD_EVENT_BREACH};

	(void)state;
	for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); i++) {
		begin(3);
		trip_by(kinds[i]);
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		assert_int_equal(ask(RULE_BOOM, DOWN), TD_BREACH_TRIPPED);
		fine(step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}, 0));
		reset(RULE_BOOM, TD_ROLE_KEEPER);
		fine(ask(RULE_BOOM, DOWN));
	}
}

/* Both ends are active: every reset is refused, whoever asks. */
static void r11_a_reset_that_is_refused_for_certain_counts_for_nobody(void **state)
{
	(void)state;
	for (int role = TD_ROLE_VISITOR; role <= TD_ROLE_KEEPER; role++) {
		begin(1);
		fine(taken());
		bench.now_ns += MINUTE - TAKES;
		fine(trip(RULE_BOOM, UP));
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		levels_of_ends(true);
		reset(RULE_BOOM, (enum td_role)role);
		levels_of_ends(false);
		reset(RULE_BOOM, TD_ROLE_VISITOR);
		assert_int_equal(ask(RULE_BOOM, DOWN), TD_BREACH_RESETS_SPENT);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r11_one_more_than_there_may_be_within_an_hour_is_found),
		cmocka_unit_test(r11_the_verdict_says_who_and_how_soon),
		cmocka_unit_test(r11_all_axes_count_together),
		cmocka_unit_test(r11_the_order_of_the_starts_does_not_matter),
		cmocka_unit_test(r11_as_many_as_there_can_be_are_counted_for_ever),
		cmocka_unit_test(r11_what_is_not_powered_again_was_perhaps_not_reset),
		cmocka_unit_test(r11_what_the_keeper_resets_too_may_be_the_keepers),
		cmocka_unit_test(r11_one_of_several_resets_of_one_trip_was_taken),
		cmocka_unit_test(r11_no_visitor_resets_what_only_the_keeper_may),
		cmocka_unit_test(r11_a_reset_that_is_refused_for_certain_counts_for_nobody),
	};

	return cmocka_run_group_tests_name("monitor_resets", tests, NULL, NULL);
}
