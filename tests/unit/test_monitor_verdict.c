/* SPDX-License-Identifier: MIT */
/* What a verdict of the monitor says, and that nothing it is told can break it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

enum { RULES = 19, NONSENSE = 200000 };

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
};

static bool step(struct bench *bench, struct td_event event, uint32_t outputs)
{
	td_monitor_see(&bench->monitor, &bench->rules, &event);
	return td_monitor_judge(&bench->monitor, &bench->rules, event.at_ns, outputs, &bench->verdict);
}

static uint32_t nothing_active(const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(rules, sw, false))
			word |= UINT32_C(1) << sw;
	return word;
}

static void begin(struct bench *bench)
{
	memset(bench, 0xa5, sizeof(*bench));
	bench->rules = rule_cart();
	td_monitor_init(&bench->monitor, &bench->rules, 0);
	assert_true(step(bench,
			 (struct td_event){.kind = TD_EVENT_LEVELS, .levels = nothing_active(&bench->rules)},
			 0));
	assert_true(step(bench, (struct td_event){.kind = TD_EVENT_ARM}, 0));
}

static struct td_event ask(uint8_t axis, uint8_t way, int at_ms)
{
	return (struct td_event){.kind = TD_EVENT_REQUEST,
				 .at_ns = TD_MS(at_ms),
				 .axis = axis,
				 .way = way,
				 .session = 1,
				 .hold = (uint32_t)at_ms,
				 .lease_ns = TD_MS(1500)};
}

static struct td_event time_at(int at_ms)
{
	return (struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_MS(at_ms)};
}

static void r3_the_gap_and_the_dead_time_are_told(void **state)
{
	static struct bench bench;

	(void)state;
	begin(&bench);
	assert_true(step(&bench, ask(RULE_DRIVE, 1, 1000), ON(RULE_DRIVE, 1)));
	assert_true(step(&bench, ask(RULE_DRIVE, 0, 1500), 0));
	assert_false(step(&bench, time_at(1620), ON(RULE_DRIVE, 0)));
	assert_int_equal(bench.verdict.at_ns, TD_MS(1620));
	assert_int_equal(bench.verdict.measured_ns, TD_MS(120));
	assert_int_equal(bench.verdict.bound_ns, TD_MS(400));
}

static void r6_the_powered_time_and_the_limit_are_told(void **state)
{
	static struct bench bench;

	(void)state;
	begin(&bench);
	assert_true(step(&bench, ask(RULE_WHEEL, 1, 1000), ON(RULE_WHEEL, 1)));
	assert_false(step(&bench, time_at(1650), ON(RULE_WHEEL, 1)));
	assert_int_equal(bench.verdict.measured_ns, TD_MS(650));
	assert_int_equal(bench.verdict.bound_ns, TD_MS(600));
}

static void r7_the_time_past_the_lease_is_told(void **state)
{
	static struct bench bench;

	(void)state;
	begin(&bench);
	assert_true(step(&bench, ask(RULE_DRIVE, 1, 1000), ON(RULE_DRIVE, 1)));
	assert_false(step(&bench, time_at(2530), ON(RULE_DRIVE, 1)));
	assert_int_equal(bench.verdict.measured_ns, TD_MS(30));
}

static void a_breach_is_told_as_long_as_it_lasts_and_no_longer(void **state)
{
	static struct bench bench;

	(void)state;
	begin(&bench);
	assert_false(step(&bench, time_at(1000), ON(RULE_DRIVE, 1)));
	assert_false(step(&bench, time_at(1001), ON(RULE_DRIVE, 1)));
	assert_true(step(&bench, time_at(1002), 0));
	assert_int_equal(bench.verdict.breach, TD_BREACH_NONE);
	assert_int_equal(bench.verdict.axis, TD_NO_AXIS);
	assert_true(step(&bench, ask(RULE_DRIVE, 1, 2000), ON(RULE_DRIVE, 1)));
}

static void time_that_runs_backwards_is_no_time(void **state)
{
	static struct bench bench;

	(void)state;
	begin(&bench);
	assert_true(step(&bench, ask(RULE_DRIVE, 1, 1000), ON(RULE_DRIVE, 1)));
	assert_true(step(&bench, time_at(2499), ON(RULE_DRIVE, 1)));
	assert_true(step(&bench, time_at(500), ON(RULE_DRIVE, 1)));
	assert_int_equal(bench.verdict.at_ns, TD_MS(2499));
	assert_false(step(&bench, time_at(2500), ON(RULE_DRIVE, 1)));
}

static void every_breach_has_a_rule_and_a_sentence(void **state)
{
	(void)state;
	assert_int_equal(td_breach_info(TD_BREACH_NONE)->rule, 0);
	for (int i = 0; i < TD_BREACHES; i++) {
		const struct td_breach_info *info = td_breach_info((enum td_breach)i);
		size_t length = strlen(info->sentence);

		assert_true(i == TD_BREACH_NONE || (info->rule >= 1 && info->rule <= RULES));
		assert_true(length > 0 && info->sentence[length - 1] != '.');
	}
	print_message("# measured: %d breaches\n", TD_BREACHES - 1);
}

static void an_unknown_breach_is_one_all_the_same(void **state)
{
	(void)state;
	assert_int_not_equal(td_breach_info((enum td_breach)TD_BREACHES)->rule, 0);
	assert_int_not_equal(td_breach_info((enum td_breach) - 1)->rule, 0);
}

/* xorshift64 (Marsaglia 2003, triple 13-7-17), enough for a test */
static uint64_t dice(uint64_t *random)
{
	*random ^= *random << 13;
	*random ^= *random >> 7;
	*random ^= *random << 17;
	return *random;
}

/* No core here: whatever is powered without being asked for is found, and nothing breaks. */
static void any_bytes_and_any_outputs_are_survived(void **state)
{
	static struct bench bench;
	uint64_t random = 20261125;
	size_t broken = 0;

	(void)state;
	begin(&bench);
	for (size_t i = 0; i < NONSENSE; i++) {
		struct td_event event = {.kind = TD_EVENT_TIME};
		unsigned char *byte = (unsigned char *)&event;

		for (size_t k = 0; k < sizeof(event); k++)
			byte[k] = (unsigned char)(dice(&random) >> 33);
		event.kind = (enum td_event_kind)(dice(&random) % (TD_EVENT_KINDS + 1));
		event.at_ns = bench.monitor.now_ns + (td_ns)(dice(&random) % (uint64_t)TD_MS(500));
		bool held = step(&bench, event, (uint32_t)(dice(&random) >> 20));

		assert_int_equal(held, bench.verdict.breach == TD_BREACH_NONE);
		assert_true((unsigned int)bench.verdict.breach < TD_BREACHES);
		broken += !held;
	}
	assert_true(broken > NONSENSE / 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r3_the_gap_and_the_dead_time_are_told),
		cmocka_unit_test(r6_the_powered_time_and_the_limit_are_told),
		cmocka_unit_test(r7_the_time_past_the_lease_is_told),
		cmocka_unit_test(a_breach_is_told_as_long_as_it_lasts_and_no_longer),
		cmocka_unit_test(time_that_runs_backwards_is_no_time),
		cmocka_unit_test(every_breach_has_a_rule_and_a_sentence),
		cmocka_unit_test(an_unknown_breach_is_one_all_the_same),
		cmocka_unit_test(any_bytes_and_any_outputs_are_survived),
	};

	return cmocka_run_group_tests_name("monitor_verdict", tests, NULL, NULL);
}
