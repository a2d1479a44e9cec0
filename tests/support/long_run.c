/* SPDX-License-Identifier: MIT */
#include "tests/support/long_run.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/rule_cart.h"
#include "tests/support/rule_text.h"
#include "trace/tape.h"

enum { TICK_MS = 25, MARK_TICKS = 400, TRAVEL_TICKS = 60, RESET_TICKS = 200, ROUGH_STEP = 60 };

struct run {
	FILE *out;
	struct td_config config;
	struct td_core core;
	struct td_result result;
	struct td_tape *tape;
	uint64_t number;
	uint32_t levels;
	uint32_t active;
	uint32_t hold;
	td_ns now_ns;
	int64_t steps;
	bool failed;
};

static void put(struct run *run, struct td_entry *entry)
{
	struct td_error err;

	entry->number = run->number++;
	run->failed |= td_tape_put(run->tape, entry, &err) != 0;
}

static void step(struct run *run, struct td_event event)
{
	struct td_entry entry;

	event.at_ns = run->now_ns;
	td_core_step(&run->core, &run->config.rules, &event, &run->result);
	run->steps++;
	td_entry_of_step(&entry, &run->core, &run->config.rules, &event, &run->result, run->levels);
	put(run, &entry);
	for (uint16_t i = 0; i < run->result.news_count; i++) {
		td_entry_of_news(&entry, &run->core, &run->result, i);
		put(run, &entry);
	}
}

static void set_switch(struct run *run, uint8_t sw, bool active)
{
	uint32_t bit = UINT32_C(1) << sw;

	run->active = active ? run->active | bit : run->active & ~bit;
	run->levels = 0;
	for (uint8_t i = 0; i < RULE_SWITCHES; i++)
		if (rule_level(&run->config.rules, i, (run->active >> i & 1) != 0))
			run->levels |= UINT32_C(1) << i;
	step(run, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = run->levels});
}

/* Held ways are renewed; where nobody holds, the other way is asked for. */
static void renew(struct run *run, uint8_t axis)
{
	const struct td_axis *self = &run->core.axis[axis];
	bool held = self->way < TD_WAYS;

	step(run, (struct td_event){.kind = TD_EVENT_REQUEST,
				    .axis = axis,
				    .way = held ? self->way : self->last_way == 0,
				    .session = 1U + axis,
				    .hold = held ? self->hold.number : ++run->hold,
				    .seq = held ? self->hold.seq + 1 : 0,
				    .lease_ns = TD_MS(300),
				    .heard_ns = run->now_ns - TD_US(80)});
}

/* The boom: off the one end, and 1500 ms later on the other. */
static void move_ends(struct run *run, int64_t tick)
{
	uint8_t to = tick / TRAVEL_TICKS % 2 ? RULE_BOTTOM : RULE_TOP;
	uint8_t from = to == RULE_TOP ? RULE_BOTTOM : RULE_TOP;

	if (tick % TRAVEL_TICKS == 5)
		set_switch(run, from, false);
	if (tick % TRAVEL_TICKS == TRAVEL_TICKS - 1)
		set_switch(run, to, true);
}

static void mark(struct run *run)
{
	const struct td_snapshot snapshot = {.number = run->number,
					     .levels = run->levels,
					     .outputs = run->result.outputs,
					     .core = run->core};
	struct td_error err;

	run->failed |= td_tape_check(run->tape, &snapshot, &err) != 0;
}

static void tick(struct run *run, int64_t tick)
{
	run->now_ns += TD_MS(TICK_MS);
	move_ends(run, tick);
	renew(run, (uint8_t)(tick % RULE_AXES));
	if (tick % 2 == 0)
		step(run, (struct td_event){.kind = TD_EVENT_TIME});
	if (tick % RESET_TICKS == 0)
		step(run,
		     (struct td_event){.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER});
	if (tick % MARK_TICKS == 0)
		mark(run);
}

static bool begin(struct run *run)
{
	struct td_rules rules = rule_cart();
	struct td_tape_head head = {.kind = "run", .version = "test", .wall = "2026-11-25T00:00:00Z"};
	char *text = rule_text(&rules);
	bool fine = rule_text_config(text, &rules, &run->config);
	struct td_error err;

	head.config_hash = run->config.hash;
	run->now_ns = TD_S(1);
	td_core_init(&run->core, &run->config.rules, run->now_ns);
	const struct td_snapshot snapshot = {.core = run->core};

	run->tape =
		fine ? td_tape_new(run->out, &run->config, text, strlen(text), &head, &snapshot, &err) : NULL;
	free(text);
	return run->tape;
}

int64_t long_run_write(FILE *out, int64_t bytes)
{
	struct run run = {.out = out};
	struct td_error err;

	if (!begin(&run))
		return -1;
	set_switch(&run, RULE_BOTTOM, true);
	step(&run, (struct td_event){.kind = TD_EVENT_ARM});
	for (int64_t n = 1; !run.failed && run.steps * ROUGH_STEP < bytes; n++)
		tick(&run, n);
	run.failed |= td_tape_finish(run.tape, run.now_ns, &err) != 0;
	td_tape_free(run.tape);
	return run.failed ? -1 : run.steps;
}
