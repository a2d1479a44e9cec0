/* SPDX-License-Identifier: MIT */
/* R18 in the mover alone: what it tells of the turns of the cable. No real time passes. */
#include <stdio.h>
#include <sys/socket.h>

#include "mover_rig.h"

static struct rig rig;

static int set_up(void **state)
{
	(void)state;
	rig_open(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rig_close(&rig);
	return 0;
}

/* Drives for two seconds where nobody knows how it steers, then untwists. */
static void drive_and_untwist(struct rig *self)
{
	static td_ns from_ns;
	td_ns span_ns = clock_ns - from_ns;

	if (self->step == 0) {
		from_ns = clock_ns;
		self->step = 1;
	} else if (self->step == 1 && span_ns > TD_MS(500)) {
		rig_request(self, RULE_DRIVE, 1, 1);
		self->step = 2;
	} else if (self->step == 2 && span_ns > TD_MS(1500)) {
		rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
		rig_order(self,
			  (struct td_order){.kind = TD_EVENT_UNTWISTED, .role = TD_ROLE_KEEPER, .tag = 1});
		self->step = 3;
	} else if (self->step == 3 && span_ns > TD_MS(2000)) { /* it has come to rest */
		rig_order(self,
			  (struct td_order){.kind = TD_EVENT_UNTWISTED, .role = TD_ROLE_VISITOR, .tag = 2});
		rig_order(self,
			  (struct td_order){.kind = TD_EVENT_UNTWISTED, .role = TD_ROLE_KEEPER, .tag = 3});
		self->step = 4;
	} else if (self->step == 4 && span_ns > TD_MS(3000)) {
		rig_signal(self);
	}
}

/* The notes of the machine while the outputs were as they are, and what they told of the twist. */
static void r18_turns_are_told_while_it_drives_but_not_at_every_cycle(void **state)
{
	struct td_note note;
	unsigned machine_notes = 0;
	int64_t most_uturn = 0;
	int64_t last_uturn = -1;
	enum td_cause answer[4] = {TD_CAUSE_NONE};

	(void)state;
	rig.rules.cable = (struct td_cable_rules){
		.twist = {.limit_uturn = 1000000,
			  .rate_ppm_s = {{[TD_TWIST_LEFT] = 100000}, {[TD_TWIST_LEFT] = -100000}}},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
	};
	rig.script = drive_and_untwist;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	while (rig_note(&rig, &note)) {
		if (note.kind == TD_NOTE_ANSWER)
			answer[note.as.answer.tag % 4] = (enum td_cause)note.as.answer.cause;
		if (note.kind != TD_NOTE_MACHINE)
			continue;
		machine_notes++;
		last_uturn = note.as.machine.twist_doubt_uturn;
		if (last_uturn > most_uturn)
			most_uturn = last_uturn;
		assert_true(note.as.machine.twist_counted == 1 && note.as.machine.twist_net_uturn == 0);
	}
	assert_int_equal(answer[1], TD_CAUSE_STILL_MOVING);
	assert_int_equal(answer[2], TD_CAUSE_NOT_ALLOWED);
	assert_int_equal(answer[3], TD_CAUSE_UNTWISTED);
	assert_true(most_uturn > 90000 && most_uturn <= 110000); /* a second of a tenth of a turn */
	assert_int_equal(last_uturn, 0);
	assert_true(machine_notes >= 15 && machine_notes <= 40); /* each 50 ms */
	print_message("# measured: %u notes of the machine in a second of driving\n", machine_notes);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(r18_turns_are_told_while_it_drives_but_not_at_every_cycle,
						set_up, tear_down),
	};

	return cmocka_run_group_tests_name("mover and cable", tests, NULL, NULL);
}
