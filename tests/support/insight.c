/* SPDX-License-Identifier: MIT */
#include "tests/support/insight.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "core/monitor_parts.h"
#include "core/step.h"
#include "core/travel.h"

/* R18: nothing that would add twist beyond the limit is powered. */
static void check_twist(struct insight *insight, const struct td_rules *rules, const struct td_core *core,
			const struct td_monitor *monitor, uint32_t outputs)
{
	uint8_t drive = rules->cable.drive;

	if (rules->cable.twist.source == TD_TWIST_UNLIMITED)
		return;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		bool blocked = td_cable_blocks(core, rules, drive, way);
		bool certain = td_monitor_twists(monitor, rules, drive, way);

		assert_false(blocked && (outputs >> (drive * TD_WAYS + way) & 1) != 0);
		assert_false(certain && !blocked);
		insight->blocked += blocked;
		insight->certain += certain;
	}
}

/* R4, R5, R6, R8: where it stands, and how far it was powered. */
static void check_place(const struct td_rules *rules, const struct td_core *core,
			const struct td_monitor *monitor, uint8_t axis)
{
	const struct td_axis *self = &core->axis[axis];

	assert_false(monitor->axis[axis].lost && self->located);
	if (self->state == TD_AXIS_TRIPPED)
		return; /* the monitor need not know, until it is reset */
	assert_false(monitor->axis[axis].located && !self->located);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		td_ns spent_ns = td_travel_spent(self, &rules->axis[axis], way, core->now_ns);
		struct td_monitor_spent range =
			td_monitor_spent_range(monitor, rules, axis, way, core->now_ns);

		assert_true(range.least_ns <= spent_ns && spent_ns <= range.most_ns);
	}
}

/* R11 */
static void check_trips(struct insight *insight, const struct td_core *core, const struct td_monitor *monitor,
			uint8_t axis)
{
	bool tripped = core->axis[axis].state == TD_AXIS_TRIPPED;

	assert_false(monitor->axis[axis].tripped && !tripped);
	insight->tripped += tripped;
	insight->known += monitor->axis[axis].tripped;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		assert_false(monitor->axis[axis].way[way].locked && !td_lock_holds(core, axis, way));
}

static void count_early(struct insight *insight, const struct td_monitor *monitor,
			const struct td_result *result)
{
	for (uint16_t i = 0; i < result->news_count; i++) {
		if (result->news[i].cause != TD_CAUSE_END_TOO_EARLY)
			continue;
		insight->early++;
		insight->noticed += monitor->axis[result->news[i].axis].tripped;
	}
}

void insight_check(struct insight *insight, const struct td_rules *rules, const struct td_core *core,
		   const struct td_monitor *monitor, const struct td_result *result)
{
	check_twist(insight, rules, core, monitor, result->outputs);
	for (uint8_t axis = 0; axis < rules->axes; axis++) {
		check_place(rules, core, monitor, axis);
		check_trips(insight, core, monitor, axis);
		insight->pardoned += monitor->axis[axis].pardon.taken &&
				     (monitor->axis[axis].way[0].rises || monitor->axis[axis].way[1].rises);
	}
	count_early(insight, monitor, result);
}

void insight_add(struct insight *sum, const struct insight *insight)
{
	sum->blocked += insight->blocked;
	sum->certain += insight->certain;
	sum->early += insight->early;
	sum->noticed += insight->noticed;
	sum->tripped += insight->tripped;
	sum->known += insight->known;
	sum->pardoned += insight->pardoned;
}

static double percent(size_t part, size_t whole)
{
	return whole > 0 ? 100.0 * (double)part / (double)whole : 0;
}

void insight_print(const struct insight *insight)
{
	printf("# measured: the monitor is certain of %.0f %% of the tripped axes, of %.0f %% of the twisted "
	       "ways,\n",
	       percent(insight->known, insight->tripped), percent(insight->certain, insight->blocked));
	printf("#   of %zu of %zu ends too early, of %zu resets by visitors, and never wrongly\n",
	       insight->noticed, insight->early, insight->pardoned);
}
