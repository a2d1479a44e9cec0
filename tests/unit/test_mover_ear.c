/* SPDX-License-Identifier: MIT */
/* R14, R16: while the front does not hear, nothing moves; once it does again, what is asked anew does. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/unit/mover_rig.h"

enum { AHEAD = 1, LATE_RENEWAL = 1, NEW_HOLD = 2 };

static struct rig rig;
static td_ns deaf_ns, low_ns, again_ns;
static td_ns deaf_for_ns; /* then it hears again */

struct told {
	unsigned disarmed, armed, cut, trips;
	enum td_cause answer[4];
};

static struct told read_notes(void)
{
	struct told told = {0};
	struct td_note note;

	while (rig_note(&rig, &note)) {
		if (note.kind == TD_NOTE_ANSWER && note.as.answer.tag < 4)
			told.answer[note.as.answer.tag] = (enum td_cause)note.as.answer.cause;
		if (note.kind != TD_NOTE_NEWS)
			continue;
		told.disarmed += note.as.news.cause == TD_CAUSE_DISARMED;
		told.armed += note.as.news.cause == TD_CAUSE_ARMED;
		told.cut += note.as.news.cause == TD_CAUSE_DISARMED_CUT;
		told.trips += td_cause_kind((enum td_cause)note.as.news.cause) == TD_KIND_TRIP;
	}
	return told;
}

/* Drives; the front stands still for a while; then what it had waiting comes, and somebody asks anew. */
static void stand_still(struct rig *self)
{
	if (self->waits == 2)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step == 0 && self->outputs != 0) {
		self->step = 1;
		self->deaf_front = true;
		deaf_ns = clock_ns;
	} else if (self->step == 1 && self->outputs == 0) {
		self->step = 2;
		low_ns = clock_ns;
	} else if (self->step == 2 && clock_ns - deaf_ns >= deaf_for_ns) {
		self->step = 3;
		self->deaf_front = false;
		again_ns = clock_ns;
	} else if (self->step == 3 && clock_ns - again_ns >= TD_MS(50)) {
		self->step = 4;
		rig_order(self, (struct td_order){.kind = TD_EVENT_REQUEST,
						  .axis = RULE_DRIVE,
						  .way = AHEAD,
						  .hold = 1,
						  .seq = 1,
						  .tag = LATE_RENEWAL});
	} else if (self->step == 4 && clock_ns - again_ns >= TD_MS(1500)) {
		assert_int_equal(self->outputs, 0); /* the hold did not come back */
		self->step = 5;
		rig_request(self, RULE_DRIVE, AHEAD, NEW_HOLD);
	} else if (self->step == 5 && self->outputs != 0) {
		self->step = 6;
		rig_signal(self);
	}
}

static void begin(void)
{
	rig_open(&rig);
	rig.script = stand_still;
}

static void r16_a_front_that_does_not_hear_stops_everything_in_a_tenth_of_a_second(void **state)
{
	(void)state;
	begin();
	deaf_for_ns = TD_MS(400);
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_in_range(low_ns - deaf_ns, TD_MS(70), TD_MS(100));
	assert_int_equal(rig.step, 6);
	assert_int_equal(told.cut, 1 + 1); /* and the signal at the end */
	assert_int_equal(told.armed, 2);
	assert_int_equal(told.trips, 0);
	assert_int_equal(told.answer[LATE_RENEWAL], TD_CAUSE_HOLD_ENDED);
	rig_close(&rig);
}

static void r16_a_front_that_never_hears_again_ends_the_run(void **state)
{
	(void)state;
	begin();
	deaf_for_ns = TD_S(60);
	assert_int_equal(rig_run(&rig, true), TD_MOVER_FRONT_GONE);
	assert_in_range(clock_ns - deaf_ns, TD_S(2), TD_S(2) + TD_MS(100));
	assert_int_equal(rig.outputs, 0);
	rig_close(&rig);
}

/* A moment without a look is nothing: a busy computer has such. */
static void moments(struct rig *self)
{
	if (self->waits == 2)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step == 0 && self->outputs != 0) {
		self->step = 1;
		deaf_ns = clock_ns;
	}
	if (self->step == 1) {
		self->deaf_front = (clock_ns - deaf_ns) / TD_MS(60) % 2 == 0;
		assert_int_not_equal(self->outputs, 0);
		if (clock_ns - deaf_ns > TD_MS(1000)) {
			self->step = 2;
			rig_signal(self);
		}
	}
}

static void r16_a_moment_without_hearing_stops_nothing(void **state)
{
	(void)state;
	begin();
	rig.script = moments;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.step, 2);
	assert_int_equal(read_notes().armed, 1);
	rig_close(&rig);
}

/* At rest nothing is sent to see whether it is read, so nobody is woken for it. */
static void r16_at_rest_the_front_is_left_alone(void **state)
{
	struct td_ear ear = {.deaf = false};
	struct td_notes notes;
	int pair[2];

	(void)state;
	assert_int_equal(socketpair(AF_UNIX, SOCK_SEQPACKET, 0, pair), 0);
	td_notes_init(&notes, pair[0]);
	assert_int_equal(td_ear_listen(&ear, &notes, false, false, TD_S(2)), TD_EAR_NOTHING_NEW);
	assert_false(td_channel_unread(pair[0]));
	assert_true(td_ear_due(&ear, TD_S(2)) == TD_NEVER);
	assert_int_equal(td_ear_listen(&ear, &notes, true, false, TD_S(3)), TD_EAR_NOTHING_NEW);
	assert_true(td_channel_unread(pair[0]));
	close(pair[0]);
	close(pair[1]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r16_a_front_that_does_not_hear_stops_everything_in_a_tenth_of_a_second),
		cmocka_unit_test(r16_a_front_that_never_hears_again_ends_the_run),
		cmocka_unit_test(r16_a_moment_without_hearing_stops_nothing),
		cmocka_unit_test(r16_at_rest_the_front_is_left_alone),
	};

	return cmocka_run_group_tests_name("mover_ear", tests, NULL, NULL);
}
