/* SPDX-License-Identifier: MIT */
#include <stddef.h>

#include "core/monitor_parts.h"

/* Every claim of an axis, the crowd last. */
enum { CLAIMS = TD_MONITOR_CLAIMS + 1 };

static struct td_monitor_claim *claim_at(struct td_monitor_axis *axis, int index)
{
	return index < TD_MONITOR_CLAIMS ? &axis->claim[index] : &axis->crowd;
}

static void end(struct td_monitor_axis *axis, struct td_monitor_claim *claim, td_ns at_ns)
{
	if (!claim->live)
		return;
	claim->live = false;
	claim->covers = false;
	axis->ended_ns = at_ns;
}

void td_monitor_expire(struct td_monitor_axis *axis, td_ns now_ns)
{
	for (int i = 0; i < CLAIMS; i++)
		if (claim_at(axis, i)->until_ns <= now_ns)
			end(axis, claim_at(axis, i), claim_at(axis, i)->until_ns);
}

void td_monitor_end_all(struct td_monitor_axis *axis, td_ns now_ns)
{
	for (int i = 0; i < CLAIMS; i++)
		end(axis, claim_at(axis, i), now_ns);
}

void td_monitor_end_hold(struct td_monitor_axis *axis, uint32_t session, uint32_t number, td_ns now_ns)
{
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (axis->claim[i].session == session && axis->claim[i].number == number)
			end(axis, &axis->claim[i], now_ns);
}

void td_monitor_end_session(struct td_monitor_axis *axis, uint32_t session, td_ns now_ns)
{
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (axis->claim[i].session == session)
			end(axis, &axis->claim[i], now_ns);
}

/* --- what a request is worth ---------------------------------------------------------------------- */

static td_ns until_ns(const struct td_monitor *monitor, const struct td_event *event)
{
	return td_time_after(td_monitor_heard(monitor, event), event->lease_ns);
}

static void deny(struct td_monitor *monitor, const struct td_event *event, enum td_breach as)
{
	struct td_monitor_axis *axis = &monitor->axis[event->axis];

	axis->denied_until_ns = until_ns(monitor, event);
	axis->denied_way = event->way;
	axis->denied_as = as;
}

static bool well_formed(const struct td_event *event)
{
	return event->session != 0 && event->hold != 0 && event->lease_ns >= TD_LEASE_MIN_NS &&
	       event->lease_ns <= TD_LEASE_MAX_NS;
}

/* R7: heard after the last stop, and its lease is not over yet. */
static bool in_time(const struct td_monitor *monitor, const struct td_event *event)
{
	return until_ns(monitor, event) > monitor->now_ns &&
	       td_monitor_heard(monitor, event) > monitor->axis[event->axis].stop_ns;
}

static struct td_monitor_claim *find(struct td_monitor_axis *axis, uint32_t session)
{
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (axis->claim[i].session == session)
			return &axis->claim[i];
	return NULL;
}

/* Whether a reset overtook it depends on whether there was anything to reset. */
static bool perhaps_overtaken(const struct td_monitor *monitor, const struct td_event *event)
{
	return td_monitor_heard(monitor, event) <= monitor->axis[event->axis].doubt_ns;
}

static void extend(struct td_monitor_claim *claim, td_ns until)
{
	if (claim->until_ns < until)
		claim->until_ns = until;
}

static void renew(struct td_monitor *monitor, const struct td_event *event)
{
	struct td_monitor_axis *axis = &monitor->axis[event->axis];
	struct td_monitor_claim *claim = find(axis, event->session);

	if (axis->crowd.live)
		extend(&axis->crowd, until_ns(monitor, event)); /* it may be one of them who asks */
	if (!claim || !claim->live || claim->number != event->hold) {
		deny(monitor, event, TD_BREACH_HOLD_ENDED);
	} else if (claim->way != event->way || event->seq <= claim->seq) {
		deny(monitor, event, TD_BREACH_REQUEST_REFUSED);
	} else if (claim->vague || perhaps_overtaken(monitor, event)) {
		claim->vague = true;
		extend(claim, until_ns(monitor, event));
	} else {
		claim->seq = event->seq;
		claim->until_ns = until_ns(monitor, event);
	}
}

void td_monitor_request(struct td_monitor *monitor, const struct td_rules *rules,
			const struct td_event *event)
{
	if (event->axis >= td_monitor_axes(rules) || event->way >= TD_WAYS)
		return;
	td_monitor_restore(monitor, rules, event->axis);
	if (!well_formed(event) || !in_time(monitor, event))
		deny(monitor, event, TD_BREACH_REQUEST_REFUSED);
	else if (event->seq > 0)
		renew(monitor, event);
	else
		monitor->asked = true;
}

/* --- the start of a hold -------------------------------------------------------------------------- */

