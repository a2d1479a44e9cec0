/* SPDX-License-Identifier: MIT */
#include "core/keep.h"

#include <stdbool.h>
#include <string.h>

#include "core/crc.h"

/* "TDKP" read as a little-endian number. */
#define MAGIC UINT32_C(0x504b4454)

enum { SUM_AT = TD_KEEP_SIZE - 4 };

/*
 * One walk over the record, to write it or to read it: the fields stand in one list for both. The size was
 * checked before, and the list is as long as TD_KEEP_SIZE.
 */
struct walk {
	uint64_t (*pass)(struct walk *walk, size_t width, uint64_t value); /* the value, or what was read */
	uint8_t *to;
	const uint8_t *from;
	size_t at;
};

static uint64_t get(const uint8_t *bytes, size_t width)
{
	uint64_t value = 0;

	for (size_t i = width; i > 0; i--)
		value = value << 8 | bytes[i - 1];
	return value;
}

static void put(uint8_t *bytes, size_t width, uint64_t value)
{
	for (size_t i = 0; i < width; i++)
		bytes[i] = (uint8_t)(value >> 8 * i & UINT8_MAX);
}

static uint64_t pass_out(struct walk *walk, size_t width, uint64_t value)
{
	put(walk->to + walk->at, width, value);
	walk->at += width;
	return value;
}

static uint64_t pass_in(struct walk *walk, size_t width, uint64_t value)
{
	(void)value;
	walk->at += width;
	return get(walk->from + walk->at - width, width);
}

static void u8(struct walk *walk, uint8_t *value)
{
	*value = (uint8_t)walk->pass(walk, 1, *value);
}

static void u32(struct walk *walk, uint32_t *value)
{
	*value = (uint32_t)walk->pass(walk, 4, *value);
}

static void u64(struct walk *walk, uint64_t *value)
{
	*value = walk->pass(walk, 8, *value);
}

/* Two's complement, to and fro by sums alone: nothing is left to a conversion. */
static void i64(struct walk *walk, int64_t *value)
{
	uint64_t bits = *value >= 0 ? (uint64_t)*value : UINT64_MAX - (uint64_t)(-1 - *value);

	bits = walk->pass(walk, 8, bits);

	*value = bits <= INT64_MAX ? (int64_t)bits : -(int64_t)(UINT64_MAX - bits) - 1;
}

static void walk_budget(struct walk *walk, struct td_budget *budget)
{
	i64(walk, &budget->begin_ns);
	u8(walk, &budget->newest);
	for (int i = 0; i < TD_BUDGET_BUCKETS; i++) {
		u32(walk, &budget->bucket[i].on_us);
		u32(walk, &budget->bucket[i].last_us);
	}
}

static void walk_duty(struct walk *walk, struct td_duty *duty)
{
	u8(walk, &duty->hot);
	i64(walk, &duty->since_ns);
	u64(walk, &duty->theta);
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		walk_budget(walk, &duty->budget[i]);
}

static void walk_trend(struct walk *walk, struct td_trend *trend)
{
	i64(walk, &trend->learned_ns);
	i64(walk, &trend->recent_ns);
	i64(walk, &trend->last_ns[0]);
	i64(walk, &trend->last_ns[1]);
	u8(walk, &trend->learned);
	u8(walk, &trend->slow);
	u8(walk, &trend->warned);
}

static void walk_axis(struct walk *walk, struct td_keep_axis *axis)
{
	walk_duty(walk, &axis->duty);
	for (int way = 0; way < TD_WAYS; way++) {
		i64(walk, &axis->powered_ns[way]);
		u32(walk, &axis->starts[way]);
		walk_trend(walk, &axis->trend[way]);
	}
}

static void walk_twist(struct walk *walk, struct td_twist *twist)
{
	i64(walk, &twist->net_fturn);
	i64(walk, &twist->gross_fturn);
	i64(walk, &twist->unsure_fturn);
	i64(walk, &twist->silent_fturn);
	i64(walk, &twist->counts);
	u32(walk, &twist->slips);
}

static void start(struct td_keep *keep, td_ns now_ns)
{
	memset(keep, 0, sizeof(*keep));
	keep->closed = 1;
	td_twist_straighten(&keep->twist);
	for (int i = 0; i < TD_AXES_MAX; i++)
		td_duty_init(&keep->axis[i].duty, now_ns);
}

void td_keep_init(struct td_keep *keep, td_ns now_ns)
{
	start(keep, now_ns);
}

