/* SPDX-License-Identifier: MIT */
/*
 * What can happen, by kinds (explore.h). With MOVES_LATE each event comes at once, and a tick later without any step in
 * between, and a request is heard at most a tick before it comes.
 */
#include <stdio.h>
#include <stdlib.h>

#include "tests/explore/explore.h"

static void add(struct moves *moves, struct move move)
{
	if (moves->count == MOVES_MAX) {
		(void)fprintf(stderr, "explore: too many moves\n");
		abort();
	}
	moves->move[moves->count++] = move;
}

/* At once and, among the late ones, a tick later. */
static void add_both(struct moves *moves, struct move move)
{
	move.ticks = 0;
	add(moves, move);
	move.ticks = 1;
	if (moves->kinds & MOVES_LATE)
		add(moves, move);
}

static void add_time(struct moves *moves)
{
	add(moves, (struct move){.event = {.kind = TD_EVENT_TIME}, .ticks = 1});
	add(moves, (struct move){.event = {.kind = TD_EVENT_TIME}, .ticks = LATE_TICKS});
}

static void add_levels(struct moves *moves, const struct td_rules *rules)
{
	for (uint32_t active = 0; active < 1U << rules->switches; active++) {
		struct move move = {.event = {.kind = TD_EVENT_LEVELS}};

		if ((active >> SW_STOP & 1) != 0 && !(moves->kinds & MOVES_LATCH))
			continue;
		for (uint8_t sw = 0; sw < rules->switches; sw++)
			if (td_switch_reads_active(&rules->sw[sw], true) == ((active >> sw & 1) != 0))
				move.event.levels |= UINT32_C(1) << sw;
		add_both(moves, move);
	}
}

static struct move request(uint32_t session, uint8_t way, int lease_ticks)
{
	return (struct move){.event = {.kind = TD_EVENT_REQUEST,
				       .way = way,
				       .session = session,
				       .lease_ns = lease_ticks * TICK_NS}};
}

/* A start and its renewals, as a good client sends them. */
static void add_requests(struct moves *moves, uint32_t session, uint8_t way)
{
	struct move renewal = request(session, way, 2);

	add_both(moves, request(session, way, 2));
	renewal.number = NUMBER_SAME;
	renewal.order = ORDER_NEXT;
	add_both(moves, renewal);
}

/* Late, short, repeated and old ones. */
static void add_bad_requests(struct moves *moves, uint32_t session, uint8_t way)
{
	struct move late = request(session, way, 2);
	struct move again = request(session, way, 1);

	late.heard_ticks = 1;
	add_both(moves, late);
	add(moves, request(session, way, 1));
	again.number = NUMBER_SAME;
	add(moves, again);
	again.order = ORDER_NEXT;
	again.heard_ticks = 1;
	again.event.lease_ns = 2 * TICK_NS;
	add(moves, again);
	again.order = ORDER_AGAIN;
	add(moves, again);
	again.number = NUMBER_OLD;
	again.order = ORDER_NEXT;
	add(moves, again);
}

static void add_session(struct moves *moves, uint32_t session)
{
	struct move release = {.event = {.kind = TD_EVENT_RELEASE, .session = session}};

	for (uint8_t way = 0; way < TD_WAYS; way++)
		add_requests(moves, session, way);
	release.number = NUMBER_SAME;
	add_both(moves, release);
	add_both(moves, (struct move){.event = {.kind = TD_EVENT_GONE, .session = session}});
	if (!(moves->kinds & MOVES_LATE))
		return;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		add_bad_requests(moves, session, way);
	release.number = NUMBER_OLD;
	add(moves, release);
}

static void add_sessions(struct moves *moves)
{
	add_session(moves, 1);
	if (moves->kinds & MOVES_TWO)
		add_session(moves, 2);
	if (!(moves->kinds & MOVES_LATE))
		return;
	add(moves, request(1, TD_WAYS, 1)); /* no such way */
	add(moves, request(1, 0, 0));       /* no such lease */
}

static void add_plain(struct moves *moves, enum td_event_kind kind)
{
	add_both(moves, (struct move){.event = {.kind = kind, .axis = TD_ALL_AXES}});
}

static void add_reset(struct moves *moves, uint8_t axis, enum td_role role)
{
	add_both(moves, (struct move){.event = {.kind = TD_EVENT_RESET, .axis = axis, .role = role}});
}

static void add_machine(struct moves *moves)
{
	add_plain(moves, TD_EVENT_STOP);
	add_plain(moves, TD_EVENT_ARM);
	add_plain(moves, TD_EVENT_WRITTEN);
	add_reset(moves, 0, TD_ROLE_KEEPER);
	if (moves->kinds & MOVES_LATCH) {
		add_plain(moves, TD_EVENT_LATCH);
		add_reset(moves, TD_ALL_AXES, TD_ROLE_KEEPER);
		add_reset(moves, TD_ALL_AXES, TD_ROLE_VISITOR);
		add_reset(moves, 0, TD_ROLE_VISITOR);
	}
	if (moves->kinds & MOVES_LATE) {
		add(moves, (struct move){.event = {.kind = TD_EVENT_STOP}, .heard_ticks = 1});
		if (moves->kinds & MOVES_LATCH)
			add(moves, (struct move){.event = {.kind = TD_EVENT_LATCH}, .heard_ticks = 1});
	}
	if (moves->kinds & MOVES_MACHINE) {
		if (moves->kinds & MOVES_LATCH)
			add_plain(moves, TD_EVENT_LATCH_KEPT);
		add_plain(moves, TD_EVENT_DISARM);
		add_plain(moves, TD_EVENT_LINES_LOST);
	}
}

