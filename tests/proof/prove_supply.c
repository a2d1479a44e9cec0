/* SPDX-License-Identifier: MIT */
/*
 * R13 with the real lib/core/supply.c, any bytes as state: a start is granted only to who stands in line, when its
 * weight fits beside everything that is powered, and after the gap; and what load_abstract.c promises is so.
 */
#include "core/supply.h"
#include "tests/proof/proof.h"

struct td_supply nondet_supply(void);

static uint8_t state_of(const struct td_supply *supply, uint8_t axis)
{
	return supply->axis[axis].state;
}

static void claim_granted(const struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
			  td_ns now_ns)
{
	bool weighs = rules->axis[axis].start_ma != 0 || rules->axis[axis].run_ma != 0;

	CLAIM(state_of(supply, axis) == TD_SUPPLY_IN_LINE, "R13: only who stands in line may start");
	if (!weighs)
		return;
	CLAIM(now_ns >= supply->next_start_ns, "R13: a start keeps the gap");
	CLAIM((uint64_t)td_supply_drawn_ma(supply, rules, now_ns) + rules->axis[axis].start_ma <= rules->budget_ma,
	      "R13: a start fits beside what is powered");
}

static void claim_told(struct td_supply supply, const struct td_supply_rules *rules, uint8_t axis, td_ns now_ns)
{
	uint8_t before = state_of(&supply, axis);
	uint8_t other = (uint8_t)(1 - axis);
	uint8_t beside = state_of(&supply, other);

	td_supply_ask(&supply, axis, nondet_bool());
	CLAIM(state_of(&supply, axis) == (before == TD_SUPPLY_OFF ? TD_SUPPLY_IN_LINE : before), "who asks stands in line");
	td_supply_started(&supply, rules, axis, now_ns);
	CLAIM(state_of(&supply, axis) == TD_SUPPLY_POWERED, "who started is powered");
	td_supply_stopped(&supply, axis);
	CLAIM(state_of(&supply, axis) == TD_SUPPLY_OFF, "who stopped is off");
	CLAIM(state_of(&supply, other) == beside, "the other axis is not touched");
	td_supply_init(&supply);
	CLAIM(state_of(&supply, 0) == TD_SUPPLY_OFF && state_of(&supply, 1) == TD_SUPPLY_OFF, "at the start all is off");
}

/* From `now_ns` to just before the deadline nobody's turn comes by time alone. */
static void claim_deadline(const struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis, td_ns now_ns)
{
	td_ns until_ns = td_supply_deadline(supply, rules, now_ns);
	td_ns at_ns = nondet_ns();

	ASSUME(at_ns >= now_ns && at_ns < until_ns && at_ns <= TD_NEVER / 2);
	CLAIM(td_supply_answer(supply, rules, axis, now_ns) == TD_SUPPLY_START ||
		      td_supply_answer(supply, rules, axis, at_ns) != TD_SUPPLY_START,
	      "R13: no start is granted by time alone before the deadline");
}

int main(void)
{
	struct td_supply supply = nondet_supply();
	const struct td_rules any = nondet_rules();
	const struct td_supply_rules *rules = &any.supply;
	td_ns now_ns = nondet_ns();

	ASSUME(td_supply_rules_ok(rules) && rules->axes == TD_AXES_MAX && now_ns >= 0 && now_ns <= TD_NEVER / 2);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		if (td_supply_answer(&supply, rules, axis, now_ns) == TD_SUPPLY_START)
			claim_granted(&supply, rules, axis, now_ns);
		claim_told(supply, rules, axis, now_ns);
	}
	CLAIM(td_supply_deadline(&supply, rules, now_ns) > now_ns, "the next look at the line lies ahead");
	claim_deadline(&supply, rules, nondet_bool() ? 1 : 0, now_ns);
	return 0;
}
