/* SPDX-License-Identifier: MIT */
/* The rules as they hold of a whole step: of the state it ends with, beside the one it began with. */
#include "tests/proof/course.h"
#include "tests/proof/proof.h"

void link_claims(const struct td_step *after, const struct td_core *begun);

/* For short. */
static const struct td_step *step;
static const struct td_event *event;
static const struct td_rules *rules;
static const struct td_core *from;
static const struct td_core *core;

/* What td_core_step() makes of the state at the end (prove_sequence.c). */
static bool on(uint8_t axis, uint8_t way)
{
	return powered(&core->axis[axis], way);
}

static void claim_powered(uint8_t axis, uint8_t way)
{
	const struct td_axis *was = &from->axis[axis];
	const struct td_axis *is = &core->axis[axis];
	const struct td_way_rules *own = &rules->axis[axis].way[way];

	CLAIM(!powered(was, (uint8_t)(1 - way)), "R1: one step never goes from way to way");
	CLAIM(!active(core, own->end_switch), "R2: no power toward an active end");
	CLAIM(is->hold.lease_end_ns > core->now_ns, "R7: no power after the lease");
	CLAIM(is->hold.lease_end_ns - core->now_ns <= TD_LEASE_MAX_NS, "R7: no lease beyond the longest");
	CLAIM(!chatters(core, own->end_switch), "R8: no power toward an end that chatters");
	CLAIM(core->latch == 0, "R10: latched is off");
	CLAIM(is->state != TD_AXIS_TRIPPED && was->state != TD_AXIS_TRIPPED, "R11: tripped is off, and a trip is not followed by power");
	CLAIM(!locked(core, axis, way), "R11: a locked way is off");
	CLAIM(event_is(step, TD_EVENT_REQUEST) || held(was), "R11: only a request makes a hold: no reset, no arming, no time");
	CLAIM(core->duty[axis].powered == 1, "R12: duty knows what is powered");
	CLAIM(core->armed && from->armed, "R14: not armed is off, and arming moves nothing");
	CLAIM(!event_is(step, TD_EVENT_LINES_LOST), "R15: lost lines are off");
}

static void claim_limits(uint8_t axis, uint8_t way)
{
	const struct td_axis *is = &core->axis[axis];
	const struct td_way_rules *own = &rules->axis[axis].way[way];
	td_ns spent_ns = td_time_after(is->spent_ns[way], td_time_between(is->since_ns, core->now_ns));

	CLAIM(spent_ns < own->limit_ns, "R4, R6: no power beyond the limit of the way");
	CLAIM(!active(core, rules->axis[axis].way[1 - way].end_switch) || spent_ns < own->leave_ns,
	      "R5: no power beyond the time an end has to clear");
	CLAIM(!powered(&from->axis[axis], way) || is->since_ns == from->axis[axis].since_ns,
	      "R4, R6: a run that goes on counts from its start");
}

/* It was low before. */
static void claim_start(uint8_t axis, uint8_t way)
{
	const struct td_axis *was = &from->axis[axis];
	const struct td_axis *is = &core->axis[axis];
	const struct td_axis_rules *own = &rules->axis[axis];
	bool asked = event_is(step, TD_EVENT_REQUEST) && event->seq == 0 && event->axis == axis && event->way == way &&
		     heard(step) > from->stop_ns[axis];

	CLAIM(passed(was->way_cut_ns[1 - way], core->now_ns, own->dead_ns), "R3: dead time since the other way");
	CLAIM(passed(was->way_cut_ns[way], core->now_ns, own->rest_ns), "R3: rest since the same way");
	CLAIM(!maybe_active(core, own->way[way].end_switch), "R2: no start toward an end that may be active");
	CLAIM(asked || (was->state == TD_AXIS_WAIT && was->way == way && same_holder(was, is)),
	      "R7, R11: power rises for a request that no stop overtook, or for one that waits");
}

static void claim_events(uint8_t axis)
{
	const struct td_axis *was = &from->axis[axis];
	const struct td_axis *is = &core->axis[axis];

	if (event_is(step, TD_EVENT_STOP) && (event->axis == axis || event->axis >= rules->axes))
		CLAIM(!held(is), "R7: a stop ends what it names");
	if ((event_is(step, TD_EVENT_GONE) || event_is(step, TD_EVENT_TURN_OVER)) && was->hold.session == event->session)
		CLAIM(!held(is), "R7: who goes away, or whose turn ends, holds nothing");
	if (event_is(step, TD_EVENT_RELEASE) && event->axis == axis && was->hold.session == event->session &&
	    was->hold.number == event->hold)
		CLAIM(!held(is), "R7: what is let go is over");
	if (event_is(step, TD_EVENT_LINES_LOST) || event_is(step, TD_EVENT_BREACH))
		CLAIM(is->state == TD_AXIS_TRIPPED, "R11, R15: lost lines and a breach trip");
	CLAIM(core->stop_ns[axis] >= from->stop_ns[axis], "R7: a stop is not forgotten");
}

static void claim_axis(uint8_t axis)
{
	const struct td_axis *was = &from->axis[axis];
	const struct td_axis *is = &core->axis[axis];
	const struct td_way_rules *way = rules->axis[axis].way;
	bool keeper = event_is(step, TD_EVENT_RESET) && event->role == TD_ROLE_KEEPER;

	for (uint8_t each = 0; each < TD_WAYS; each++) {
		if (on(axis, each)) {
			claim_powered(axis, each);
			claim_limits(axis, each);
		}
		if (on(axis, each) && !powered(was, each))
			claim_start(axis, each);
		CLAIM(!locked(from, axis, each) || locked(core, axis, each) || keeper,
		      "R11: only the keeper takes a lock away");
	}
	claim_events(axis);
	CLAIM(!(active(core, way[0].end_switch) && active(core, way[1].end_switch)) || is->state == TD_AXIS_TRIPPED,
	      "R8: both ends at once trip");
	CLAIM(was->state != TD_AXIS_TRIPPED || is->state == TD_AXIS_TRIPPED || event_is(step, TD_EVENT_RESET),
	      "R11: only a reset clears a trip");
}

static void claim_machine(void)
{
	bool cleared = (from->latch & ~core->latch) != 0;
	bool quiet = true;

	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		quiet = quiet && !on(axis, 0) && !on(axis, 1);
	CLAIM(core->now_ns >= from->now_ns, "time does not run back");
	CLAIM(core->latch == 0 || quiet, "R10: latched is off");
	CLAIM(!cleared || (event_is(step, TD_EVENT_RESET) && event->role == TD_ROLE_KEEPER &&
			   event->axis == TD_ALL_AXES && quiet),
	      "R10: only a keeper's reset clears the latch, and it moves nothing");
	CLAIM(!cleared || !maybe_active(core, rules->stop_switch), "R10: nor while the demand is there");
	CLAIM(!event_is(step, TD_EVENT_LATCH) || (core->latch != 0 && quiet), "R10: the latched stop is off at once");
	CLAIM(!active(core, rules->stop_switch) || (core->latch != 0 && quiet), "R10: so is the emergency-stop input");
	for (uint8_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		CLAIM(!core->levels_known || !core->sw[sw].raw || core->sw[sw].active ||
			      !passed(core->sw[sw].since_ns, core->now_ns, rules->sw[sw].confirm_ns),
		      "R2, R9: what was active for the confirm time is active");
}

void link_claims(const struct td_step *after, const struct td_core *begun)
{
	step = after;
	event = after->event;
	rules = after->rules;
	core = after->core;
	from = begun;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		claim_axis(axis);
	claim_machine();
}
