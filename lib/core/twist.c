/* SPDX-License-Identifier: MIT */
#include "core/twist.h"

#include <string.h>

/* 4000 turns: four times what can be configured, and twice this still fits. */
#define FTURN_MAX      INT64_C(4000000000000000000)
#define FTURN_OF_UTURN 1000000000
#define COUNTS_MAX     (INT64_C(1) << 40)

enum { PPM = 1000000, CONTACTS_UNKNOWN = 4 };

static int64_t clamp(int64_t value, int64_t max)
{
	if (value > max)
		return max;
	return value < -max ? -max : value;
}

/* Sums of turns stay within FTURN_MAX; what is outside to begin with counts as FTURN_MAX. */
static int64_t plus(int64_t a, int64_t b)
{
	return clamp(clamp(a, FTURN_MAX) + clamp(b, FTURN_MAX), FTURN_MAX);
}

/* A doubt that cannot be (negative) is the largest. */
static int64_t doubt_of(int64_t fturn)
{
	return fturn >= 0 && fturn <= FTURN_MAX ? fturn : FTURN_MAX;
}

static int64_t size(int64_t value)
{
	return value < 0 ? -value : value;
}

static bool rate_ok(int32_t rate_ppm_s)
{
	return rate_ppm_s >= -TD_TWIST_RATE_MAX_PPM_S && rate_ppm_s <= TD_TWIST_RATE_MAX_PPM_S;
}

bool td_twist_rules_ok(const struct td_twist_rules *rules)
{
	if (rules->source == TD_TWIST_UNLIMITED)
		return true;
	bool ok = (rules->source == TD_TWIST_ESTIMATE || rules->source == TD_TWIST_SENSOR) &&
		  rules->limit_uturn >= 1 && rules->limit_uturn <= TD_TWIST_LIMIT_MAX_UTURN &&
		  rules->doubt_ppm <= PPM;

	for (uint8_t way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
			ok = ok && rate_ok(rules->rate_ppm_s[way][side]);
	if (rules->source == TD_TWIST_SENSOR)
		ok = ok && rules->steps_per_turn != 0 && rules->steps_per_turn >= -TD_TWIST_STEPS_MAX &&
		     rules->steps_per_turn <= TD_TWIST_STEPS_MAX;
	return ok;
}

void td_twist_straighten(struct td_twist *twist)
{
	memset(twist, 0, sizeof(*twist));
	twist->contacts = CONTACTS_UNKNOWN;
}

void td_twist_init_unknown(struct td_twist *twist)
{
	td_twist_straighten(twist);
	twist->unsure_fturn = FTURN_MAX;
}

static bool side_known(enum td_twist_side side)
{
	return side == TD_TWIST_STRAIGHT || side == TD_TWIST_LEFT || side == TD_TWIST_RIGHT;
}

/* Turns a second to the left; with unknown steering the most it can be, to whichever side. */
static int64_t rate_of(const struct td_twist_rules *rules, uint8_t way, enum td_twist_side side)
{
	int64_t most = 0;

	if (side_known(side))
		return rules->rate_ppm_s[way][side];
	for (int any = TD_TWIST_STRAIGHT; any < TD_TWIST_SIDES; any++)
		if (size(rules->rate_ppm_s[way][any]) > most)
			most = size(rules->rate_ppm_s[way][any]);
	return most;
}

/* rate x span, saturating: millionths a second times nanoseconds are 1e-15 turns. */
static int64_t turned(int64_t rate_ppm_s, td_ns span_ns)
{
	if (rate_ppm_s == 0 || span_ns <= 0)
		return 0;
	if (span_ns > FTURN_MAX / size(rate_ppm_s))
		return rate_ppm_s > 0 ? FTURN_MAX : -FTURN_MAX;
	return rate_ppm_s * span_ns;
}

void td_twist_advance(struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		      enum td_twist_side side, td_ns span_ns)
{
	if (way >= TD_WAYS || !td_twist_rules_ok(rules) || rules->source == TD_TWIST_UNLIMITED)
		return;
	int64_t fturn = turned(rate_of(rules, way, side), span_ns);

	if (rules->source == TD_TWIST_SENSOR) {
		/* Without knowing the steering nothing can be expected of the sensor. */
		if (side_known(side))
			twist->silent_fturn = plus(doubt_of(twist->silent_fturn), size(fturn));
	} else if (side_known(side)) {
		twist->net_fturn = plus(twist->net_fturn, fturn);
		twist->gross_fturn = plus(doubt_of(twist->gross_fturn),
					  turned(rate_of(rules, way, TD_TWIST_UNKNOWN), span_ns));
	} else {
		twist->unsure_fturn = plus(doubt_of(twist->unsure_fturn), fturn);
	}
}

void td_twist_unseen(struct td_twist *twist, const struct td_twist_rules *rules, td_ns span_ns)
{
	int64_t most = 0;

	if (!td_twist_rules_ok(rules) || rules->source == TD_TWIST_UNLIMITED)
		return;
	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (rate_of(rules, way, TD_TWIST_UNKNOWN) > most)
			most = rate_of(rules, way, TD_TWIST_UNKNOWN);
	twist->unsure_fturn = plus(doubt_of(twist->unsure_fturn), turned(most, span_ns));
}

void td_twist_contacts(struct td_twist *twist, uint8_t levels)
{
	/* Position of 00 01 11 10 within their period. */
	static const uint8_t place[4] = {0, 1, 3, 2};
	uint8_t now = levels & 3;

	if (twist->contacts > 3) {
		twist->contacts = now;
		return;
	}
	int step = (place[now] + 4 - place[twist->contacts]) % 4;
	uint8_t changed = now ^ twist->contacts;

	twist->contacts = now;
	if (step == 2 && twist->slips < UINT32_MAX)
		twist->slips++;
	if (step == 1 || step == 3) {
		twist->counts = clamp(clamp(twist->counts, COUNTS_MAX) + (step == 1 ? 1 : -1), COUNTS_MAX);
		/* One that changes to and fro while the other stands still proves nothing: a wire may be broken. */
		if (changed + twist->changed == 3)
			twist->silent_fturn = 0;
		twist->changed = changed;
	}
}

/* Whole turns first, then the rest in hundreds of 1e-15: below 1e5 x 1e13. */
static int64_t fturn_of_counts(int64_t counts, int32_t steps_per_turn)
{
	int64_t whole = clamp(counts / steps_per_turn, FTURN_MAX / PPM / FTURN_OF_UTURN);
	int64_t rest = counts % steps_per_turn;

	return plus(whole * PPM * FTURN_OF_UTURN, rest * INT64_C(10000000000000) / steps_per_turn * 100);
}

static int64_t net_fturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	return rules->source == TD_TWIST_SENSOR
		       ? fturn_of_counts(clamp(twist->counts, COUNTS_MAX), rules->steps_per_turn)
		       : clamp(twist->net_fturn, FTURN_MAX);
}

