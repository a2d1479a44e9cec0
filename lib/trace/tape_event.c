/* SPDX-License-Identifier: MIT */
#include "trace/tape_parts.h"

enum {
	AXIS = 1 << 0,
	WAY = 1 << 1,
	ROLE = 1 << 2,
	SESSION = 1 << 3,
	HOLD = 1 << 4,
	SEQ = 1 << 5,
	LEASE = 1 << 6,
	HEARD = 1 << 7,
	LEVELS = 1 << 8,
};

/* What each kind is about (core/event.h): shown even where it is 0. What else stands in an event is shown where it is not. */
static const uint32_t about[TD_EVENT_KINDS] = {
	[TD_EVENT_LEVELS] = LEVELS,
	[TD_EVENT_REQUEST] = AXIS | WAY | ROLE | SESSION | HOLD | SEQ | LEASE,
	[TD_EVENT_RELEASE] = AXIS | SESSION | HOLD,
	[TD_EVENT_GONE] = SESSION,
	[TD_EVENT_TURN_OVER] = SESSION,
	[TD_EVENT_STOP] = AXIS,
	[TD_EVENT_RESET] = AXIS | ROLE | SESSION,
	[TD_EVENT_COOLED] = AXIS | ROLE | SESSION,
	[TD_EVENT_LOCK_KEPT] = AXIS | WAY,
	[TD_EVENT_UNTWISTED] = ROLE | SESSION,
};

int64_t td_tape_signed(uint64_t bits)
{
	return bits <= INT64_MAX ? (int64_t)bits : -(int64_t)(UINT64_MAX - bits) - 1;
}

uint32_t td_tape_fields_of(const struct td_event *event, uint64_t field[TD_TAPE_FIELDS])
{
	const uint64_t value[TD_TAPE_FIELDS] = {
		event->axis,
		event->way,
		event->role,
		event->session,
		event->hold,
		event->seq,
		(uint64_t)event->lease_ns,
		(uint64_t)event->heard_ns,
		event->levels,
	};
	unsigned int kind = (unsigned int)event->kind;
	uint32_t given = kind < TD_EVENT_KINDS ? about[kind] : 0;

	for (unsigned int i = 0; i < TD_TAPE_FIELDS; i++) {
		field[i] = value[i];
		if (value[i] != 0)
			given |= 1U << i;
	}
	field[TD_TAPE_AGE - TD_TAPE_AXIS] = (uint64_t)event->at_ns - (uint64_t)event->heard_ns;
	return given;
}

void td_tape_event_of(struct td_event *event, uint32_t given, const uint64_t field[TD_TAPE_FIELDS])
{
	uint64_t value[TD_TAPE_FIELDS];

	for (unsigned int i = 0; i < TD_TAPE_FIELDS; i++)
		value[i] = (given >> i & 1) != 0 ? field[i] : 0;
	event->axis = (uint8_t)value[0];
	event->way = (uint8_t)value[1];
	event->role = (uint8_t)value[2];
	event->session = (uint32_t)value[3];
	event->hold = (uint32_t)value[4];
	event->seq = (uint32_t)value[5];
	event->lease_ns = td_tape_signed(value[6]);
	event->heard_ns = (given & HEARD) != 0 ? td_tape_signed((uint64_t)event->at_ns - value[7]) : 0;
	event->levels = (uint32_t)value[8];
}
