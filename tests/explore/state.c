/* SPDX-License-Identifier: MIT */
/*
 * Two states are one where no event can tell them apart. That is why times are told from now, sessions and hold
 * numbers by rank, and why what nothing reads is left out:
 *
 *   - a point in time older than the longest span it is ever compared with is moved to exactly that span ago;
 *   - a session is a name: whoever is known first is 1; the moves treat both sessions alike;
 *   - of hold numbers and renewals only the order matters: the core and the monitor compare them, nothing else;
 *   - duty and supply limit nothing by these rules, whatever they have counted; they are made anew to fit the axis;
 *   - visitors may not reset and contacts may chatter by these rules, so nothing is counted of either;
 *   - counts of pulses, the words of the last verdict and what a refused request would have been decide nothing.
 *
 * A key has half a byte for each value; one that does not fit ends the program, so nothing is ever cut off.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/explore/explore.h"

enum { SESSIONS = 2, CLAIMS = 2, NIBBLES = 2 * KEY_SIZE };

/* --- names and numbers ------------------------------------------------------------------------------------ */

/* Whether 1 and 2 change places, so that who is met first is 1. */
static bool names_turned(const struct world *world)
{
	const struct td_monitor_axis *seen = &world->monitor.axis[0];
	uint32_t first = world->core.axis[0].hold.session;

	if (first == 0)
		first = seen->last_session;
	for (int i = 0; i < TD_MONITOR_CLAIMS && first == 0; i++)
		if (seen->claim[i].live)
			first = seen->claim[i].session;
	return first == SESSIONS;
}

static uint32_t turned(uint32_t session)
{
	return session == 0 ? 0 : SESSIONS + 1 - session;
}

static void turn_names(struct world *world)
{
	struct td_monitor_axis *seen = &world->monitor.axis[0];

	world->core.axis[0].hold.session = turned(world->core.axis[0].hold.session);
	seen->last_session = turned(seen->last_session);
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		seen->claim[i].session = turned(seen->claim[i].session);
}

enum { PLACES = TD_MONITOR_CLAIMS + 2 };

/* `first` for the least of them, one more for the next ... */
static void rank(uint32_t *place[PLACES], size_t count, uint32_t first)
{
	uint32_t ranks[PLACES];

	for (size_t i = 0; i < count; i++) {
		ranks[i] = first;
		for (size_t j = 0; j < count; j++) {
			bool again = false;

			for (size_t k = 0; k < j; k++)
				again = again || *place[k] == *place[j];
			ranks[i] += !again && *place[j] < *place[i];
		}
	}
	for (size_t i = 0; i < count; i++)
		*place[i] = ranks[i];
}

/* Holds: the least is 2, so that there is an older one. */
static void rank_numbers(struct world *world, uint32_t session)
{
	struct td_monitor_axis *seen = &world->monitor.axis[0];
	uint32_t *place[PLACES];
	size_t count = 0;

	if (world->core.axis[0].hold.session == session)
		place[count++] = &world->core.axis[0].hold.number;
	if (seen->last_session == session)
		place[count++] = &seen->last_number;
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (seen->claim[i].session == session)
			place[count++] = &seen->claim[i].number;
	rank(place, count, 2);
}

/* Renewals: 0 is the start and stays so. */
static void rank_renewals(struct world *world)
{
	struct td_monitor_axis *seen = &world->monitor.axis[0];
	uint32_t *place[PLACES];
	size_t count = 0;

	if (world->core.axis[0].hold.seq != 0)
		place[count++] = &world->core.axis[0].hold.seq;
	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (seen->claim[i].seq != 0)
			place[count++] = &seen->claim[i].seq;
	rank(place, count, 1);
}

/* --- times ------------------------------------------------------------------------------------------------ */

static td_ns longer(td_ns a_ns, td_ns b_ns)
{
	return a_ns > b_ns ? a_ns : b_ns;
}

/* What is older makes no difference to anybody who compares it with spans up to `span_ns`. */
static void cap(td_ns *at_ns, td_ns now_ns, td_ns span_ns)
{
	if (*at_ns < now_ns - span_ns)
		*at_ns = now_ns - span_ns;
}

/* A switch: when it last changed counts only until its filter has decided; where the levels are not known (R15) that
 * may be long ago. */
static void settle(td_ns *since_ns, bool undecided, td_ns now_ns)
{
	if (!undecided)
		*since_ns = now_ns;
	cap(since_ns, now_ns, TICK_NS);
}

