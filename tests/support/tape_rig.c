/* SPDX-License-Identifier: MIT */
#include "tests/support/tape_rig.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static char *read_file(const char *path, size_t *length)
{
	enum { ROOM = 65537 };
	FILE *in = fopen(path, "rb");
	char *text = malloc(ROOM);

	assert_non_null(in);
	assert_non_null(text);
	*length = fread(text, 1, ROOM, in);
	(void)fclose(in);
	return text;
}

void tape_items_add(struct tape_items *items, const struct tape_item *item)
{
	if (items->count == items->room) {
		items->room = items->room ? items->room * 2 : 64;
		items->item = realloc(items->item, items->room * sizeof(*item));
		assert_non_null(items->item);
	}
	items->item[items->count++] = *item;
}

void tape_items_free(struct tape_items *items)
{
	free(items->item);
	*items = (struct tape_items){0};
}

void tape_rig_open_text(struct tape_rig *rig, const char *text, size_t length, td_ns now_ns)
{
	static struct td_config_faults faults;

	memset(rig, 0, sizeof(*rig));
	if (!td_config_read_text(text, length, "rig.conf", &rig->config, &faults))
		fail_msg("%s", faults.fault[0].text);
	rig->config_text = malloc(length + 1);
	assert_non_null(rig->config_text);
	memcpy(rig->config_text, text, length);
	rig->config_length = length;
	rig->number = 100;
	rig->dice = dice_start(2611);
	rig->head = (struct td_tape_head){.kind = "run",
					  .version = "9.8.7",
					  .wall = "2026-11-25T17:30:00Z",
					  .config_hash = rig->config.hash,
					  .machine = 0xfeedbeef};
	td_core_init(&rig->core, &rig->config.rules, now_ns);
}

void tape_rig_open(struct tape_rig *rig, const char *path, td_ns now_ns)
{
	size_t length;
	char *text = read_file(path, &length);

	tape_rig_open_text(rig, text, length, now_ns);
	free(text);
}

static void take_snapshot(const struct tape_rig *rig, struct td_snapshot *snapshot)
{
	snapshot->number = rig->number;
	snapshot->levels = rig->levels;
	snapshot->outputs = rig->result.outputs;
	snapshot->core = rig->core;
}

void tape_rig_record(struct tape_rig *rig)
{
	struct td_error err = {""};

	take_snapshot(rig, &rig->first);
	rig->out = open_memstream(&rig->bytes, &rig->length);
	assert_non_null(rig->out);
	rig->tape = td_tape_new(rig->out, &rig->config, rig->config_text, rig->config_length, &rig->head,
				&rig->first, &err);
	if (!rig->tape)
		fail_msg("%s", err.text);
}

void tape_rig_put(struct tape_rig *rig, const struct td_entry *entry)
{
	struct tape_item item = {.what = TAPE_ENTRY, .entry = *entry};
	struct td_error err = {""};

	if (!rig->tape)
		return;
	if (td_tape_put(rig->tape, entry, &err))
		fail_msg("%s", err.text);
	tape_items_add(&rig->made, &item);
}

void tape_rig_check(struct tape_rig *rig)
{
	struct tape_item item = {.what = TAPE_CHECK,
				 .number = td_tape_check_of(&rig->core, &rig->config.rules)};
	static struct td_snapshot snapshot;
	struct td_error err = {""};

	if (!rig->tape)
		return;
	take_snapshot(rig, &snapshot);
	if (td_tape_check(rig->tape, &snapshot, &err))
		fail_msg("%s", err.text);
	tape_items_add(&rig->made, &item);
}

void tape_rig_step(struct tape_rig *rig, const struct td_event *event)
{
	struct td_entry entry;

	td_core_step(&rig->core, &rig->config.rules, event, &rig->result);
	if (event->kind == TD_EVENT_LEVELS)
		rig->levels = event->levels;
	td_entry_of_step(&entry, &rig->core, &rig->config.rules, event, &rig->result, rig->levels);
	entry.number = rig->number++;
	tape_rig_put(rig, &entry);
	for (uint16_t i = 0; i < rig->result.news_count; i++) {
		td_entry_of_news(&entry, &rig->core, &rig->result, i);
		entry.number = rig->number++;
		tape_rig_put(rig, &entry);
	}
}

/* The levels that make these switches active, the others clear. */
static uint32_t levels_of(const struct tape_rig *rig, uint32_t active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < rig->config.switches; sw++) {
		bool wanted = (active >> sw & 1) != 0;

		if (td_switch_reads_active(&rig->config.rules.sw[sw], true) == wanted)
			word |= UINT32_C(1) << sw;
	}
	return word;
}

static void step_after(struct tape_rig *rig, td_ns span_ns, struct td_event event)
{
	event.at_ns = rig->core.now_ns + span_ns;
	tape_rig_step(rig, &event);
}

void tape_rig_ready(struct tape_rig *rig)
{
	step_after(rig, TD_MS(1), (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels_of(rig, 0)});
	step_after(rig, TD_MS(1), (struct td_event){.kind = TD_EVENT_ARM});
	step_after(rig, TD_S(2), (struct td_event){.kind = TD_EVENT_TIME});
}

/* --- a walk ------------------------------------------------------------------------------------------- */

/* Renews what is held, else asks for something. */
static struct td_event drive(struct tape_rig *rig)
{
	uint8_t axis = (uint8_t)dice_below(&rig->dice, rig->config.axes);
	const struct td_axis *self = &rig->core.axis[axis];
	bool held = self->way < TD_WAYS;

