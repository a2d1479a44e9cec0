/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "tests/explore/explore.h"

/* Later than anything may have been before. */
#define ORIGIN_NS TD_S(100)

void world_init(struct world *world, const struct law *law)
{
	memset(world, 0, sizeof(*world));
	td_core_init(&world->core, &law->core_rules, ORIGIN_NS);
	td_monitor_init(&world->monitor, &law->rules, ORIGIN_NS);
}

static const char *judge(struct world *world, const struct law *law, struct outcome *outcome)
{
	const struct td_result *result = &outcome->result;

	if (!td_monitor_judge(&world->monitor, &law->rules, world->core.now_ns, outcome->outputs,
			      &outcome->verdict))
		return td_breach_info(outcome->verdict.breach)->sentence;
	if (result->news_lost != 0)
		return "news were lost";
	if (result->deadline_ns <= world->core.now_ns)
		return "the deadline is not ahead";
	if (world->core.axis[0].trip == TD_CAUSE_INTERNAL)
		return "the core found itself in an impossible state";
	return NULL;
}

bool world_step(struct world *world, const struct law *law, const struct td_event *event,
		struct outcome *outcome)
{
	const struct world before = *world;
	const struct flaw *flaw = law->flaw;
	struct td_event heard = *event;

	if (flaw && flaw->event && !flaw->event(&heard))
		heard = (struct td_event){.kind = TD_EVENT_TIME, .at_ns = event->at_ns};
	td_core_step(&world->core, &law->core_rules, &heard, &outcome->result);
	outcome->outputs = outcome->result.outputs;
	if (flaw && flaw->outputs)
		outcome->outputs = flaw->outputs(outcome->outputs, &before);
	td_monitor_see(&world->monitor, &law->rules, event);
	outcome->fault = judge(world, law, outcome);
	return !outcome->fault;
}

/* --- the way back to motion ------------------------------------------------------------------------------- */

static uint32_t now(struct world *world, const struct law *law, struct td_event event)
{
	struct td_result result;

	event.at_ns = world->core.now_ns + (event.kind == TD_EVENT_TIME ? LATE_TICKS * TICK_NS : 1);
	td_core_step(&world->core, &law->core_rules, &event, &result);
	return result.outputs;
}

static bool starts(struct world world, const struct law *law, uint8_t way)
{
	const struct td_event ask = {
		.kind = TD_EVENT_REQUEST,
		.way = way,
		.session = 3, /* nobody's yet */
		.hold = 1,
		.lease_ns = TD_LEASE_MAX_NS,
	};

	return now(&world, law, ask) != 0;
}

bool world_recovers(const struct world *world, const struct law *law)
{
	static const struct td_event story[] = {
		{.kind = TD_EVENT_LEVELS},
		{.kind = TD_EVENT_TIME},
		{.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES},
		{.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER},
		{.kind = TD_EVENT_ARM},
		{.kind = TD_EVENT_TIME},
		{.kind = TD_EVENT_TIME},
	};
	struct world copy = *world;

	for (size_t i = 0; i < sizeof(story) / sizeof(story[0]); i++)
		(void)now(&copy, law, story[i]);
	return starts(copy, law, 0) || starts(copy, law, 1);
}
