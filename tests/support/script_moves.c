/* SPDX-License-Identifier: MIT */
/* What a machine does by itself in a scenario: contacts that rattle, whole travels. */
#include "tests/support/script.h"

int script_rattle(struct script *script, uint8_t sw, td_ns every_ns, td_ns until_ns)
{
	for (td_ns at_ns = script->core.now_ns; every_ns > 0 && at_ns <= until_ns; at_ns += every_ns) {
		if (script_advance(script, at_ns) != 0)
			return -1;
		script->active ^= UINT32_C(1) << sw;
		script_levels(script);
	}
	return 0;
}

static void hold(struct script *script, uint8_t axis, uint8_t way)
{
	script_event(script, (struct td_event){.kind = TD_EVENT_REQUEST,
					       .axis = axis,
					       .way = way,
					       .session = 1,
					       .hold = ++script->holds,
					       .lease_ns = TD_MS(300)});
	script->held[axis] = (struct held){.on = true,
					   .way = way,
					   .session = 1,
					   .hold = script->holds,
					   .next_ns = script->core.now_ns + TD_MS(100),
					   .until_ns = TD_NEVER};
}

/* Off the one end after 60 ms, on the other just in time for it to be confirmed after `travel_ns`. */
static int once(struct script *script, uint8_t axis, uint8_t way, td_ns travel_ns)
{
	const struct td_way_rules *rules = script->rules.axis[axis].way;
	uint8_t to = rules[way].end_switch;
	td_ns begin_ns = script->core.now_ns;

	hold(script, axis, way);
	script_advance(script, begin_ns + TD_MS(60));
	script->active &= ~(UINT32_C(1) << rules[1 - way].end_switch);
	script_levels(script);
	script_advance(script, begin_ns + travel_ns - script->rules.sw[to].confirm_ns);
	script->active |= UINT32_C(1) << to;
	script_levels(script);
	script_advance(script, begin_ns + travel_ns);
	script->held[axis].on = false;
	return script_advance(script, begin_ns + travel_ns + TD_MS(600));
}

int script_travel(struct script *script, uint8_t axis, uint8_t way, td_ns travel_ns, long times)
{
	uint8_t back = (uint8_t)(1 - way);

	for (; times > 0; times--)
		if (once(script, axis, way, travel_ns) != 0 ||
		    once(script, axis, back, script->rules.axis[axis].way[back].reach_ns) != 0)
			return -1;
	return 0;
}

bool script_nobody(struct script *script, uint8_t sw)
{
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++) {
			struct td_way_rules *rules = &script->rules.axis[axis].way[way];

			if (rules->end_switch != sw)
				continue;
			rules->end_switch = TD_NO_SWITCH;
			rules->early_ns = 0;
		}
	return td_rules_check(&script->rules).fault == TD_RULES_OK;
}
