/* SPDX-License-Identifier: MIT */
#include "core/monitor_parts.h"

static bool weightless(const struct td_supply_axis_rules *rules)
{
	return rules->start_ma == 0 && rules->run_ma == 0;
}

static bool powered(const struct td_monitor_axis *axis)
{
	return axis->way[0].on || axis->way[1].on;
}

/* It may still turn the other way. */
static bool may_turn(const struct td_monitor_axis *axis, const struct td_axis_rules *rules, uint8_t way,
		     td_ns now_ns)
{
	return axis->last_way == 1 - way &&
	       td_time_between(axis->cut_ns, now_ns) < td_time_after(rules->dead_ns, rules->rest_ns);
}

void td_monitor_load_start(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis,
			   uint8_t way)
{
	struct td_monitor_load *self = &monitor->axis[axis].load;
	td_ns gap_ns = rules->supply.gap_ns;

	*self = (struct td_monitor_load){
		.since_ns = monitor->now_ns,
		.reversal = may_turn(&monitor->axis[axis], &rules->axis[axis], way, monitor->now_ns),
	};
	if (weightless(&rules->supply.axis[axis]))
		return;
	self->lead_ns = td_time_between(monitor->start_ns, monitor->now_ns);
	self->gap_ns = monitor->gap_ns;
	monitor->start_ns = monitor->now_ns;
	monitor->gap_ns = self->reversal ? td_time_after(gap_ns, gap_ns) : gap_ns;
}

static uint64_t weight_ma(const struct td_monitor_axis *axis, const struct td_supply_axis_rules *rules,
			  uint64_t budget_ma, td_ns now_ns)
{
	uint64_t start_ma = rules->start_ma;

	if (!powered(axis))
		return 0;
	if (td_time_between(axis->load.since_ns, now_ns) >= rules->start_ns)
		return rules->run_ma;
	if (!axis->load.reversal)
		return start_ma;
	return 2 * start_ma < budget_ma ? 2 * start_ma : budget_ma;
}

bool td_monitor_overload(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	const struct td_supply_rules *supply = &rules->supply;
	uint64_t sum_ma = 0;

	if (weightless(&supply->axis[axis]))
		return false;
	for (uint8_t i = 0; i < td_monitor_axes(rules); i++)
		sum_ma += weight_ma(&monitor->axis[i], &supply->axis[i], supply->budget_ma, monitor->now_ns);
	return sum_ma > supply->budget_ma;
}