/* No request is heard earlier than that, so an older stop overtakes nothing. */
static td_ns stop_counts_ns(int heard_ticks)
{
	return (heard_ticks + 1) * TICK_NS;
}

static void normalise_core(struct world *world, const struct td_rules *rules, int heard_ticks)
{
	struct td_core *core = &world->core;
	struct td_axis *axis = &core->axis[0];
	const struct td_axis_rules *own = &rules->axis[0];
	td_ns now_ns = core->now_ns;

	cap(&core->stop_ns[0], now_ns, stop_counts_ns(heard_ticks));
	for (int i = 0; i < TD_SWITCHES_MAX; i++)
		settle(&core->sw[i].since_ns, core->sw[i].raw != core->sw[i].active, now_ns);
	if (core->latch & TD_LATCH_KEPT) /* only told apart in words */
		core->latch = (uint8_t)((core->latch & ~TD_LATCH_KEPT) | TD_LATCH_ASKED);
	if (axis->state != TD_AXIS_RUN)
		axis->since_ns = now_ns;
	cap(&axis->cut_ns, now_ns, longer(longer(own->dead_ns, own->rest_ns), own->restored_ns));
	for (int way = 0; way < TD_WAYS; way++)
		cap(&axis->way_cut_ns[way], now_ns, own->rest_ns);
	if (axis->state != TD_AXIS_RUN && axis->state != TD_AXIS_WAIT) {
		axis->hold.seq = 0;
		axis->hold.lease_end_ns = now_ns;
	}
}

/* --- the monitor ------------------------------------------------------------------------------------------ */

/* The monitor rounds in favour of the core by a few microseconds each time; the core's own counts are whole ticks
 * here (both reaches are alike), so whole ticks are the truth, and a judge who rounds back is only stricter. */
static td_ns whole(td_ns span_ns)
{
	return (span_ns + TICK_NS / 2) / TICK_NS * TICK_NS;
}

static void normalise_way(struct td_monitor_way *way, const struct td_axis_rules *own, int index,
			  td_ns now_ns)
{
	td_ns most_ns = own->way[index].limit_ns + LATE_TICKS * TICK_NS;

	way->least_ns = whole(way->least_ns);
	/* The core's count never grows beyond this; a judge who believes less is stricter. */
	way->most_ns = whole(way->most_ns);
	if (way->most_ns > most_ns)
		way->most_ns = most_ns;
	if (way->on) {
		way->low_ns = now_ns;
	} else {
		way->rose_ns = now_ns;
		way->counted_ns = now_ns;
		cap(&way->low_ns, now_ns, longer(own->dead_ns, own->rest_ns));
	}
}

/* What has ended is as if it had never been; the others stand in the order of their sessions. */
static void normalise_claims(struct td_monitor_axis *axis)
{
	struct td_monitor_claim live[SESSIONS + 1] = {0};

	for (int i = 0; i < TD_MONITOR_CLAIMS; i++)
		if (axis->claim[i].live && axis->claim[i].session <= SESSIONS)
			live[axis->claim[i].session] = axis->claim[i];
	memset(axis->claim, 0, sizeof(axis->claim));
	for (int session = 1, at = 0; session <= SESSIONS; session++)
		if (live[session].live)
			axis->claim[at++] = live[session];
	if (!axis->crowd.live)
		axis->crowd = (struct td_monitor_claim){0};
	if (axis->last_session == 0)
		axis->last_number = 0;
}

/* Powered time counts anew after the reset of a trip, and without one nothing is powered any more. */
static void forget_counts(struct td_monitor *monitor)
{
	struct td_monitor_axis *axis = &monitor->axis[0];

	if (axis->way[0].on || axis->way[1].on || !(axis->tripped || axis->unseen))
		return;
	for (int way = 0; way < TD_WAYS; way++)
		axis->way[way].least_ns = 0;
}

/* Where the axis stands (R8) and whether it has tripped (R11) the monitor is told by the core: then it is as strict as
 * the rule, and no state is another one for what an outsider does not know. What it knows by itself is tried in
 * tests/support/insight.h. */
static void know_place(struct td_monitor_axis *seen, const struct td_axis *axis,
		       const struct td_axis_rules *own)
{
	seen->located = axis->located;
	seen->unseen = axis->state == TD_AXIS_TRIPPED;
	seen->lost = false; /* read for the twist of a cable (R18), which is not here */
	for (int way = 0; way < TD_WAYS; way++)
		if (own->way[way].end_switch != TD_NO_SWITCH)
			seen->way[way].most_ns = axis->spent_ns[way];
}

