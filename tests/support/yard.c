/* SPDX-License-Identifier: MIT */
#include "tests/support/yard.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const struct {
	const char *words;
	uint32_t odds;
} faults[] = {
#define TD_X(ident, words, odds) {words, odds},
	YARD_FAULTS(TD_X)
#undef TD_X
};

const char *yard_fault_words(enum fault fault)
{
	return faults[fault].words;
}

bool yard_chance(struct yard *yard, uint32_t odds)
{
	return dice_below(&yard->dice, odds) == 0;
}

td_ns yard_up_to(struct yard *yard, td_ns most_ns)
{
	return TD_US(1 + (td_ns)dice_below(&yard->dice, (uint64_t)most_ns / 1000));
}

/* True if the fault comes now. */
bool yard_strikes(struct yard *yard, enum fault fault)
{
	if (!yard_chance(yard, faults[fault].odds))
		return false;
	yard->injected[fault]++;
	return true;
}

/* --- the core --------------------------------------------------------------------------------------------- */

static void judge(struct yard *yard)
{
	struct td_verdict verdict;
	uint32_t before = yard->monitor.outputs;

	if (!td_monitor_judge(&yard->monitor, &yard->rules, yard->core.now_ns, yard->result.outputs,
			      &verdict))
		fail_msg("step %llu: R%u axis %u way %u: %s (%lld of %lld ns)",
			 (unsigned long long)yard->steps, verdict.rule, verdict.axis, verdict.way,
			 td_breach_info(verdict.breach)->sentence, (long long)verdict.measured_ns,
			 (long long)verdict.bound_ns);
	assert_int_equal(yard->result.news_lost, 0);
	assert_true(yard->result.deadline_ns > yard->core.now_ns);
	insight_check(&yard->insight, &yard->rules, &yard->core, &yard->monitor, &yard->result);
	yard->motions += (uint64_t)__builtin_popcount(yard->result.outputs & ~before);
	for (uint16_t i = 0; i < yard->result.news_count; i++)
		yard->causes[(unsigned)yard->result.news[i].cause % 256]++;
}

/* R13 once more: the least that the powered axes weigh, told by their outputs alone. */
static void weigh(struct yard *yard, uint32_t before)
{
	uint32_t sum_ma = 0;

	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		const struct td_supply_axis_rules *rules = &yard->rules.supply.axis[axis];
		uint32_t on = yard->result.outputs >> (axis * TD_WAYS) & 3;

		if (on != 0 && (before >> (axis * TD_WAYS) & 3) == 0)
			yard->rose_ns[axis] = yard->core.now_ns;
		if (on != 0)
			sum_ma += yard->core.now_ns - yard->rose_ns[axis] < rules->start_ns ? rules->start_ma
											    : rules->run_ma;
	}
	if (sum_ma > yard->most_ma)
		yard->most_ma = sum_ma;
	assert_true(sum_ma <= yard->rules.supply.budget_ma);
}

static bool take(struct yard *yard, const struct td_event *event)
{
	uint32_t before = yard->monitor.outputs;

	td_core_step(&yard->core, &yard->rules, event, &yard->result);
	td_monitor_see(&yard->monitor, &yard->rules, event);
	yard->steps++;
	judge(yard);
	weigh(yard, before);
	return (before & ~yard->result.outputs) != 0;
}

static void follow(struct yard *yard, uint8_t axis, uint32_t outputs);

/* A write takes a while. */
void yard_step(struct yard *yard, struct td_event event)
{
	uint32_t before = yard->monitor.outputs;

	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		follow(yard, axis, before);
	event.at_ns = yard->now_ns;
	for (bool cut = take(yard, &event); cut && !yard_strikes(yard, FAULT_UNWRITTEN);) {
		yard->now_ns += yard_up_to(yard, TD_US(300));
		cut = take(yard, &(struct td_event){.kind = TD_EVENT_WRITTEN, .at_ns = yard->now_ns});
	}
}

/* --- mechanics -------------------------------------------------------------------------------------------- */

static bool sick(const struct yard *yard, uint8_t axis, enum fault fault)
{
	return yard->gear[axis].until_ns[fault] > yard->now_ns;
}

/* Brings the gear to where it is now. */
static void follow(struct yard *yard, uint8_t axis, uint32_t outputs)
{
	struct gear *gear = &yard->gear[axis];
	const struct td_way_rules *way = yard->rules.axis[axis].way;
	td_ns span_ns = td_time_between(gear->looked_ns, yard->now_ns);
	uint32_t on = outputs >> (axis * TD_WAYS) & 3;

	gear->looked_ns = yard->now_ns;
	if (on == 0 || sick(yard, axis, FAULT_JAM))
		return;
	if (sick(yard, axis, FAULT_SLOW))
		span_ns /= 2;
	bool up = (on == 2) != sick(yard, axis, FAULT_BACKWARD);

	gear->at_ns +=
		up ? span_ns : -(span_ns / 1000 * (way[1].reach_ns / 1000) / (way[0].reach_ns / 1000) * 1000);
	if (gear->at_ns < 0)
		gear->at_ns = 0;
	if (gear->at_ns > way[1].reach_ns)
		gear->at_ns = way[1].reach_ns;
}

static bool pressed(const struct yard *yard, uint8_t sw)
{
	for (uint8_t axis = 0; axis < RULE_AXES; axis++) {
		const struct td_way_rules *way = yard->rules.axis[axis].way;

		if (way[0].end_switch == sw)
			return yard->gear[axis].at_ns <= 0;
		if (way[1].end_switch == sw)
			return yard->gear[axis].at_ns >= way[1].reach_ns;
	}
	return false;
}