	return (struct td_event){
		.kind = TD_EVENT_REQUEST,
		.axis = axis,
		.way = held ? self->way : (uint8_t)dice_below(&rig->dice, TD_WAYS),
		.role = (uint8_t)dice_below(&rig->dice, 2),
		.session = held ? self->hold.session : 1 + (uint32_t)dice_below(&rig->dice, 3),
		.hold = held ? self->hold.number : (uint32_t)rig->number,
		.seq = held ? self->hold.seq + 1 : 0,
		.lease_ns = TD_MS(300),
		.heard_ns = rig->core.now_ns,
	};
}

static struct td_event order(struct tape_rig *rig)
{
	struct td_event event = {.kind = (enum td_event_kind)dice_below(&rig->dice, TD_EVENT_KINDS),
				 .axis = (uint8_t)dice_below(&rig->dice, rig->config.axes + 1U),
				 .way = (uint8_t)dice_below(&rig->dice, TD_WAYS),
				 .role = TD_ROLE_KEEPER,
				 .session = 1 + (uint32_t)dice_below(&rig->dice, 3)};

	if (event.axis == rig->config.axes)
		event.axis = TD_ALL_AXES;
	if (event.kind == TD_EVENT_LEVELS)
		event.levels = levels_of(rig, UINT32_C(1) << dice_below(&rig->dice, 32));
	return event;
}

static struct td_event nonsense(struct tape_rig *rig)
{
	struct td_event event = {0};
	uint8_t rubbish[64];

	dice_rubbish(&rig->dice, rubbish, sizeof(rubbish));
	event.kind = (enum td_event_kind)(rubbish[0] % (TD_EVENT_KINDS + 3));
	memcpy(&event.levels, rubbish + 1, 4);
	memcpy(&event.axis, rubbish + 5, 1);
	memcpy(&event.way, rubbish + 6, 1);
	memcpy(&event.role, rubbish + 7, 1);
	memcpy(&event.session, rubbish + 8, 4);
	memcpy(&event.hold, rubbish + 12, 4);
	memcpy(&event.seq, rubbish + 16, 4);
	memcpy(&event.lease_ns, rubbish + 20, 8);
	memcpy(&event.heard_ns, rubbish + 28, 8);
	memcpy(&event.at_ns, rubbish + 36, 8);
	return event;
}

/* Nearly always a little later; now and then at the same time, or earlier. */
static td_ns next_time(struct tape_rig *rig)
{
	td_ns now_ns = rig->core.now_ns;

	switch (dice_below(&rig->dice, 40)) {
	case 0: return now_ns - dice_span(&rig->dice, 1, TD_S(10));
	case 1: return -dice_span(&rig->dice, 1, TD_S(1000));
	case 2: return dice_below(&rig->dice, 2) ? INT64_MIN : TD_NEVER;
	case 3:
	case 4:
	case 5: return now_ns;
	case 6: return now_ns + dice_span(&rig->dice, 1, TD_S(100));
	default: return now_ns + dice_span(&rig->dice, TD_US(1), TD_MS(100));
	}
}

static void client(struct tape_rig *rig)
{
	uint64_t roll = dice_below(&rig->dice, 3);
	struct td_entry entry = {
		.kind = roll == 2 ? TD_ENTRY_REFUSED : TD_ENTRY_SESSION,
		.at_ns = rig->core.now_ns - (td_ns)dice_below(&rig->dice, TD_MS(1)),
		.as.session = {.session = 1 + (uint32_t)dice_below(&rig->dice, 3),
			       .uid = (uint32_t)dice_bits(&rig->dice),
			       .role = (uint8_t)dice_below(&rig->dice, 2),
			       .came = roll == 0,
			       .cause = roll == 2 ? TD_CAUSE_NOT_ALLOWED : 0},
	};

	tape_rig_put(rig, &entry);
}

void tape_rig_walk(struct tape_rig *rig, int steps, bool wild)
{
	for (int i = 0; i < steps; i++) {
		uint64_t roll = dice_below(&rig->dice, 100);
		struct td_event event = {.kind = TD_EVENT_TIME};

		if (roll < 60)
			event = drive(rig);
		else if (wild && roll < 65)
			event = nonsense(rig);
		else if (roll >= 80)
			event = order(rig);
		event.at_ns = next_time(rig);
		tape_rig_step(rig, &event);
		if (rig->core.latch != 0 && roll > 90)
			step_after(rig, TD_S(1),
				   (struct td_event){.kind = TD_EVENT_RESET,
						     .axis = TD_ALL_AXES,
						     .role = TD_ROLE_KEEPER,
						     .session = 2});
		if (!rig->core.armed)
			tape_rig_ready(rig);
		if (roll == 98)
			client(rig);
		if (roll == 99)
			tape_rig_check(rig);
	}
}

void tape_rig_finish(struct tape_rig *rig)
{
	struct td_error err = {""};

	if (td_tape_finish(rig->tape, rig->core.now_ns, &err))
		fail_msg("%s", err.text);
	assert_int_equal(fclose(rig->out), 0);
	rig->out = NULL;
}

void tape_rig_close(struct tape_rig *rig)
{
	td_tape_free(rig->tape);
	if (rig->out)
		(void)fclose(rig->out);
	free(rig->bytes);
	free(rig->config_text);
	tape_items_free(&rig->made);
}
