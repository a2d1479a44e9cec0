/* SPDX-License-Identifier: MIT */
#include "tests/support/recorder.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/step.h"
#include "tests/support/rule_cart.h"

#define SNAPSHOT_EVERY_NS TD_S(10)
#define TEND_EVERY_NS     TD_S(1)

static const char TEXT[] = "[machine]\n"
			   "name = cart of the tests\n"
			   "backend = bench\n"
			   "board = board.sock\n"
			   "state_dir = state\n"
			   "[keeper]\nsocket = keeper.sock\n"
			   "[axis drive]\nways = backward forward\n"
			   "[way drive backward]\ninput = cart:0\nhold_limit_ms = 20000\n"
			   "[way drive forward]\ninput = cart:1\nhold_limit_ms = 20000\n"
			   "[axis vent]\nways = close open\n"
			   "[way vent close]\ninput = cart:2\nend_switch = vent_shut\ntravel_ms = 2500\n"
			   "[way vent open]\ninput = cart:3\nend_switch = vent_open\ntravel_ms = 2500\n"
			   "[switch vent_shut]\nline = cart:4\n"
			   "[switch vent_open]\nline = cart:5\n";

int64_t recorder_wall_add_s;

int64_t recorder_wall_s(void)
{
	return RECORDER_NOON_S + recorder_wall_add_s;
}

struct td_archive_setup recorder_setup(const struct recorder *recorder, const char *dir)
{
	return (struct td_archive_setup){
		.dir = dir,
		.config = &recorder->config,
		.config_text = recorder->text,
		.config_length = recorder->length,
		.size_max = INT64_C(32) * 1024 * 1024,
		.daily_max = INT64_C(5) * 1024 * 1024,
		.wall_s = recorder_wall_s,
	};
}

static void read_config(struct recorder *recorder)
{
	static struct td_config_faults faults;

	recorder->text = TEXT;
	recorder->length = sizeof(TEXT) - 1;
	if (td_config_read_text(TEXT, sizeof(TEXT) - 1, "recorder", &recorder->config, &faults))
		return;
	fprintf(stderr, "recorder: %s\n", faults.fault[0].text);
	abort();
}

static uint32_t levels(const struct recorder *recorder, bool active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < recorder->config.switches; sw++)
		if (rule_level(&recorder->config.rules, sw, active))
			word |= UINT32_C(1) << sw;
	return word;
}

static void give(struct recorder *recorder, struct td_entry *entry)
{
	entry->number = recorder->number++;
	if (recorder->lose > 0) {
		recorder->lose--;
		recorder->snapshot_ns = recorder->now_ns; /* the next one that comes begins anew */
	} else if (recorder->archive)
		td_archive_entry(recorder->archive, entry);
}

static void lay_snapshot(struct recorder *recorder)
{
	static struct td_snapshot snapshot;

	snapshot.number = recorder->number;
	snapshot.levels = recorder->levels;
	snapshot.outputs = recorder->result.outputs;
	snapshot.core = recorder->core;
	recorder->snapshot_ns = recorder->now_ns + SNAPSHOT_EVERY_NS;
	if (recorder->archive)
		td_archive_snapshot(recorder->archive, &snapshot);
}

void recorder_step(struct recorder *recorder, struct td_event event)
{
	struct td_entry entry;

	if (recorder->now_ns >= recorder->snapshot_ns)
		lay_snapshot(recorder);
	event.at_ns = recorder->now_ns;
	if (event.kind == TD_EVENT_LEVELS)
		recorder->levels = event.levels;
	td_core_step(&recorder->core, &recorder->config.rules, &event, &recorder->result);
	td_entry_of_step(&entry, &recorder->core, &recorder->config.rules, &event, &recorder->result,
			 recorder->levels);
	give(recorder, &entry);
	for (uint16_t i = 0; i < recorder->result.news_count; i++) {
		td_entry_of_news(&entry, &recorder->core, &recorder->result, i);
		give(recorder, &entry);
	}
}

static void pass(struct recorder *recorder, td_ns span_ns)
{
	recorder->now_ns += span_ns;
	if (!recorder->archive || recorder->now_ns < recorder->tend_ns)
		return;
	recorder->tend_ns = recorder->now_ns + TEND_EVERY_NS;
	td_archive_tend(recorder->archive, recorder->now_ns);
}

void recorder_start(struct recorder *recorder, td_ns now_ns)
{
	memset(recorder, 0, sizeof(*recorder));
	read_config(recorder);
	recorder->now_ns = now_ns;
	recorder->levels = levels(recorder, false);
	td_core_init(&recorder->core, &recorder->config.rules, now_ns);
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = recorder->levels});
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_ARM});
	recorder->number = 0;
	recorder->snapshot_ns = now_ns;
	recorder->tend_ns = now_ns;
}

void recorder_rest(struct recorder *recorder, td_ns span_ns)
{
	for (td_ns rest_ns = span_ns; rest_ns > 0; rest_ns -= TD_MS(500)) {
		pass(recorder, TD_MS(500));
		recorder_step(recorder, (struct td_event){.kind = TD_EVENT_TIME});
	}
}

void recorder_drive(struct recorder *recorder, td_ns span_ns)
{
	struct td_event ask = {
		.kind = TD_EVENT_REQUEST,
		.axis = RECORDER_DRIVE,
		.way = recorder->hold % TD_WAYS,
		.role = TD_ROLE_KEEPER,
		.session = 7,
		.hold = ++recorder->hold,
		.lease_ns = TD_MS(300),
	};

	for (td_ns rest_ns = span_ns; rest_ns > 0; rest_ns -= TD_MS(100)) {
		pass(recorder, TD_MS(100));
		ask.heard_ns = recorder->now_ns;
		recorder_step(recorder, ask);
		ask.seq++;
	}
	ask.kind = TD_EVENT_RELEASE;
	recorder_step(recorder, ask);
}

void recorder_trip(struct recorder *recorder)
{
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(recorder, true)});
	pass(recorder, TD_MS(20));
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_TIME});
	recorder_step(recorder,
		      (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(recorder, false)});
	pass(recorder, TD_MS(100));
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_TIME});
	recorder_step(recorder, (struct td_event){.kind = TD_EVENT_RESET,
						  .axis = TD_ALL_AXES,
						  .role = TD_ROLE_KEEPER,
						  .session = 7});
}
