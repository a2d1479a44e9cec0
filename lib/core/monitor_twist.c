/* SPDX-License-Identifier: MIT */
#include "core/monitor_twist.h"

#include <string.h>

/* The core counts no further than this many turns, and nothing beyond is held against it. */
#define TURN       INT64_C(1000000000000000)
#define TURNS_MAX  (4000 * TURN)
#define DRIVE_MAX  (1000 * TURN)
#define DOUBT_MAX  (2000 * TURN) /* more than any limit, and three of them can be added */
#define COUNTS_MAX (INT64_C(1) << 40)

enum { PPM = 1000000, NO_PLACE = 4 };

struct range {
	int64_t least;
	int64_t most;
};

static int64_t within(int64_t value, int64_t max)
{
	if (value < -max)
		return -max;
	return value < max ? value : max;
}

static int64_t absolute(int64_t value)
{
	return value < 0 ? -value : value;
}

static struct range spanning(struct range range, int64_t value)
{
	return (struct range){value < range.least ? value : range.least,
			      value > range.most ? value : range.most};
}

/* --- beginnings ----------------------------------------------------------------------------------- */

void td_monitor_twist_init(struct td_monitor_twist *twist, td_ns now_ns)
{
	memset(twist, 0, sizeof(*twist));
	twist->counted_ns = now_ns;
	twist->place = NO_PLACE;
}

/* 00 01 11 10, the second contact first, counts up. */
static uint8_t place_of(bool first, bool second)
{
	return (uint8_t)((second ? 2 : 0) + (first != second ? 1 : 0));
}

/* A doubt that cannot be is none. */
static int64_t kept_doubt(int64_t fturn)
{
	return fturn > 0 ? within(fturn, TURNS_MAX) : 0;
}

void td_monitor_twist_kept(struct td_monitor_twist *twist, const struct td_twist *kept)
{
	twist->least_fturn = twist->most_fturn = within(kept->net_fturn, TURNS_MAX);
	twist->least_counts = twist->most_counts = within(kept->counts, COUNTS_MAX);
	twist->driven_fturn = kept_doubt(kept->gross_fturn);
	twist->unsure_fturn = kept_doubt(kept->unsure_fturn);
	twist->silent_fturn = kept_doubt(kept->silent_fturn);
	twist->slips = kept->slips;
	twist->place = kept->contacts < 4 ? place_of((kept->contacts & 1) != 0, (kept->contacts & 2) != 0)
					  : (uint8_t)NO_PLACE;
	twist->moved = kept->changed;
}

void td_monitor_twist_straight(struct td_monitor_twist *twist, bool certain)
{
	struct range turns = {twist->least_fturn, twist->most_fturn};
	struct range counts = {twist->least_counts, twist->most_counts};
	uint8_t place = twist->place;

	td_monitor_twist_init(twist, twist->counted_ns);
	twist->place = place;
	if (certain)
		return;
	turns = spanning(turns, 0);
	counts = spanning(counts, 0);
	twist->least_fturn = turns.least;
	twist->most_fturn = turns.most;
	twist->least_counts = counts.least;
	twist->most_counts = counts.most;
}

/* --- driving -------------------------------------------------------------------------------------- */

static int64_t smallest_circle(const struct td_twist_rules *rules, uint8_t way)
{
	const int32_t *rate = rules->rate_ppm_s[way];
	int64_t most = 0;

	for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
		if (absolute(rate[side]) > most)
			most = absolute(rate[side]);
	return most;
}

/* Leaning so far, it turns so far; the time at the stop is rounded down to a nanosecond. */
static int64_t turned(const int32_t *rate, int32_t lean_ppm, td_ns span_ns)
{
	int64_t share = absolute(lean_ppm);
	td_ns stop_ns = span_ns / PPM * share + span_ns % PPM * share / PPM;
	int64_t at_stop = rate[lean_ppm > 0 ? TD_TWIST_LEFT : TD_TWIST_RIGHT];

	return at_stop * stop_ns + rate[TD_TWIST_STRAIGHT] * (span_ns - stop_ns);
}

/* In proportion on either side of straight, so the bounds are at the ends of the range, or there. */
static struct range turns(const int32_t *rate, struct td_monitor_lean lean, td_ns span_ns)
{
	int64_t first = turned(rate, lean.least_ppm, span_ns);
	struct range range = {first, first};

	range = spanning(range, turned(rate, lean.most_ppm, span_ns));
	return lean.least_ppm < 0 && lean.most_ppm > 0 ? spanning(range, turned(rate, 0, span_ns)) : range;
}

static void estimate(struct td_monitor_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		     struct td_monitor_lean lean, td_ns span_ns)
{
	int64_t circle = smallest_circle(rules, way) * span_ns;

	if (!lean.known) {
		twist->unsure_fturn = within(twist->unsure_fturn + circle, TURNS_MAX);
		return;
	}
	struct range range = turns(rules->rate_ppm_s[way], lean, span_ns);

	if (lean.unknown)
		range = spanning(range, 0);
	twist->least_fturn = within(twist->least_fturn + range.least, TURNS_MAX);
	twist->most_fturn = within(twist->most_fturn + range.most, TURNS_MAX);
	twist->driven_fturn = within(twist->driven_fturn + circle, TURNS_MAX);
}

static bool at_a_stop(struct td_monitor_lean lean)
{
	return lean.known && !lean.unknown && lean.least_ppm == lean.most_ppm &&
	       absolute(lean.least_ppm) == PPM;
}

