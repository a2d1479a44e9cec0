/* SPDX-License-Identifier: MIT */
#include "tests/support/retold.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

/* 2026-11-25T02:13:44Z, when the trace begins. */
#define WALL_NS (INT64_C(1795572824) * TD_S(1))

enum { RENEW_MS = 100, LEASE_MS = 300 };

static void push(struct retold *self, struct td_entry *entry)
{
	struct td_error err = {""};
	bool core = entry->kind == TD_ENTRY_STEP || entry->kind == TD_ENTRY_NEWS;

	if (core)
		entry->number = self->number++;
	td_account_entry(&self->accountant, entry);
	if (self->tape && td_tape_put(self->tape, entry, &err) != 0)
		fail_msg("%s", err.text);
}

void retold_event(struct retold *self, struct td_event event)
{
	struct td_entry entry;

	event.at_ns = event.at_ns > 0 ? event.at_ns : self->now_ns;
	td_core_step(&self->core, &self->config.rules, &event, &self->result);
	td_entry_of_step(&entry, &self->core, &self->config.rules, &event, &self->result, self->levels);
	push(self, &entry);
	for (uint16_t i = 0; i < self->result.news_count; i++) {
		td_entry_of_news(&entry, &self->core, &self->result, i);
		entry.as.news.way = TD_NO_WAY;
		entry.as.news.sw = TD_NO_SWITCH;
		entry.as.news.role = TD_NO_ROLE;
		entry.as.news.session = 0;
		entry.as.news.hold = 0;
		push(self, &entry);
	}
}

static void read_config(struct td_config *config)
{
	static struct td_config_faults faults;

	if (!td_config_read("docs/examples/glasshouse.conf", config, &faults))
		fail_msg("%s", faults.fault[0].text);
}

static uint32_t level(const struct retold *self, uint8_t sw, bool active)
{
	bool high = td_switch_reads_active(&self->config.rules.sw[sw], true) == active;

	return high ? UINT32_C(1) << sw : 0;
}

void retold_begin(struct retold *self, bool beside)
{
	td_core_init(&self->core, &self->config.rules, 0);
	self->now_ns = TD_S(10);
	self->number = 100;
	td_account_head(&self->accountant, &self->config, beside ? &self->core : NULL, 0, self->now_ns,
			WALL_NS, self->number);
	for (uint8_t sw = 0; sw < self->config.switches; sw++) {
		bool active = strcmp(self->config.sw[sw].name, "boom_bottom") == 0 ||
			      strcmp(self->config.sw[sw].name, "vent_shut") == 0;

		self->levels |= level(self, sw, active);
	}
	retold_event(self, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = self->levels});
	retold_event(self, (struct td_event){.kind = TD_EVENT_ARM});
	retold_session(self, RETOLD_KEEPER, TD_ROLE_KEEPER, 1000);
	for (uint8_t axis = 0; axis < self->config.axes; axis++)
		retold_session(self, axis + 1U, TD_ROLE_VISITOR, 2000U + axis);
	retold_run(self, 1000);
}

void retold_open(struct retold *self, enum td_account_want want, bool beside)
{
	memset(self, 0, sizeof(*self));
	read_config(&self->config);
	td_account_begin(&self->accountant, want);
	if (beside)
		retold_begin(self, true);
}

void retold_switch(struct retold *self, const char *name, bool active)
{
	uint8_t sw = td_config_switch(&self->config, name);

	assert_int_not_equal(sw, TD_NO_SWITCH);
	self->levels = (self->levels & ~(UINT32_C(1) << sw)) | level(self, sw, active);
	retold_event(self, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = self->levels});
}

static void send(struct retold *self, uint8_t axis)
{
	struct retold_hold *hold = &self->hold[axis];

	retold_event(self, (struct td_event){.kind = TD_EVENT_REQUEST,
					     .axis = axis,
					     .way = hold->way,
					     .role = TD_ROLE_VISITOR,
					     .session = hold->session,
					     .hold = hold->number,
					     .seq = hold->seq++,
					     .lease_ns = TD_MS(LEASE_MS),
					     .heard_ns = self->now_ns});
	hold->next_ns = self->now_ns + TD_MS(RENEW_MS);
}

void retold_ask(struct retold *self, const char *axis, const char *way)
{
	uint8_t index = td_config_axis(&self->config, axis);
	struct retold_hold *hold = &self->hold[index];

	assert_int_not_equal(index, TD_NO_AXIS);
	hold->on = true;
	hold->session = index + 1U;
	hold->number++;
	hold->seq = 0;
	hold->way = td_config_way(&self->config, index, way);
	send(self, index);
}

void retold_drop(struct retold *self, const char *axis)
{
	self->hold[td_config_axis(&self->config, axis)].on = false;
}