void moves_make(struct moves *moves, const struct td_rules *rules, unsigned kinds)
{
	moves->count = 0;
	moves->kinds = kinds;
	moves->heard_ticks = kinds & MOVES_LATE ? 1 : 0;
	add_time(moves);
	add_levels(moves, rules);
	add_machine(moves);
	add_sessions(moves);
}

/* --- as an event ------------------------------------------------------------------------------------------ */

static uint32_t greater(uint32_t a, uint32_t b)
{
	return a > b ? a : b;
}

/* Normalised numbers begin there too, so that there is an older one. */
enum { FIRST_NUMBER = 2 };

/* The highest number of this session that anybody remembers. */
static uint32_t highest(const struct world *world, uint32_t session)
{
	const struct td_monitor_axis *seen = &world->monitor.axis[0];
	const struct td_hold *hold = &world->core.axis[0].hold;
	uint32_t number = hold->session == session ? hold->number : FIRST_NUMBER;

	if (seen->last_session == session)
		number = greater(number, seen->last_number);
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (seen->claim[i].live && seen->claim[i].session == session)
			number = greater(number, seen->claim[i].number);
	return number;
}

static uint32_t hold_number(const struct world *world, uint32_t session, enum number which)
{
	const struct td_hold *hold = &world->core.axis[0].hold;
	uint32_t same = hold->session == session ? hold->number : highest(world, session);

	if (which == NUMBER_NEW)
		return highest(world, session) + 1;
	return which == NUMBER_SAME ? same : greater(same - 1, 1);
}

static uint32_t renewal(const struct world *world, enum order which)
{
	const struct td_monitor_axis *seen = &world->monitor.axis[0];
	const struct td_axis *axis = &world->core.axis[0];
	bool held = axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT;
	uint32_t seq = held ? axis->hold.seq : 0;

	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (seen->claim[i].live)
			seq = greater(seq, seen->claim[i].seq);
	return which == ORDER_NEXT ? seq + 1 : seq;
}

struct td_event move_event(const struct move *move, const struct world *world)
{
	struct td_event event = move->event;

	event.at_ns = world->core.now_ns + move->ticks * TICK_NS;
	event.heard_ns = event.at_ns - move->heard_ticks * TICK_NS;
	if (event.kind == TD_EVENT_REQUEST || event.kind == TD_EVENT_RELEASE)
		event.hold = hold_number(world, event.session, move->number);
	if (event.kind == TD_EVENT_REQUEST && move->order != ORDER_START)
		event.seq = renewal(world, move->order);
	return event;
}

/* --- for people ------------------------------------------------------------------------------------------- */

static void details(const struct move *move, const struct td_rules *rules, char *text, size_t size)
{
	static const char *const numbers[] = {"new", "same", "older"};
	static const char *const orders[] = {"start", "renewal", "repeated renewal"};
	const struct td_event *event = &move->event;

	text[0] = '\0';
	if (event->kind == TD_EVENT_LEVELS)
		(void)snprintf(text, size, " low %d high %d stop %d",
			       td_switch_reads_active(&rules->sw[SW_LOW], event->levels >> SW_LOW & 1),
			       td_switch_reads_active(&rules->sw[SW_HIGH], event->levels >> SW_HIGH & 1),
			       td_switch_reads_active(&rules->sw[SW_STOP], event->levels >> SW_STOP & 1));
	else if (event->kind == TD_EVENT_REQUEST)
		(void)snprintf(text, size, " way%u session %u %s hold, %s, lease %d", event->way,
			       event->session, numbers[move->number], orders[move->order],
			       (int)(event->lease_ns / TICK_NS));
	else if (event->kind == TD_EVENT_RELEASE)
		(void)snprintf(text, size, " session %u %s hold", event->session, numbers[move->number]);
	else if (event->kind == TD_EVENT_GONE)
		(void)snprintf(text, size, " session %u", event->session);
	else if (event->kind == TD_EVENT_RESET)
		(void)snprintf(text, size, " %s by the %s", event->axis == 0 ? "the axis" : "all",
			       event->role == TD_ROLE_KEEPER ? "keeper" : "visitor");
}

void move_text(const struct move *move, const struct td_rules *rules, char *text, size_t size)
{
	static const char *const kinds[TD_EVENT_KINDS] = {
		[TD_EVENT_TIME] = "time",           [TD_EVENT_LEVELS] = "levels",
		[TD_EVENT_REQUEST] = "request",     [TD_EVENT_RELEASE] = "release",
		[TD_EVENT_GONE] = "gone",           [TD_EVENT_STOP] = "stop",
		[TD_EVENT_LATCH] = "latched stop",  [TD_EVENT_LATCH_KEPT] = "latched stop kept",
		[TD_EVENT_RESET] = "reset",         [TD_EVENT_ARM] = "arm",
		[TD_EVENT_DISARM] = "disarm",       [TD_EVENT_LINES_LOST] = "lines lost",
		[TD_EVENT_WRITTEN] = "written",     [TD_EVENT_LOCK_KEPT] = "lock kept",
		[TD_EVENT_COOLED] = "cooled",       [TD_EVENT_BREACH] = "breach",
		[TD_EVENT_UNTWISTED] = "untwisted", [TD_EVENT_TURN_OVER] = "turn over",
	};
	char more[120];

	details(move, rules, more, sizeof(more));
	(void)snprintf(text, size, "+%u %s%s%s", move->ticks, kinds[move->event.kind], more,
		       move->heard_ticks > 0 ? ", heard 1 ago" : "");
}