uint32_t yard_read_levels(struct yard *yard)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++) {
		const td_ns *until_ns = yard->sick_until_ns[sw];
		bool active = pressed(yard, sw);

		if (until_ns[FAULT_WELDED] > yard->now_ns)
			active = false;
		if (until_ns[FAULT_BROKEN] > yard->now_ns)
			active = true;
		if (until_ns[FAULT_CHATTER] > yard->now_ns)
			active = yard_chance(yard, 2);
		word |= (uint32_t)rule_level(&yard->rules, sw, active) << sw;
	}
	return word;
}

static bool anything_moves(const struct yard *yard)
{
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		if (td_axis_moving(&yard->core.axis[axis], &yard->rules.axis[axis], yard->core.now_ns))
			return true;
	return false;
}

/* --- faults ----------------------------------------------------------------------------------------------- */

void yard_break_something(struct yard *yard)
{
	static const enum fault of_switch[] = {FAULT_BROKEN, FAULT_WELDED, FAULT_CHATTER};
	static const enum fault of_gear[] = {FAULT_JAM, FAULT_BACKWARD, FAULT_SLOW};

	for (int i = 0; i < 3; i++) {
		uint8_t sw = (uint8_t)dice_below(&yard->dice, RULE_SWITCHES);
		uint8_t axis = (uint8_t)dice_below(&yard->dice, RULE_AXES);

		if (yard_strikes(yard, of_switch[i]))
			yard->sick_until_ns[sw][of_switch[i]] = yard->now_ns + yard_up_to(yard, TD_S(20));
		if (yard_strikes(yard, of_gear[i]))
			yard->gear[axis].until_ns[of_gear[i]] = yard->now_ns + yard_up_to(yard, TD_S(20));
	}
	if (yard_strikes(yard, FAULT_LATE))
		yard->asleep_until_ns = yard->now_ns + yard_up_to(yard, TD_S(3));
	if (yard_strikes(yard, FAULT_LINES))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_LINES_LOST});
}

/* --- time ------------------------------------------------------------------------------------------------- */

/* Levels are polled while anything moves; edges, where they are not lost, tell sooner. */
static void look(struct yard *yard)
{
	uint32_t levels = yard_read_levels(yard);

	if (levels == yard->levels || yard_strikes(yard, FAULT_EDGE)) {
		yard_step(yard, (struct td_event){.kind = TD_EVENT_TIME});
		return;
	}
	yard->levels = levels;
	yard_step(yard, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels});
}

void yard_time_passes(struct yard *yard)
{
	td_ns next_ns = yard->now_ns + yard_up_to(yard, anything_moves(yard) ? TD_MS(5) : TD_MS(50));

	if (yard_strikes(yard, FAULT_JUMP))
		next_ns += yard_up_to(yard, TD_S(1000));
	while (yard->now_ns >= yard->asleep_until_ns && yard->result.deadline_ns < next_ns) {
		yard->now_ns =
			yard->result.deadline_ns > yard->now_ns ? yard->result.deadline_ns : yard->now_ns;
		yard_step(yard, (struct td_event){.kind = TD_EVENT_TIME});
	}
	if (next_ns > yard->now_ns)
		yard->now_ns = next_ns;
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		follow(yard, axis, yard->monitor.outputs);
	if (yard->now_ns >= yard->asleep_until_ns)
		look(yard);
}

/* A turn of the cart takes ten seconds, and its cable bears a fifth to either side. */
static struct td_cable_rules cable(void)
{
	struct td_cable_rules cable = {
		.twist = {.source = TD_TWIST_ESTIMATE, .limit_uturn = 200000, .doubt_ppm = 10000},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
	};

	for (int way = 0; way < TD_WAYS; way++) {
		cable.twist.rate_ppm_s[way][TD_TWIST_LEFT] = way == 1 ? 100000 : -100000;
		cable.twist.rate_ppm_s[way][TD_TWIST_RIGHT] = way == 1 ? -100000 : 100000;
	}
	return cable;
}

/* The cart, with a supply that does not bear everything, a drive that must rest and a cable that twists. */
static struct td_rules working_cart(void)
{
	struct td_rules rules = rule_cart();

	rules.cable = cable();
	rules.supply.budget_ma = 3000;
	rules.supply.gap_ns = TD_MS(100);
	rules.supply.axis[RULE_BOOM] = (struct td_supply_axis_rules){1400, 600, TD_MS(200)};
	rules.supply.axis[RULE_WHEEL] = (struct td_supply_axis_rules){400, 200, TD_MS(100)};
	rules.supply.axis[RULE_DRIVE] = (struct td_supply_axis_rules){2500, 1200, TD_MS(300)};
	rules.supply.axis[RULE_VENT] = (struct td_supply_axis_rules){700, 300, TD_MS(200)};
	rules.axis[RULE_DRIVE].duty.allowed_ns[0] = TD_S(12);
	for (int sw = 0; sw < RULE_SWITCHES; sw++)
		rules.sw[sw].chatter = (struct td_chatter_rules){6, TD_S(1)};
	return rules;
}

void yard_start(struct yard *yard)
{
	memset(yard, 0, sizeof(*yard));
	yard->dice = dice_start(20261125);
	yard->rules = working_cart();
	assert_int_equal(td_rules_check(&yard->rules).fault, TD_RULES_OK);
	td_core_init(&yard->core, &yard->rules, 0);
	td_monitor_init(&yard->monitor, &yard->rules, 0);
	yard->result.deadline_ns = TD_NEVER;
	yard->now_ns = 1;
	for (int i = 0; i < YARD_CLIENTS; i++)
		yard->client[i].session = ++yard->sessions;
}
