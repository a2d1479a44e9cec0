/* SPDX-License-Identifier: MIT */
/*
 * Stands in for what counts and remembers over longer times: contacts that chatter (R8), visitors' resets (R11), travel
 * times, wear and the twist of the cable (R18). Any contact may turn out to chatter at any change, any visitor may or may not have a reset left,
 * and what was learned decides nothing.
 */
#include "core/step.h"
#include "tests/proof/proof.h"

bool proof_twisted[TD_WAYS] = {true, true};

bool td_chatter_rules_ok(const struct td_chatter_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_chatter_start(struct td_chatter *chatter)
{
	(void)chatter;
}

bool td_chatter_change(struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns)
{
	bool marks = !chatter->marked && nondet_bool();

	(void)rules;
	(void)now_ns;
	chatter->marked = chatter->marked || marks;
	return marks;
}

bool td_chatter_restless(const struct td_chatter *chatter, const struct td_chatter_rules *rules, td_ns now_ns)
{
	(void)rules;
	(void)now_ns;
	return chatter->marked && nondet_bool();
}

void td_chatter_forgive(struct td_chatter *chatter)
{
	chatter->marked = false;
}

bool td_quota_take(struct td_quota *quota, uint8_t limit, td_ns now_ns)
{
	(void)quota;
	(void)limit;
	(void)now_ns;
	return nondet_bool();
}

bool td_trend_rules_ok(const struct td_trend_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_wear_power(struct td_wear *wear, uint8_t way, td_ns now_ns)
{
	(void)wear;
	(void)way;
	(void)now_ns;
}

void td_pace_started(struct td_step *step, uint8_t axis)
{
	(void)step;
	(void)axis;
}

void td_pace_arrived(struct td_step *step, uint8_t axis)
{
	if (nondet_bool())
		td_report(step, TD_CAUSE_WAY_SLOWER, axis, TD_NO_WAY, TD_NO_SWITCH);
}

bool td_twist_rules_ok(const struct td_twist_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_cable_blocks(const struct td_core *core, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	(void)core;
	(void)rules;
	(void)axis;

	bool twisted = nondet_bool();

	if (way < TD_WAYS)
		proof_twisted[way] = twisted;
	return twisted;
}

enum td_cause td_cable_untwisted(struct td_step *step)
{
	(void)step;
	return nondet_bool() ? TD_CAUSE_UNTWISTED : TD_CAUSE_NOT_ALLOWED;
}

void td_twist_straighten(struct td_twist *twist)
{
	(void)twist;
}

void td_cable_drive(struct td_step *step)
{
	(void)step;
}

void td_cable_feel(struct td_step *step)
{
	(void)step;
}

void td_cable_watch(struct td_step *step)
{
	(void)step;
}

td_ns td_cable_deadline(const struct td_core *core, const struct td_rules *rules)
{
	(void)core;
	(void)rules;
	return nondet_ns();
}
