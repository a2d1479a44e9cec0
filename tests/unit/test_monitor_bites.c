/* SPDX-License-Identifier: MIT */
/*
 * The real core, doctored: it is given rules that allow a little more than those the monitor judges by, and is
 * asked for everything all the time. The monitor must find each of them, and nothing where the rules agree.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { HOURS = 3, RENEW_MS = 100 };

struct bench {
	struct td_rules true_rules;
	struct td_rules core_rules;
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor;
	struct td_verdict verdict;
	uint32_t holds;
	size_t duty_cuts;
	size_t supply_waits;
};

static void count_news(struct bench *bench)
{
	for (uint16_t i = 0; i < bench->result.news_count; i++) {
		bench->duty_cuts += bench->result.news[i].cause == TD_CAUSE_DUTY_CUT;
		bench->supply_waits += bench->result.news[i].cause == TD_CAUSE_SUPPLY_WAIT;
	}
}

static bool step(struct bench *bench, struct td_event event)
{
	td_core_step(&bench->core, &bench->core_rules, &event, &bench->result);
	count_news(bench);
	td_monitor_see(&bench->monitor, &bench->true_rules, &event);
	return td_monitor_judge(&bench->monitor, &bench->true_rules, bench->core.now_ns,
				bench->result.outputs, &bench->verdict);
}

/* Goes on with what it does, or asks for the one way and the other in turn. */
static bool ask(struct bench *bench, uint8_t axis, td_ns now_ns)
{
	const struct td_axis *self = &bench->core.axis[axis];
	bool held = self->way < TD_WAYS;

	if (!held)
		bench->holds++;
	return step(bench, (struct td_event){.kind = TD_EVENT_REQUEST,
					     .at_ns = now_ns,
					     .axis = axis,
					     .way = held ? self->way : (uint8_t)(bench->holds / 2 % TD_WAYS),
					     .session = 1U + axis,
					     .hold = held ? self->hold.number : bench->holds,
					     .seq = held ? self->hold.seq + 1 : 0,
					     .lease_ns = TD_MS(3 * RENEW_MS)});
}

static void begin(struct bench *bench)
{
	uint32_t levels = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&bench->true_rules, sw, false))
			levels |= UINT32_C(1) << sw;
	td_core_init(&bench->core, &bench->core_rules, 0);
	td_monitor_init(&bench->monitor, &bench->true_rules, 0);
	assert_true(step(bench, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels}));
	assert_true(step(bench, (struct td_event){.kind = TD_EVENT_ARM}));
}

/* True where nothing is found in all the time; else *verdict is what is. */
static bool drive(struct bench *bench)
{
	bool held = true;

	begin(bench);
	for (td_ns at_ns = TD_MS(RENEW_MS); held && at_ns < TD_S(3600) * HOURS; at_ns += TD_MS(RENEW_MS)) {
		while (held && bench->result.deadline_ns < at_ns)
			held = step(bench, (struct td_event){.at_ns = bench->result.deadline_ns});
		for (uint8_t axis = 0; held && axis < RULE_AXES; axis++)
			if (axis == RULE_WHEEL || axis == RULE_DRIVE)
				held = ask(bench, axis, at_ns);
	}
	return held;
}

/* Wheel and drive with all that R12 and R13 can ask for. */
static struct td_rules strict(void)
{
	struct td_rules rules = rule_cart();
	struct td_duty_rules *drive = &rules.axis[RULE_DRIVE].duty;
	struct td_duty_rules *wheel = &rules.axis[RULE_WHEEL].duty;

	*drive = (struct td_duty_rules){
		.inf_ppm = 2000000,
		.tau_on_ns = TD_S(20),
		.tau_off_ns = TD_S(30),
		.restart_ppm = 600000,
		.least_ns = TD_MS(500),
		.allowed_ns = {TD_S(25), TD_S(170), TD_S(600)},
	};
	wheel->allowed_ns[TD_BUDGET_MINUTE] = TD_S(5);
	wheel->least_ns = TD_MS(100);
	rules.axis[RULE_WHEEL].way[0].limit_ns = rules.axis[RULE_WHEEL].way[1].limit_ns = TD_MS(700);
	rules.supply.budget_ma = 3000;
	rules.supply.gap_ns = TD_MS(400);
	rules.supply.axis[RULE_DRIVE] = (struct td_supply_axis_rules){2000, 800, TD_MS(300)};
	rules.supply.axis[RULE_WHEEL] = (struct td_supply_axis_rules){1500, 500, TD_MS(450)};
	return rules;
}

static void hotter(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.inf_ppm = 1999000;
}

static void slower_to_warm(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.tau_on_ns = TD_MS(20010);
}

static void faster_to_cool(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.tau_off_ns = TD_MS(29900);
}

static void warmer_again(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.restart_ppm = 603000;
}

static void more_a_minute(struct td_rules *rules)
{
	rules->axis[RULE_WHEEL].duty.allowed_ns[TD_BUDGET_MINUTE] = TD_MS(5010);
}

static void more_in_ten_minutes(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_MS(170010);
}

static void more_a_day(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_DAY] = TD_S(601);
}