void td_keep_init_unknown(struct td_keep *keep, td_ns now_ns)
{
	start(keep, now_ns);
	keep->latched = 1;
	keep->closed = 0;
	keep->locked = UINT32_MAX;
	td_twist_init_unknown(&keep->twist);
	for (int i = 0; i < TD_AXES_MAX; i++)
		td_duty_init_unknown(&keep->axis[i].duty, now_ns);
}

/* The axis with its times as ages (below 0). */
static struct td_keep_axis aged(const struct td_keep_axis *axis, td_ns now_ns)
{
	struct td_keep_axis copy = *axis;

	if (copy.duty.powered != 0 || !td_duty_sane(&copy.duty) || copy.duty.since_ns > now_ns)
		td_duty_init_unknown(&copy.duty, now_ns);
	td_duty_shift(&copy.duty, -now_ns);
	return copy;
}

void td_keep_take(const struct td_keep *keep, uint32_t machine, td_ns now_ns, uint8_t bytes[TD_KEEP_SIZE])
{
	struct walk walk = {.pass = pass_out, .to = bytes};
	struct td_twist twist = keep->twist;

	pass_out(&walk, 4, MAGIC);
	pass_out(&walk, 4, TD_KEEP_VERSION);
	pass_out(&walk, 4, TD_KEEP_SIZE);
	pass_out(&walk, 4, machine);
	pass_out(&walk, 1, keep->latched != 0);
	pass_out(&walk, 1, keep->closed != 0);
	pass_out(&walk, 4, keep->locked);
	walk_twist(&walk, &twist);
	for (int i = 0; i < TD_AXES_MAX; i++) {
		struct td_keep_axis axis = aged(&keep->axis[i], now_ns < 0 ? 0 : now_ns);

		walk_axis(&walk, &axis);
	}
	pass_out(&walk, 4, td_crc32(bytes, SUM_AT));
}

static bool axis_sane(const struct td_keep_axis *axis)
{
	bool sane = td_duty_sane(&axis->duty) && axis->duty.since_ns <= 0;

	for (int way = 0; way < TD_WAYS; way++)
		sane = sane && axis->powered_ns[way] >= 0 && td_trend_sane(&axis->trend[way]);
	return sane;
}

/* The fields after the head; false where one cannot be. */
static bool read_fields(struct td_keep *keep, const uint8_t *bytes)
{
	struct walk walk = {.pass = pass_in, .from = bytes, .at = TD_KEEP_HEAD_SIZE};
	bool sane = true;

	u8(&walk, &keep->latched);
	u8(&walk, &keep->closed);
	u32(&walk, &keep->locked);
	walk_twist(&walk, &keep->twist);
	for (int i = 0; i < TD_AXES_MAX; i++) {
		walk_axis(&walk, &keep->axis[i]);
		sane = sane && axis_sane(&keep->axis[i]);
	}
	return sane && keep->latched <= 1 && keep->closed <= 1;
}

static enum td_keep_verdict judge(const uint8_t *bytes, size_t count, uint32_t machine)
{
	/* A record of another version may have another size; its checksum stands at its own end. */
	if (count < TD_KEEP_HEAD_SIZE + 4 || get(bytes, 4) != MAGIC || get(bytes + 8, 4) != count ||
	    get(bytes + count - 4, 4) != td_crc32(bytes, count - 4))
		return TD_KEEP_DAMAGED;
	if (get(bytes + 4, 4) != TD_KEEP_VERSION)
		return TD_KEEP_OTHER_VERSION;
	if (count != TD_KEEP_SIZE)
		return TD_KEEP_DAMAGED;
	return get(bytes + 12, 4) == machine ? TD_KEEP_OK : TD_KEEP_OTHER_MACHINE;
}

enum td_keep_verdict td_keep_restore(struct td_keep *keep, const uint8_t *bytes, size_t count,
				     uint32_t machine, td_ns now_ns, td_ns off_ns)
{
	enum td_keep_verdict verdict = judge(bytes, count, machine);

	td_keep_init(keep, 0);
	if (verdict == TD_KEEP_OK && !read_fields(keep, bytes))
		verdict = TD_KEEP_DAMAGED;
	if (verdict != TD_KEEP_OK) {
		td_keep_init_unknown(keep, now_ns);
		return verdict;
	}
	/* The record was taken off_ns before now; the axes have rested since. */
	now_ns = now_ns < 0 ? 0 : now_ns;
	off_ns = off_ns < 0 ? 0 : off_ns;
	for (int i = 0; i < TD_AXES_MAX; i++)
		td_duty_shift(&keep->axis[i].duty, now_ns - off_ns);
	return TD_KEEP_OK;
}