static void normalise_monitor(struct world *world, const struct td_rules *rules, int heard_ticks)
{
	struct td_monitor *monitor = &world->monitor;
	struct td_monitor_axis *axis = &monitor->axis[0];
	const struct td_axis_rules *own = &rules->axis[0];
	td_ns now_ns = monitor->now_ns;

	for (int i = 0; i < TD_SWITCHES_MAX; i++)
		settle(&monitor->sw[i].since_ns, monitor->sw[i].raw != monitor->sw[i].active, now_ns);
	cap(&axis->cut_ns, now_ns, longer(own->rest_ns, own->restored_ns));
	cap(&axis->stop_ns, now_ns, stop_counts_ns(heard_ticks));
	cap(&axis->doubt_ns, now_ns, stop_counts_ns(heard_ticks));
	know_place(axis, &world->core.axis[0], own);
	for (int way = 0; way < TD_WAYS; way++)
		normalise_way(&axis->way[way], own, way, now_ns);
	normalise_claims(axis);
	forget_counts(monitor);
}

bool state_normalise(struct world *world, const struct td_rules *rules, int heard_ticks)
{
	bool turn = names_turned(world);

	if (turn)
		turn_names(world);
	normalise_core(world, rules, heard_ticks);
	normalise_monitor(world, rules, heard_ticks);
	for (uint32_t session = 1; session <= SESSIONS; session++)
		rank_numbers(world, session);
	rank_renewals(world);
	return turn;
}

/* --- to a key and back ------------------------------------------------------------------------------------ */

struct flow {
	bool load;
	size_t at;
	td_ns now_ns;
	uint8_t nibble[NIBBLES];
};

static void value(struct flow *flow, uint64_t *value)
{
	if (flow->at == NIBBLES || (!flow->load && *value > 0xf)) {
		(void)fprintf(stderr, "explore: value %zu of a state does not fit: %llu\n", flow->at,
			      (unsigned long long)*value);
		abort();
	}
	if (flow->load)
		*value = flow->nibble[flow->at];
	else
		flow->nibble[flow->at] = (uint8_t)*value;
	flow->at++;
}

static void flag(struct flow *flow, bool *what)
{
	uint64_t bits = *what;

	value(flow, &bits);
	*what = bits != 0;
}

/* Indices: TD_NO_... is 15. */
static void small(struct flow *flow, uint8_t *what)
{
	uint64_t bits = *what == TD_NO_WAY ? 0xf : *what;

	value(flow, &bits);
	*what = (uint8_t)(bits == 0xf ? TD_NO_WAY : bits);
}

static void number(struct flow *flow, uint32_t *what)
{
	uint64_t bits = *what;

	value(flow, &bits);
	*what = (uint32_t)bits;
}

static void span(struct flow *flow, td_ns *what)
{
	uint64_t ticks = (uint64_t)(*what / TICK_NS);

	if (!flow->load && *what % TICK_NS != 0)
		ticks = UINT64_MAX;
	value(flow, &ticks);
	*what = (td_ns)ticks * TICK_NS;
}

static void ago(struct flow *flow, td_ns *at_ns)
{
	td_ns span_ns = flow->now_ns - *at_ns;

	span(flow, &span_ns);
	*at_ns = flow->now_ns - span_ns;
}

static void ahead(struct flow *flow, td_ns *at_ns)
{
	td_ns span_ns = *at_ns - flow->now_ns;

	span(flow, &span_ns);
	*at_ns = flow->now_ns + span_ns;
}

static void core_axis(struct flow *flow, struct td_axis *axis)
{
	uint32_t state = (uint32_t)axis->state;

	number(flow, &state);
	axis->state = (enum td_axis_state)state;
	/* Which trip it was decides nothing; that it was no bug of the core was looked at in world.c. */
	axis->trip = axis->state == TD_AXIS_TRIPPED ? TD_CAUSE_TRAVEL_LIMIT : TD_CAUSE_NONE;
	small(flow, &axis->way);
	small(flow, &axis->last_way);
	flag(flow, &axis->located);
	flag(flow, &axis->unwritten);
	ago(flow, &axis->since_ns);
	ago(flow, &axis->cut_ns);
	for (int way = 0; way < TD_WAYS; way++) {
		ago(flow, &axis->way_cut_ns[way]);
		span(flow, &axis->spent_ns[way]);
	}
	number(flow, &axis->hold.session);
	number(flow, &axis->hold.number);
	number(flow, &axis->hold.seq);
	ahead(flow, &axis->hold.lease_end_ns);
}

