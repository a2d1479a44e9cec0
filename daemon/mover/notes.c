/* SPDX-License-Identifier: MIT */
#include "daemon/mover/notes.h"

#include <string.h>

#include "daemon/channel.h"

#define SHOW_EVERY_NS TD_MS(50)

void td_notes_init(struct td_notes *notes, int fd)
{
	memset(notes, 0, sizeof(*notes));
	notes->fd = fd;
	notes->owed = true;
}

static bool send_note(struct td_notes *notes, td_ns now_ns, struct td_note *note)
{
	note->magic = TD_MSG_MAGIC;
	note->at_ns = now_ns;
	enum td_channel_result sent = td_channel_send_note(notes->fd, note);

	notes->gone |= sent == TD_CHANNEL_GONE;
	return sent == TD_CHANNEL_DONE;
}

void td_notes_answer(struct td_notes *notes, td_ns now_ns, uint64_t tag, enum td_cause cause)
{
	struct td_note note = {.kind = TD_NOTE_ANSWER};

	if (tag == 0)
		return;
	note.as.answer.tag = tag;
	note.as.answer.cause = (uint8_t)cause;
	notes->lost |= !send_note(notes, now_ns, &note);
}

void td_notes_news(struct td_notes *notes, td_ns now_ns, const struct td_result *result, uint32_t levels)
{
	for (uint16_t i = 0; i < result->news_count; i++) {
		const struct td_news *news = &result->news[i];
		struct td_note note = {.kind = TD_NOTE_NEWS};

		note.as.news = (struct td_note_news){
			.cause = (uint8_t)news->cause,
			.axis = news->axis,
			.way = news->way,
			.sw = news->sw,
			.role = news->role,
			.session = news->session,
			.hold = news->hold,
			.outputs = result->outputs,
			.levels = levels,
		};
		notes->lost |= !send_note(notes, now_ns, &note);
	}
}

void td_notes_ping(struct td_notes *notes, td_ns now_ns)
{
	struct td_note note = {.kind = TD_NOTE_PING};

	(void)send_note(notes, now_ns, &note);
}

static void tell_breach(struct td_notes *notes)
{
	if (!notes->breach_owed)
		return;
	notes->breach_owed = !send_note(notes, notes->breach.at_ns, &notes->breach);
	notes->lost |= notes->breach_owed;
}

void td_notes_breach(struct td_notes *notes, const struct td_verdict *verdict, uint32_t outputs)
{
	if (notes->breach_owed)
		return;
	notes->breach = (struct td_note){.kind = TD_NOTE_BREACH, .at_ns = verdict->at_ns};
	notes->breach.as.breach = (struct td_note_breach){
		.breach = (uint8_t)verdict->breach,
		.axis = verdict->axis,
		.way = verdict->way,
		.outputs = outputs,
		.measured_ns = verdict->measured_ns,
		.bound_ns = verdict->bound_ns,
	};
	notes->breach_owed = true;
	tell_breach(notes);
}

static struct td_note_axis axis_note(const struct td_core *core, const struct td_rules *rules, uint8_t axis,
				     td_ns now_ns)
{
	struct td_axis_view view;

	td_core_view(core, rules, axis, now_ns, &view);
	return (struct td_note_axis){
		.axis = axis,
		.state = (uint8_t)view.state,
		.way = view.way,
		.moving = view.moving,
		.at_end = {view.at_end[0], view.at_end[1]},
		.trip = (uint8_t)view.trip,
		.locked = (uint8_t)(view.locked[0] | view.locked[1] << 1),
		.slower = (uint8_t)(view.slower[0] | view.slower[1] << 1),
		.position_ppm = view.position_ppm,
		.slower_ppm = {view.slower_ppm[0], view.slower_ppm[1]},
		.session = view.session,
		.hold = view.hold,
		.lease_left_ns = view.lease_left_ns,
		.wait_left_ns = view.wait_left_ns,
	};
}

