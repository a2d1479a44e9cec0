/* SPDX-License-Identifier: MIT */
/*
 * Stands in for lib/core/duty.c and lib/core/supply.c. Their arithmetic decides when an axis may start and when it
 * has to be cut; here every answer is any answer at any time, so what is proven holds whatever they say. Of their
 * state only what they were told last is kept: what is powered and who stands in line. prove_supply.c looks at the
 * real supply.
 */
#include "tests/proof/load.h"

#include "tests/proof/proof.h"

struct proof_load proof_load = {.cut_ns = 0, .duty_free = false, .supply_grants = false};

bool td_duty_rules_ok(const struct td_duty_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_duty_init(struct td_duty *duty, td_ns now_ns)
{
	(void)now_ns;
	duty->powered = 0;
}

void td_duty_power(struct td_duty *duty, const struct td_duty_rules *rules, bool powered, td_ns now_ns)
{
	(void)rules;
	(void)now_ns;
	duty->powered = powered;
}

struct td_duty_verdict td_duty_may_start(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	struct td_duty_verdict verdict = {(enum td_duty_limit)nondet_word(), nondet_ns()};

	(void)duty;
	(void)rules;
	(void)now_ns;
	proof_load.duty_free = verdict.limit == TD_DUTY_FREE;
	return verdict;
}

struct td_duty_verdict td_duty_cut(const struct td_duty *duty, const struct td_duty_rules *rules)
{
	struct td_duty_verdict verdict = {(enum td_duty_limit)nondet_word(), nondet_ns()};

	(void)duty;
	(void)rules;
	proof_load.cut_ns = verdict.at_ns;
	return verdict;
}

bool td_supply_rules_ok(const struct td_supply_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_supply_init(struct td_supply *supply)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		supply->axis[axis].state = TD_SUPPLY_OFF;
}

void td_supply_ask(struct td_supply *supply, uint8_t axis, bool reversal)
{
	(void)reversal;
	if (axis < TD_AXES_MAX && supply->axis[axis].state == TD_SUPPLY_OFF)
		supply->axis[axis].state = TD_SUPPLY_IN_LINE;
}

enum td_supply_answer td_supply_answer(const struct td_supply *supply, const struct td_supply_rules *rules,
				       uint8_t axis, td_ns now_ns)
{
	enum td_supply_answer answer = (enum td_supply_answer)nondet_word();

	(void)rules;
	(void)now_ns;
	if (axis >= TD_AXES_MAX || supply->axis[axis].state != TD_SUPPLY_IN_LINE)
		answer = TD_SUPPLY_NOT_ASKED;
	proof_load.supply_grants = answer == TD_SUPPLY_START;
	return answer;
}

void td_supply_started(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis, td_ns now_ns)
{
	(void)rules;
	(void)now_ns;
	if (axis < TD_AXES_MAX)
		supply->axis[axis].state = TD_SUPPLY_POWERED;
}

void td_supply_stopped(struct td_supply *supply, uint8_t axis)
{
	if (axis < TD_AXES_MAX)
		supply->axis[axis].state = TD_SUPPLY_OFF;
}

td_ns td_supply_deadline(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns)
{
	td_ns deadline_ns = nondet_ns();

	(void)supply;
	(void)rules;
	ASSUME(deadline_ns > now_ns);
	return deadline_ns;
}