static int64_t doubt_fturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	int64_t doubt = doubt_of(twist->unsure_fturn);

	if (rules->source == TD_TWIST_SENSOR) {
		int64_t slipped =
			fturn_of_counts(2 * (int64_t)twist->slips, (int32_t)size(rules->steps_per_turn));

		return plus(plus(doubt, doubt_of(twist->silent_fturn)), slipped);
	}
	return plus(doubt, (doubt_of(twist->gross_fturn) + PPM - 1) / PPM * rules->doubt_ppm);
}

/* How far the limit still is to one side (sign +1 left, -1 right); 0 = not at all. */
static int64_t left_fturn(const struct td_twist *twist, const struct td_twist_rules *rules, int64_t rate)
{
	int64_t limit = (int64_t)rules->limit_uturn * FTURN_OF_UTURN - doubt_fturn(twist, rules);
	int64_t net = net_fturn(twist, rules);
	int64_t left = (limit > 0 ? limit : 0) - (rate > 0 ? net : -net);

	return left > 0 ? left : 0;
}

/* The same for what driving so would do; unknown steering can go to either side. */
static int64_t nearest_fturn(const struct td_twist *twist, const struct td_twist_rules *rules, int64_t rate,
			     enum td_twist_side side)
{
	int64_t left = left_fturn(twist, rules, rate);

	if (side_known(side))
		return left;
	int64_t other = left_fturn(twist, rules, -rate);

	return left < other ? left : other;
}

bool td_twist_blocks(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		     enum td_twist_side side)
{
	if (way >= TD_WAYS || !td_twist_rules_ok(rules))
		return true;
	if (rules->source == TD_TWIST_UNLIMITED)
		return false;
	int64_t rate = rate_of(rules, way, side);

	return rate != 0 && nearest_fturn(twist, rules, rate, side) == 0;
}

/* How long until turns at `rate` and the doubt that comes with them have used up `left`: left x 1e6 / speed, rounded
 * up, divided by hand in steps of a thousand. Both speeds together are at most 2e13, so no product overflows. */
static td_ns used_up_ns(const struct td_twist_rules *rules, uint8_t way, int64_t rate, int64_t left)
{
	int64_t speed = size(rate) * PPM + rate_of(rules, way, TD_TWIST_UNKNOWN) * rules->doubt_ppm;
	td_ns span_ns = left / speed;
	int64_t rest = left % speed;

	for (int thousands = 0; thousands < 2; thousands++) {
		rest *= 1000;
		span_ns = span_ns * 1000 + rest / speed;
		rest %= speed;
	}
	return span_ns + (rest > 0);
}

td_ns td_twist_left_ns(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		       enum td_twist_side side)
{
	if (td_twist_blocks(twist, rules, way, side))
		return 0;
	if (rules->source == TD_TWIST_UNLIMITED)
		return TD_NEVER;
	int64_t rate = rate_of(rules, way, side);

	if (rate == 0)
		return TD_NEVER;
	int64_t left = nearest_fturn(twist, rules, rate, side);

	if (rules->source == TD_TWIST_SENSOR || !side_known(side))
		return (left + size(rate) - 1) / size(rate);
	return used_up_ns(rules, way, rate, left);
}

int64_t td_twist_net_uturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	return td_twist_rules_ok(rules) && rules->source != TD_TWIST_UNLIMITED
		       ? net_fturn(twist, rules) / FTURN_OF_UTURN
		       : 0;
}

int64_t td_twist_doubt_uturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	return td_twist_rules_ok(rules) && rules->source != TD_TWIST_UNLIMITED
		       ? (doubt_fturn(twist, rules) + FTURN_OF_UTURN - 1) / FTURN_OF_UTURN
		       : 0;
}