/* Numbers that run by themselves are left out of the comparison. */
static bool same_axis(struct td_note_axis a, struct td_note_axis b)
{
	if ((a.position_ppm < 0) != (b.position_ppm < 0))
		return false;
	a.position_ppm = b.position_ppm;
	a.lease_left_ns = b.lease_left_ns;
	a.wait_left_ns = b.wait_left_ns;
	return memcmp(&a, &b, sizeof(a)) == 0;
}

static void show_axis(struct td_notes *notes, const struct td_core *core, const struct td_rules *rules,
		      uint8_t axis, td_ns now_ns, bool all)
{
	struct td_note note = {.kind = TD_NOTE_AXIS};
	td_ns lease_end_ns = core->axis[axis].hold.lease_end_ns;

	note.as.axis = axis_note(core, rules, axis, now_ns);
	bool show = all || (notes->axis[axis].moving && now_ns - notes->shown_ns >= SHOW_EVERY_NS);

	if (!show && same_axis(note.as.axis, notes->axis[axis]) && lease_end_ns == notes->lease_end_ns[axis])
		return;
	notes->axis[axis] = note.as.axis;
	notes->lease_end_ns[axis] = lease_end_ns;
	notes->lost |= !send_note(notes, now_ns, &note);
}

static struct td_note_machine machine_note(const struct td_core *core, const struct td_rules *rules,
					   uint32_t outputs, uint32_t levels)
{
	const struct td_twist_view twist = td_core_view_twist(core, rules);

	return (struct td_note_machine){
		.armed = core->armed,
		.latch = core->latch,
		.axes = rules->axes,
		.outputs = outputs,
		.levels = levels,
		.active = td_core_active(core, rules),
		.resets_free_ns = td_core_resets_free_ns(core, rules),
		.chatters = td_core_chatters(core, rules),
		.twist_counted = twist.counted,
		.twist_blocked = twist.blocked,
		.twist_net_uturn = twist.net_uturn,
		.twist_doubt_uturn = twist.doubt_uturn,
	};
}

/* Turns run by themselves while it drives. */
static bool same_machine(struct td_note_machine a, const struct td_note_machine *b, bool turns_too)
{
	if (!turns_too) {
		a.twist_net_uturn = b->twist_net_uturn;
		a.twist_doubt_uturn = b->twist_doubt_uturn;
	}
	return memcmp(&a, b, sizeof(a)) == 0;
}

static void show_machine(struct td_notes *notes, const struct td_core *core, const struct td_rules *rules,
			 td_ns now_ns, uint32_t outputs, uint32_t levels)
{
	struct td_note note = {.kind = TD_NOTE_MACHINE};

	note.as.machine = machine_note(core, rules, outputs, levels);
	note.as.machine.stop_latency_us = notes->machine.stop_latency_us;
	note.as.machine.cycles = notes->machine.cycles;
	note.as.machine.config_refused = notes->config_refused;
	if (!notes->owed &&
	    same_machine(note.as.machine, &notes->machine, now_ns - notes->shown_ns >= SHOW_EVERY_NS))
		return;
	notes->machine = note.as.machine;
	note.as.machine.lost = notes->lost;
	if (send_note(notes, now_ns, &note))
		notes->lost = notes->owed = false;
	else
		notes->lost = notes->owed = true;
}

void td_notes_state(struct td_notes *notes, const struct td_core *core, const struct td_rules *rules,
		    td_ns now_ns, uint32_t outputs, uint32_t levels)
{
	bool all;

	tell_breach(notes);
	notes->owed |= notes->lost;
	all = notes->owed;
	show_machine(notes, core, rules, now_ns, outputs, levels);
	if (notes->owed)
		return; /* still no room */
	for (uint8_t axis = 0; axis < rules->axes; axis++)
		show_axis(notes, core, rules, axis, now_ns, all);
	if (now_ns - notes->shown_ns >= SHOW_EVERY_NS)
		notes->shown_ns = now_ns;
}

td_ns td_notes_deadline(const struct td_notes *notes, uint32_t outputs)
{
	if (notes->owed || notes->lost || outputs != 0)
		return td_time_after(notes->shown_ns, SHOW_EVERY_NS);
	return TD_NEVER;
}
