/* SPDX-License-Identifier: MIT */
#include "daemon/client/grip.h"

td_ns td_grip_due(const struct td_grip *grip)
{
	if (!grip->held && !grip->spent)
		return TD_NEVER;
	return td_time_after(grip->key_ns, grip->repeats ? TD_GRIP_REPEAT_NS : TD_GRIP_FIRST_NS);
}

static enum td_grip_deed take(struct td_grip *grip, uint8_t way, td_ns now_ns)
{
	*grip = (struct td_grip){.held = true, .way = way, .key_ns = now_ns};
	return TD_GRIP_TAKE;
}

enum td_grip_deed td_grip_key(struct td_grip *grip, uint8_t way, td_ns now_ns)
{
	bool down = (grip->held || grip->spent) && grip->way == way && now_ns < td_grip_due(grip);

	if (!down)
		return take(grip, way, now_ns);
	grip->repeats = true;
	grip->key_ns = now_ns;
	return TD_GRIP_NOTHING;
}

enum td_grip_deed td_grip_tick(struct td_grip *grip, td_ns now_ns)
{
	bool held = grip->held;

	if (now_ns < td_grip_due(grip))
		return TD_GRIP_NOTHING;
	grip->held = false;
	grip->spent = false;
	return held ? TD_GRIP_LET_GO : TD_GRIP_NOTHING;
}

void td_grip_end(struct td_grip *grip)
{
	grip->spent = grip->spent || grip->held;
	grip->held = false;
}
