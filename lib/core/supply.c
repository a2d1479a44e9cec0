/* SPDX-License-Identifier: MIT */
#include "core/supply.h"

#include <string.h>

static bool axis_ok(const struct td_supply_axis_rules *axis, uint32_t budget_ma)
{
	return axis->run_ma <= axis->start_ma && axis->start_ma <= budget_ma && axis->start_ns >= 0 &&
	       axis->start_ns <= TD_SUPPLY_START_MAX_NS;
}

bool td_supply_rules_ok(const struct td_supply_rules *rules)
{
	bool ok = rules->axes >= 1 && rules->axes <= TD_AXES_MAX && rules->budget_ma >= 1 &&
		  rules->budget_ma <= TD_SUPPLY_WEIGHT_MAX_MA && rules->gap_ns >= 0 &&
		  rules->gap_ns <= TD_SUPPLY_GAP_MAX_NS;

	for (uint8_t axis = 0; ok && axis < rules->axes; axis++)
		ok = axis_ok(&rules->axis[axis], rules->budget_ma);
	return ok;
}

void td_supply_init(struct td_supply *supply)
{
	memset(supply, 0, sizeof(*supply));
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		supply->axis[axis].state = TD_SUPPLY_OFF;
}

static bool in_line(const struct td_supply *supply, uint8_t axis)
{
	return supply->axis[axis].state == TD_SUPPLY_IN_LINE;
}

/* Whatever is neither off nor in line counts as powered. */
static bool powered(const struct td_supply *supply, uint8_t axis)
{
	return supply->axis[axis].state != TD_SUPPLY_OFF && !in_line(supply, axis);
}

/* Two starts for a reversal, but never more than there is. */
static uint64_t start_weight_ma(const struct td_supply *supply, const struct td_supply_rules *rules,
				uint8_t axis)
{
	uint64_t start_ma = rules->axis[axis].start_ma;

	if (supply->axis[axis].reversal == 0 || start_ma > rules->budget_ma)
		return start_ma;
	return 2 * start_ma < rules->budget_ma ? 2 * start_ma : rules->budget_ma;
}

static td_ns window_end_ns(const struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis)
{
	return td_time_after(supply->axis[axis].since_ns, rules->axis[axis].start_ns);
}

static uint64_t drawn_ma(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns)
{
	uint64_t sum_ma = 0;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		if (!powered(supply, axis))
			continue;
		sum_ma += now_ns < window_end_ns(supply, rules, axis) ? start_weight_ma(supply, rules, axis)
								      : rules->axis[axis].run_ma;
	}
	return sum_ma;
}

uint32_t td_supply_drawn_ma(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns)
{
	uint64_t sum_ma = drawn_ma(supply, rules, now_ns);

	return sum_ma < UINT32_MAX ? (uint32_t)sum_ma : UINT32_MAX;
}

static bool fits(const struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
		 uint64_t others_ma)
{
	return start_weight_ma(supply, rules, axis) + others_ma <= rules->budget_ma;
}

/* Nothing to watch over: such an axis neither waits nor makes others wait. */
static bool weightless(const struct td_supply_rules *rules, uint8_t axis)
{
	return rules->axis[axis].start_ma == 0 && rules->axis[axis].run_ma == 0;
}

static bool waits_longer(const struct td_supply *supply, uint8_t other, uint8_t axis)
{
	return in_line(supply, other) && supply->axis[other].ticket < supply->axis[axis].ticket;
}

/* Somebody who has waited longer could start, or may not be overtaken any more. */
static bool must_let_pass(const struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
			  uint64_t others_ma)
{
	for (uint8_t other = 0; other < TD_AXES_MAX; other++)
		if (waits_longer(supply, other, axis) && !weightless(rules, other) &&
		    (supply->axis[other].overtaken >= TD_SUPPLY_OVERTAKEN_MAX ||
		     fits(supply, rules, other, others_ma)))
			return true;
	return false;
}

enum td_supply_answer td_supply_answer(const struct td_supply *supply, const struct td_supply_rules *rules,
				       uint8_t axis, td_ns now_ns)
{
	if (axis >= TD_AXES_MAX || axis >= rules->axes || !in_line(supply, axis))
		return TD_SUPPLY_NOT_ASKED;
	if (weightless(rules, axis))
		return TD_SUPPLY_START;
	uint64_t others_ma = drawn_ma(supply, rules, now_ns);

	if (!fits(supply, rules, axis, others_ma))
		return TD_SUPPLY_WAIT_LOAD;
	if (must_let_pass(supply, rules, axis, others_ma))
		return TD_SUPPLY_WAIT_LINE;
	return now_ns < supply->next_start_ns ? TD_SUPPLY_WAIT_GAP : TD_SUPPLY_START;
}

void td_supply_ask(struct td_supply *supply, uint8_t axis, bool reversal)
{
	if (axis >= TD_AXES_MAX)
		return;
	if (in_line(supply, axis) && reversal)
		supply->axis[axis].reversal = 1;
	if (supply->axis[axis].state != TD_SUPPLY_OFF)
		return;
	supply->axis[axis] = (struct td_supply_axis){
		.state = TD_SUPPLY_IN_LINE, .reversal = reversal, .ticket = supply->tickets};
	if (supply->tickets < UINT64_MAX)
		supply->tickets++;
}

/* Those it overtakes remember it. */
static void leave_line(struct td_supply *supply, uint8_t axis)
{
	for (uint8_t other = 0; other < TD_AXES_MAX && in_line(supply, axis); other++)
		if (waits_longer(supply, other, axis) && supply->axis[other].overtaken < UINT8_MAX)
			supply->axis[other].overtaken++;
}

void td_supply_started(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
		       td_ns now_ns)
{
	if (axis >= TD_AXES_MAX)
		return;
	struct td_supply_axis *self = &supply->axis[axis];

	if (!weightless(rules, axis)) {
		td_ns gap_ns = td_time_after(0, rules->gap_ns);
		td_ns next_ns = td_time_after(now_ns, gap_ns);

		if (self->reversal != 0)
			next_ns = td_time_after(next_ns, gap_ns);

		leave_line(supply, axis);
		if (next_ns > supply->next_start_ns)
			supply->next_start_ns = next_ns;
	}
	self->state = TD_SUPPLY_POWERED;
	self->since_ns = now_ns;
}

void td_supply_stopped(struct td_supply *supply, uint8_t axis)
{
	if (axis < TD_AXES_MAX)
		supply->axis[axis] = (struct td_supply_axis){.state = TD_SUPPLY_OFF};
}

td_ns td_supply_deadline(const struct td_supply *supply, const struct td_supply_rules *rules, td_ns now_ns)
{
	td_ns deadline_ns = supply->next_start_ns > now_ns ? supply->next_start_ns : TD_NEVER;
	bool anybody = false;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		anybody = anybody || in_line(supply, axis);
		if (powered(supply, axis) && window_end_ns(supply, rules, axis) > now_ns)
			deadline_ns = td_time_earlier(deadline_ns, window_end_ns(supply, rules, axis));
	}
	return anybody ? deadline_ns : TD_NEVER;
}