static void core(struct flow *flow, struct td_core *core)
{
	flag(flow, &core->armed);
	flag(flow, &core->levels_known);
	small(flow, &core->latch);
	ago(flow, &core->stop_ns[0]);
	for (int i = 0; i < TD_SWITCHES_MAX; i++) {
		flag(flow, &core->sw[i].raw);
		flag(flow, &core->sw[i].active);
		ago(flow, &core->sw[i].since_ns);
	}
	number(flow, &core->suspect);
	number(flow, &core->locked);
	core_axis(flow, &core->axis[0]);
}

static void claim(struct flow *flow, struct td_monitor_claim *claim)
{
	number(flow, &claim->session);
	number(flow, &claim->number);
	number(flow, &claim->seq);
	small(flow, &claim->way);
	flag(flow, &claim->live);
	flag(flow, &claim->covers);
	flag(flow, &claim->vague);
	if (claim->live)
		ahead(flow, &claim->until_ns);
}

static void monitor_axis(struct flow *flow, struct td_monitor_axis *axis)
{
	flag(flow, &axis->tripped);
	flag(flow, &axis->keepers);
	flag(flow, &axis->unseen);
	flag(flow, &axis->located);
	flag(flow, &axis->unwritten);
	small(flow, &axis->last_way);
	ago(flow, &axis->cut_ns);
	ago(flow, &axis->stop_ns);
	ago(flow, &axis->doubt_ns);
	number(flow, &axis->last_session);
	number(flow, &axis->last_number);
	for (int i = 0; i < TD_WAYS; i++) {
		struct td_monitor_way *way = &axis->way[i];

		flag(flow, &way->on);
		flag(flow, &way->fell);
		ago(flow, &way->low_ns);
		ago(flow, &way->rose_ns);
		ago(flow, &way->counted_ns);
		span(flow, &way->least_ns);
		span(flow, &way->most_ns);
		flag(flow, &way->suspect);
		flag(flow, &way->locked);
	}
	for (int i = 0; i < CLAIMS; i++)
		claim(flow, &axis->claim[i]);
	claim(flow, &axis->crowd);
}

static void monitor(struct flow *flow, struct td_monitor *monitor)
{
	struct td_monitor_axis *axis = &monitor->axis[0];

	flag(flow, &monitor->armed);
	flag(flow, &monitor->known);
	flag(flow, &monitor->latched);
	for (int i = 0; i < TD_SWITCHES_MAX; i++) {
		flag(flow, &monitor->sw[i].raw);
		flag(flow, &monitor->sw[i].active);
		ago(flow, &monitor->sw[i].since_ns);
	}
	monitor_axis(flow, axis);
	monitor->outputs = (uint32_t)axis->way[0].on | (uint32_t)axis->way[1].on << 1;
}

static struct key key_of(const struct flow *flow)
{
	struct key key = {{0}};

	for (size_t i = 0; i < NIBBLES; i++)
		key.word[i / 16] |= (uint64_t)flow->nibble[i] << i % 16 * 4;
	return key;
}

struct key state_pack(struct world *world)
{
	struct flow flow = {.now_ns = world->core.now_ns};

	core(&flow, &world->core);
	monitor(&flow, &world->monitor);
	return key_of(&flow);
}

struct key state_pack_core(struct world *world)
{
	struct flow flow = {.now_ns = world->core.now_ns};

	core(&flow, &world->core);
	return key_of(&flow);
}

void state_unpack(struct world *world, const struct key *key, const struct law *law)
{
	struct flow flow = {.load = true};

	for (size_t i = 0; i < NIBBLES; i++)
		flow.nibble[i] = key->word[i / 16] >> i % 16 * 4 & 0xf;
	world_init(world, law);
	flow.now_ns = world->core.now_ns;
	core(&flow, &world->core);
	monitor(&flow, &world->monitor);
	if (td_axis_outputs(&world->core.axis[0]) == 0)
		return;
	td_duty_power(&world->core.duty[0], &law->core_rules.axis[0].duty, true, flow.now_ns);
	world->core.duty_cut_ns[0] = TD_NEVER;
	td_supply_started(&world->core.supply, &law->core_rules.supply, 0, flow.now_ns);
}