static bool counts_turns(const struct td_twist_rules *rules)
{
	return rules->source == TD_TWIST_ESTIMATE ||
	       (rules->source == TD_TWIST_SENSOR && rules->steps_per_turn != 0);
}

void td_monitor_twist_driven(struct td_monitor_twist *twist, const struct td_twist_rules *rules, uint8_t way,
			     struct td_monitor_lean lean, td_ns span_ns)
{
	int64_t circle = smallest_circle(rules, way);

	if (circle == 0 || !counts_turns(rules))
		return;
	if (span_ns > DRIVE_MAX / circle) {
		twist->least_fturn = -TURNS_MAX;
		twist->most_fturn = TURNS_MAX;
	} else if (rules->source == TD_TWIST_ESTIMATE) {
		estimate(twist, rules, way, lean, span_ns);
	} else if (at_a_stop(lean)) {
		twist->silent_fturn = within(twist->silent_fturn + absolute(turned(rules->rate_ppm_s[way],
										   lean.most_ppm, span_ns)),
					     TURNS_MAX);
	}
}

/* --- the contacts --------------------------------------------------------------------------------- */

static void step(struct td_monitor_twist *twist, int by, uint8_t moved)
{
	twist->least_counts = within(twist->least_counts + by, COUNTS_MAX);
	twist->most_counts = within(twist->most_counts + by, COUNTS_MAX);
	if (twist->moved != 0 && twist->moved != moved)
		twist->silent_fturn = 0;
	twist->moved = moved;
}

void td_monitor_twist_felt(struct td_monitor_twist *twist, bool first, bool second)
{
	uint8_t place = place_of(first, second);
	/* One period more, so that it is a number of steps up. */
	unsigned int by = (4U + place - twist->place) & 3U;
	/* Of the steps up, those to 1 and 3 are the first contact's: of those down, the ones from there. */
	uint8_t moved = ((by == 1 ? place : twist->place) & 1) != 0 ? 1 : 2;
	bool known = twist->place < NO_PLACE;

	twist->place = place;
	if (!known)
		return;
	if (by == 1 || by == 3)
		step(twist, by == 1 ? 1 : -1, moved);
	else if (by == 2 && twist->slips < UINT32_MAX)
		twist->slips++;
}

/* As fine as 1e-13 turns: finer would be held against the core. */
static int64_t turns_of(int64_t counts, int64_t steps)
{
	int64_t whole = within(counts / steps, TURNS_MAX / TURN);
	int64_t part = counts % steps * (TURN / 100) / steps * 100;

	return within(whole * TURN + part, TURNS_MAX);
}

/* --- the limit ------------------------------------------------------------------------------------ */

static struct range net(const struct td_monitor_twist *twist, const struct td_twist_rules *rules)
{
	if (rules->source == TD_TWIST_ESTIMATE)
		return (struct range){twist->least_fturn, twist->most_fturn};
	int64_t first = turns_of(twist->least_counts, rules->steps_per_turn);

	return spanning((struct range){first, first}, turns_of(twist->most_counts, rules->steps_per_turn));
}

static int64_t doubt(const struct td_monitor_twist *twist, const struct td_twist_rules *rules)
{
	int64_t share = rules->doubt_ppm < PPM ? rules->doubt_ppm : PPM;
	int64_t unsure = within(twist->unsure_fturn, DOUBT_MAX);

	if (rules->source == TD_TWIST_ESTIMATE)
		return unsure + twist->driven_fturn / PPM * share;
	int64_t slipped = turns_of(2 * (int64_t)twist->slips, absolute(rules->steps_per_turn));

	return unsure + within(twist->silent_fturn, DOUBT_MAX) + within(slipped, DOUBT_MAX);
}

/* Which turns add beyond the limit: to the left, to the right. */
struct blocked {
	bool left;
	bool right;
};

static struct blocked blocked(const struct td_monitor_twist *twist, const struct td_twist_rules *rules)
{
	struct range turns = net(twist, rules);
	int64_t limit = rules->limit_uturn * (TURN / PPM) - doubt(twist, rules);

	if (limit < 0)
		limit = 0;
	return (struct blocked){turns.least >= limit, -turns.most >= limit};
}

static bool adds(int64_t rate, struct blocked blocked)
{
	return (rate > 0 && blocked.left) || (rate < 0 && blocked.right);
}

bool td_monitor_twist_beyond(const struct td_monitor_twist *twist, const struct td_twist_rules *rules,
			     uint8_t way, struct td_monitor_lean lean)
{
	const int32_t *rate = rules->rate_ppm_s[way];

	if (!counts_turns(rules))
		return false;
	struct blocked by = blocked(twist, rules);
	bool beyond = by.left || by.right;

	/* For every place where it may stand. */
	if (lean.unknown)
		beyond = beyond && smallest_circle(rules, way) != 0;
	if (lean.known && lean.most_ppm > 0)
		beyond = beyond && adds(rate[TD_TWIST_LEFT], by);
	if (lean.known && lean.least_ppm < 0)
		beyond = beyond && adds(rate[TD_TWIST_RIGHT], by);
	if (lean.known && lean.least_ppm <= 0 && lean.most_ppm >= 0)
		beyond = beyond && adds(rate[TD_TWIST_STRAIGHT], by);
	return beyond;
}
