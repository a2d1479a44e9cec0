/* SPDX-License-Identifier: MIT */
#include "core/wear.h"

td_ns td_wear_powered_ns(const struct td_wear *wear, uint8_t way, td_ns now_ns)
{
	if (way >= TD_WAYS)
		return 0;
	return wear->running == way + 1
		       ? td_time_after(wear->powered_ns[way], td_time_between(wear->since_ns, now_ns))
		       : wear->powered_ns[way];
}

void td_wear_power(struct td_wear *wear, uint8_t way, td_ns now_ns)
{
	uint8_t running = way < TD_WAYS ? (uint8_t)(way + 1) : 0;

	if (running == wear->running)
		return;
	for (uint8_t each = 0; each < TD_WAYS; each++)
		wear->powered_ns[each] = td_wear_powered_ns(wear, each, now_ns);
	wear->running = running;
	wear->since_ns = now_ns;
	if (running > 0 && wear->starts[way] < UINT32_MAX)
		wear->starts[way]++;
}