/* R11: a hold number is used once. */
static bool used(const struct td_monitor_axis *axis, const struct td_event *event)
{
	return axis->last_session == event->session && event->hold <= axis->last_number;
}

/* The same request again, an older one, or one that may have been overtaken: who holds then is not clear. */
static bool doubtful(const struct td_monitor *monitor, const struct td_monitor_claim *claim)
{
	return claim && claim->live &&
	       (monitor->event.hold <= claim->number || perhaps_overtaken(monitor, &monitor->event));
}

/* A place that nothing live needs; NULL if there is none. */
static struct td_monitor_claim *place(struct td_monitor_axis *axis, uint32_t session)
{
	struct td_monitor_claim *own = find(axis, session);

	for (int i = 0; i < TD_MONITOR_CLAIMS && !own; i++)
		if (!axis->claim[i].live)
			own = &axis->claim[i];
	return own;
}

static void join_crowd(struct td_monitor_axis *axis, td_ns until)
{
	if (!axis->crowd.live)
		axis->crowd = (struct td_monitor_claim){.live = true, .way = TD_NO_WAY};
	extend(&axis->crowd, until);
}

static void enter(struct td_monitor *monitor, struct td_monitor_axis *axis, bool live)
{
	const struct td_event *event = &monitor->event;
	struct td_monitor_claim *claim = place(axis, event->session);
	td_ns until = until_ns(monitor, event);

	if (claim)
		*claim = (struct td_monitor_claim){
			.session = event->session,
			.number = event->hold,
			.way = event->way,
			.live = live,
			.until_ns = until,
		};
	else if (live)
		join_crowd(axis, until);
}

/* Powered now, and certainly not for this session. */
static bool others(const struct td_monitor_axis *axis, uint32_t session)
{
	bool any = false;

	if (axis->crowd.covers)
		return false;
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++) {
		if (axis->claim[i].covers && axis->claim[i].session == session)
			return false;
		any = any || axis->claim[i].covers;
	}
	return any;
}

/* What starting now would break whatever else is the case: such a request is refused for good (R11). */
static bool hopeless(const struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	const struct td_way_rules *way = &rules->axis[axis].way[monitor->event.way];

	return !monitor->armed || monitor->latched || monitor->axis[axis].tripped ||
	       monitor->axis[axis].way[monitor->event.way].locked ||
	       td_monitor_near(monitor, way->end_switch);
}

void td_monitor_claim(struct td_monitor *monitor, const struct td_rules *rules, uint8_t axis)
{
	struct td_monitor_axis *self = &monitor->axis[axis];
	const struct td_event *event = &monitor->event;

	if (!monitor->asked || event->axis != axis)
		return;
	if (used(self, event)) {
		deny(monitor, event, TD_BREACH_HOLD_ENDED);
		return;
	}
	if (others(self, event->session))
		return;
	if (self->last_session != event->session)
		self->last_session = 0;
	bool lost = hopeless(monitor, rules, axis);

	if (lost)
		deny(monitor, event, TD_BREACH_HOLD_ENDED);
	if (!doubtful(monitor, find(self, event->session)))
		enter(monitor, self, !lost);
	else if (!lost)
		join_crowd(self, until_ns(monitor, event));
}

/* --- what the outputs tell ------------------------------------------------------------------------ */

/* Only a single cover is certainly what holds. */
static void remember(struct td_monitor_axis *axis)
{
	const struct td_monitor_claim *only = NULL;
	int covers = axis->crowd.covers;

	for (int i = 0; i < TD_MONITOR_CLAIMS; i++) {
		if (!axis->claim[i].covers)
			continue;
		covers++;
		only = &axis->claim[i];
	}
	if (covers != 1 || !only)
		return;
	axis->last_session = only->session;
	axis->last_number = only->number;
}

void td_monitor_cover(struct td_monitor_axis *axis, uint8_t way, td_ns now_ns)
{
	for (int i = 0; i < CLAIMS; i++) {
		struct td_monitor_claim *claim = claim_at(axis, i);

		claim->covers = claim->live && (claim->way == way || claim == &axis->crowd);
		if (!claim->covers)
			end(axis, claim, now_ns);
	}
	remember(axis);
}

void td_monitor_uncover(struct td_monitor_axis *axis, td_ns now_ns)
{
	for (int i = 0; i < CLAIMS; i++)
		if (claim_at(axis, i)->covers)
			end(axis, claim_at(axis, i), now_ns);
}

bool td_monitor_covered(const struct td_monitor_axis *axis)
{
	bool covered = axis->crowd.covers;

	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		covered = covered || axis->claim[i].covers;
	return covered;
}

bool td_monitor_claimed(const struct td_monitor_axis *axis)
{
	bool claimed = axis->crowd.live;

	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		claimed = claimed || axis->claim[i].live;
	return claimed;
}