static void shorter_runs(struct td_rules *rules)
{
	rules->axis[RULE_WHEEL].duty.least_ns = TD_MS(10);
}

static void no_duty(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty = rules->axis[RULE_WHEEL].duty = td_rules_any_duty();
}

static void more_supply(struct td_rules *rules)
{
	rules->supply.budget_ma = 3500;
}

static void shorter_window(struct td_rules *rules)
{
	rules->supply.axis[RULE_WHEEL].start_ns = TD_MS(401);
}

static void lighter_start(struct td_rules *rules)
{
	rules->supply.axis[RULE_DRIVE].start_ma = 1000;
}

static void heavy_run(struct td_rules *rules)
{
	rules->supply.axis[RULE_DRIVE].run_ma = 1600;
}

static void lighter_run(struct td_rules *rules)
{
	rules->supply.axis[RULE_DRIVE].run_ma = 1500;
}

static void shorter_gap(struct td_rules *rules)
{
	rules->supply.gap_ns = TD_MS(400) - 1;
}

static void no_supply(struct td_rules *rules)
{
	rules->supply = td_rules_any_supply(RULE_AXES);
}

static const struct {
	const char *name;
	void (*change)(struct td_rules *rules);
	enum td_breach breach;
	enum td_breach or_this;
	void (*both)(struct td_rules *rules); /* before it, what both think */
} doctored[] = {
	{"final temperature 0.05 % too low", hotter, TD_BREACH_HEAT, TD_BREACH_WARM_START, NULL},
	{"time constant of warming 0.05 % too long", slower_to_warm, TD_BREACH_HEAT, TD_BREACH_WARM_START,
	 NULL},
	{"time constant of cooling 0.33 % too short", faster_to_cool, TD_BREACH_WARM_START, TD_BREACH_HEAT,
	 NULL},
	{"restart 0.5 % too warm", warmer_again, TD_BREACH_WARM_START, TD_BREACH_NONE, NULL},
	{"10 ms more a minute", more_a_minute, TD_BREACH_BUDGET, TD_BREACH_SPENT_START, NULL},
	{"10 ms more in ten minutes", more_in_ten_minutes, TD_BREACH_BUDGET, TD_BREACH_SPENT_START, NULL},
	{"1 s more a day", more_a_day, TD_BREACH_BUDGET, TD_BREACH_SPENT_START, NULL},
	{"shorter runs than there may be", shorter_runs, TD_BREACH_SPENT_START, TD_BREACH_NONE, NULL},
	{"no duty at all", no_duty, TD_BREACH_HEAT, TD_BREACH_BUDGET, NULL},
	{"a supply that is too large", more_supply, TD_BREACH_OVERLOAD, TD_BREACH_NONE, NULL},
	{"a start window that is too short", shorter_window, TD_BREACH_OVERLOAD, TD_BREACH_NONE, NULL},
	{"a starting weight that is too low", lighter_start, TD_BREACH_OVERLOAD, TD_BREACH_NONE, NULL},
	{"a running weight that is too low", lighter_run, TD_BREACH_OVERLOAD, TD_BREACH_NONE, heavy_run},
	{"a gap that is 1 ns too short", shorter_gap, TD_BREACH_START_GAP, TD_BREACH_NONE, NULL},
	{"no supply at all", no_supply, TD_BREACH_OVERLOAD, TD_BREACH_START_GAP, NULL},
};

static void R12_R13_nothing_is_found_where_the_core_has_the_right_rules(void **state)
{
	static struct bench bench;

	(void)state;
	bench.true_rules = bench.core_rules = strict();
	if (!drive(&bench))
		fail_msg("at %lld ns: %s", (long long)bench.verdict.at_ns,
			 td_breach_info(bench.verdict.breach)->sentence);
	printf("# measured: %d hours, %zu duty cuts, %zu waits for the supply, no breach\n", HOURS,
	       bench.duty_cuts, bench.supply_waits);
	assert_true(bench.duty_cuts > 50 && bench.supply_waits > 100);
}

static void R12_R13_a_core_that_allows_a_little_more_is_found(void **state)
{
	static struct bench bench;

	(void)state;
	for (size_t i = 0; i < sizeof(doctored) / sizeof(doctored[0]); i++) {
		bench.true_rules = strict();
		if (doctored[i].both)
			doctored[i].both(&bench.true_rules);
		bench.core_rules = bench.true_rules;
		doctored[i].change(&bench.core_rules);
		bool held = drive(&bench);

		printf("# measured: %s: %s after %lld s\n", doctored[i].name,
		       td_breach_info(bench.verdict.breach)->sentence,
		       (long long)(bench.verdict.at_ns / TD_S(1)));
		assert_false(held);
		assert_true(bench.verdict.breach == doctored[i].breach ||
			    bench.verdict.breach == doctored[i].or_this);
		assert_true(td_breach_info(bench.verdict.breach)->rule == 12 ||
			    td_breach_info(bench.verdict.breach)->rule == 13);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_R13_nothing_is_found_where_the_core_has_the_right_rules),
		cmocka_unit_test(R12_R13_a_core_that_allows_a_little_more_is_found),
	};

	return cmocka_run_group_tests_name("monitor_bites", tests, NULL, NULL);
}
