/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

struct run {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
};

static uint32_t levels(const struct td_rules *rules, uint32_t active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(rules, sw, (active >> sw & 1) != 0))
			word |= UINT32_C(1) << sw;
	return word;
}

static bool step(struct run *run, const struct td_event *event, uint32_t outputs)
{
	td_monitor_see(&run->monitor, &run->rules, event);
	return td_monitor_judge(&run->monitor, &run->rules, event->at_ns, outputs, &run->verdict);
}

static void begin(struct run *run, const struct monitor_case *is)
{
	run->rules = rule_cart();
	if (is->change)
		is->change(&run->rules);
	assert_int_equal(td_rules_check(&run->rules).fault, TD_RULES_OK);
	td_monitor_init(&run->monitor, &run->rules, 0);
	if (is->bare)
		return;
	const struct td_event first = {.kind = TD_EVENT_LEVELS, .levels = levels(&run->rules, is->active)};
	const struct td_event arm = {.kind = TD_EVENT_ARM};

	assert_true(step(run, &first, 0));
	assert_true(step(run, &arm, 0));
}

static bool take(struct run *run, const struct monitor_row *row)
{
	struct td_event event = row->event;

	event.at_ns = (td_ns)(row->at_ms * 1e6);
	event.heard_ns = (td_ns)(row->heard_ms * 1e6);
	event.lease_ns = (td_ns)(row->lease_ms * 1e6);
	event.levels = levels(&run->rules, row->active);
	return step(run, &event, row->outputs);
}

static bool has_bound(enum td_breach breach)
{
	return breach == TD_BREACH_INTO_END || breach == TD_BREACH_LEAVE_TIME ||
	       breach == TD_BREACH_TRAVEL_TIME || breach == TD_BREACH_STROKE_TIME ||
	       breach == TD_BREACH_REVERSED || breach == TD_BREACH_RESTARTED || breach == TD_BREACH_BUDGET ||
	       breach == TD_BREACH_SPENT_START || breach == TD_BREACH_START_GAP;
}

/* How long an end was active, how long nobody asked, how long it was powered or resting: there is no bound for it. */
static bool has_time(enum td_breach breach)
{
	return has_bound(breach) || breach == TD_BREACH_START_INTO_END || breach == TD_BREACH_NOT_ASKED ||
	       breach == TD_BREACH_REQUEST_REFUSED || breach == TD_BREACH_HOLD_ENDED ||
	       breach == TD_BREACH_HEAT || breach == TD_BREACH_WARM_START;
}

/* No figure where none belongs. */
static void times_are_told(const struct td_verdict *verdict)
{
	assert_true(has_time(verdict->breach) || verdict->measured_ns == 0);
	assert_true(has_bound(verdict->breach) || verdict->bound_ns == 0);
}

static void last_is_judged(const struct run *run, const struct monitor_case *is)
{
	const struct td_verdict *verdict = &run->verdict;

	if (verdict->breach != is->breach)
		fail_msg("\"%s\" instead of \"%s\"", td_breach_info(verdict->breach)->sentence,
			 td_breach_info(is->breach)->sentence);
	assert_int_equal(verdict->rule, td_breach_info(is->breach)->rule);
	assert_int_equal(verdict->at_ns, run->monitor.now_ns);
	times_are_told(verdict);
	if (is->breach != TD_BREACH_NONE) {
		assert_int_equal(verdict->axis, is->axis);
		assert_int_equal(verdict->way, is->way);
	}
}

void monitor_case_run(void **state)
{
	const struct monitor_case *is = *state;
	static struct run run;

	begin(&run, is);
	for (size_t i = 0; i < MONITOR_ROWS && is->row[i].at_ms > 0; i++) {
		bool last = i + 1 == MONITOR_ROWS || is->row[i + 1].at_ms <= 0;
		bool held = take(&run, &is->row[i]);

		if (!last && !held)
			fail_msg("row %zu: %s", i, td_breach_info(run.verdict.breach)->sentence);
		assert_int_equal(held, run.verdict.breach == TD_BREACH_NONE);
	}
	last_is_judged(&run, is);
}

int monitor_cases_run(const char *group, struct monitor_case *cases, size_t count)
{
	struct CMUnitTest *tests = calloc(count + 1, sizeof(*tests));

	for (size_t i = 0; i < count; i++)
		tests[i] = (struct CMUnitTest){cases[i].name, monitor_case_run, NULL, NULL, &cases[i]};
	int failed = _cmocka_run_group_tests(group, tests, count, NULL, NULL);

	free(tests);
	return failed;
}