void retold_release(struct retold *self, const char *axis)
{
	uint8_t index = td_config_axis(&self->config, axis);

	self->hold[index].on = false;
	retold_event(self, (struct td_event){.kind = TD_EVENT_RELEASE,
					     .axis = index,
					     .role = TD_ROLE_VISITOR,
					     .session = self->hold[index].session,
					     .hold = self->hold[index].number});
}

static td_ns next_ns(const struct retold *self)
{
	td_ns next = self->result.deadline_ns;

	for (uint8_t axis = 0; axis < self->config.axes; axis++)
		if (self->hold[axis].on)
			next = td_time_earlier(next, self->hold[axis].next_ns);
	return next;
}

void retold_run(struct retold *self, double ms)
{
	td_ns end_ns = self->now_ns + (td_ns)(ms * 1e6);

	for (td_ns at = next_ns(self); at <= end_ns; at = next_ns(self)) {
		self->now_ns = at;
		retold_event(self, (struct td_event){.kind = TD_EVENT_TIME});
		for (uint8_t axis = 0; axis < self->config.axes; axis++)
			if (self->hold[axis].on && self->now_ns >= self->hold[axis].next_ns)
				send(self, axis);
	}
	self->now_ns = end_ns;
	retold_event(self, (struct td_event){.kind = TD_EVENT_TIME});
}

void retold_session(struct retold *self, uint32_t session, uint8_t role, uint32_t uid)
{
	struct td_entry entry = {.kind = TD_ENTRY_SESSION, .at_ns = self->now_ns};

	entry.as.session = (struct td_entry_session){.session = session, .uid = uid, .role = role, .came = 1};
	push(self, &entry);
}

/* --- a trace ----------------------------------------------------------------------------------------- */

static char *config_text(size_t *length)
{
	static char text[16384];
	FILE *in = fopen("docs/examples/glasshouse.conf", "r");

	assert_non_null(in);
	*length = fread(text, 1, sizeof(text), in);
	assert_int_equal(fclose(in), 0);
	return text;
}

static void write_wall(char *out, size_t size, int64_t wall_ns)
{
	time_t seconds = (time_t)(wall_ns / TD_S(1));
	struct tm utc = {0};
	char text[32];

	(void)gmtime_r(&seconds, &utc);
	(void)strftime(text, sizeof(text), "%Y-%m-%dT%H:%M:%S", &utc);
	(void)snprintf(out, size, "%s.%03dZ", text, (int)(wall_ns % TD_S(1) / TD_MS(1)));
}

void retold_record(struct retold *self, const char *path, const char *kind)
{
	struct td_tape_head head = {.config_hash = self->config.hash};
	struct td_snapshot *snapshot = calloc(1, sizeof(*snapshot));
	struct td_error err = {""};
	size_t length = 0;

	retold_record_end(self);
	assert_non_null(snapshot);
	(void)snprintf(head.kind, sizeof(head.kind), "%s", kind);
	(void)snprintf(head.version, sizeof(head.version), "%s", self->version ? self->version : TD_VERSION);
	write_wall(head.wall, sizeof(head.wall), WALL_NS + self->core.now_ns - TD_S(10));
	snapshot->number = self->number;
	snapshot->levels = self->levels;
	snapshot->outputs = self->result.outputs;
	snapshot->core = self->core;
	self->file = fopen(path, "w");
	assert_non_null(self->file);
	char *text = config_text(&length);
	self->tape = td_tape_new(self->file, &self->config, text, length, &head, snapshot, &err);
	if (!self->tape)
		fail_msg("%s", err.text);
	free(snapshot);
}

void retold_record_end(struct retold *self)
{
	struct td_error err = {""};

	if (!self->tape)
		return;
	if (td_tape_finish(self->tape, self->core.now_ns, &err) != 0)
		fail_msg("%s", err.text);
	td_tape_free(self->tape);
	self->tape = NULL;
	assert_int_equal(fclose(self->file), 0);
}

const char *retold_tell(struct retold *self)
{
	static struct td_tale tale;
	const struct td_account *account = &self->accountant.account;
	size_t used;

	if (!account->found)
		return "nothing was found";
	td_tale_tell(&tale, account, &self->config, account->wall_ns + TD_S(90), "trip.vcd");
	used = (size_t)snprintf(self->text, sizeof(self->text), "%s\n", tale.headline);
	for (size_t i = 0; i < tale.lines && used < sizeof(self->text); i++)
		used += (size_t)snprintf(self->text + used, sizeof(self->text) - used, "%s: %s\n",
					 td_tale_label(tale.line[i].part), tale.line[i].text);
	return self->text;
}
