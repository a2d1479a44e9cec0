/* SPDX-License-Identifier: MIT */
#include "core/crc.h"
#include "core/record.h"
#include "trace/tape.h"

/* The record without its own checksum: a sum over bytes and their sum is always the same. */
enum { RECORD_SIZE = TD_KEEP_SIZE - 4 };

/* Bytes of one axis as status shows it. */
enum { VIEW_SIZE = 8 + TD_WAYS * 6 + 2 * 8 + 3 * 4 };

struct bytes {
	uint8_t byte[TD_KEEP_SIZE + TD_AXES_MAX * VIEW_SIZE];
	size_t used;
};

static void put(struct bytes *bytes, uint64_t value, size_t width)
{
	for (size_t i = 0; i < width && bytes->used < sizeof(bytes->byte); i++)
		bytes->byte[bytes->used++] = (uint8_t)(value >> 8 * i);
}

/* Field by field, so that it is the same in a build that lays them out otherwise. */
static void put_view(struct bytes *bytes, const struct td_axis_view *view)
{
	put(bytes, (uint64_t)view->state, 1);
	put(bytes, view->way, 1);
	put(bytes, view->moving, 1);
	put(bytes, (uint64_t)view->trip, 1);
	put(bytes, (uint64_t)view->position_ppm, 4);
	put(bytes, (uint64_t)view->lease_left_ns, 8);
	put(bytes, (uint64_t)view->wait_left_ns, 8);
	put(bytes, view->session, 4);
	put(bytes, view->hold, 4);
	for (int way = 0; way < TD_WAYS; way++) {
		put(bytes, (uint64_t)view->at_end[way] | (uint64_t)view->locked[way] << 1, 1);
		put(bytes, view->slower[way], 1);
		put(bytes, (uint64_t)view->slower_ppm[way], 4);
	}
}

uint32_t td_tape_check_of(const struct td_core *core, const struct td_rules *rules)
{
	struct bytes bytes = {.used = RECORD_SIZE};
	struct td_keep keep;

	td_record_take(core, rules, true, core->now_ns, &keep);
	td_keep_take(&keep, 0, core->now_ns, bytes.byte);
	for (uint8_t axis = 0; axis < rules->axes && axis < TD_AXES_MAX; axis++) {
		struct td_axis_view view;

		td_core_view(core, rules, axis, core->now_ns, &view);
		put_view(&bytes, &view);
	}
	return td_crc32(bytes.byte, bytes.used);
}
