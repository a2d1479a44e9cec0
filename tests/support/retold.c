/* SPDX-License-Identifier: MIT */
#include "tests/support/retold.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* 2026-11-25T02:13:44Z, when the trace begins. */
#define WALL_NS (INT64_C(1795572824) * TD_S(1))

enum { RENEW_MS = 100, LEASE_MS = 300 };

static void push(struct retold *self, struct td_entry *entry)
{
	entry->number = self->number++;
	td_account_entry(&self->accountant, entry);
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
		entry.as.news = (struct td_news){.cause = entry.as.news.cause,
						 .axis = entry.as.news.axis,
						 .way = TD_NO_WAY,
						 .sw = TD_NO_SWITCH,
						 .role = TD_NO_ROLE};
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
	td_account_entry(&self->accountant, &entry);
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
