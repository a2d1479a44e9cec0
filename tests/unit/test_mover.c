/* SPDX-License-Identifier: MIT */
/* The mover alone: arming, heartbeat, and what it does when those it depends on fail. No real time passes. */
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

static void all_is_low(void)
{
	assert_int_equal(rig.outputs, 0);
	assert_false(rig.heart);
}

/* What the notes that wait have told. */
struct told {
	enum td_cause answer[8]; /* by tag */
	bool news[TD_CAUSE_CLOCK_BACK + 1];
	bool machine;
	bool armed; /* in any note of the machine */
};

static struct told read_notes(void)
{
	struct told told = {0};
	struct td_note note;

	while (rig_note(&rig, &note)) {
		if (note.kind == TD_NOTE_ANSWER && note.as.answer.tag < 8)
			told.answer[note.as.answer.tag] = (enum td_cause)note.as.answer.cause;
		if (note.kind == TD_NOTE_NEWS && note.as.news.cause <= TD_CAUSE_CLOCK_BACK)
			told.news[note.as.news.cause] = true;
		if (note.kind == TD_NOTE_MACHINE) {
			told.machine = true;
			told.armed |= note.as.machine.armed != 0;
		}
	}
	return told;
}

/* --- arming ------------------------------------------------------------------------------------------ */

/* Asks for the drive in the first wait, ends half a second later. */
static void ask_and_end(struct rig *self)
{
	static td_ns asked_ns;

	if (self->step == 0) {
		rig_request(self, RULE_DRIVE, 1, 1);
		rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = RULE_WHEEL, .tag = 2});
		asked_ns = clock_ns;
		self->step = 1;
	} else if (clock_ns - asked_ns > TD_MS(500)) {
		rig_signal(self);
	}
}

static void r14_armed_it_moves_when_asked(void **state)
{
	(void)state;
	rig.script = ask_and_end;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(told.answer[1], TD_CAUSE_QUEUED); /* after the start it rests first */
	assert_int_equal(told.answer[2], TD_CAUSE_STOPPED);
	assert_true(told.armed);
	assert_true(told.news[TD_CAUSE_ARMED]);
	assert_true(told.news[TD_CAUSE_DISARMED]); /* at the end */
	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, 1));
	assert_true(rig.beats > 0);
	all_is_low();
}

static void r14_not_armed_it_answers_and_nothing_moves_nor_beats(void **state)
{
	(void)state;
	rig.script = ask_and_end;
	assert_int_equal(rig_run(&rig, false), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(told.answer[1], TD_CAUSE_NOT_ARMED);
	assert_int_equal(told.answer[2], TD_CAUSE_STOPPED);
	assert_true(told.machine);
	assert_false(told.armed);
	assert_false(told.news[TD_CAUSE_ARMED]);
	assert_int_equal(rig.ever, 0);
	assert_int_equal(rig.beats, 1); /* low, at the end */
	all_is_low();
}

static void order_to_arm(struct rig *self)
{
	if (self->step++ == 0)
		rig_order(self, (struct td_order){.kind = TD_EVENT_ARM});
}

static void r14_the_front_cannot_arm(void **state)
{
	(void)state;
	rig.script = order_to_arm;
	assert_int_equal(rig_run(&rig, false), TD_MOVER_FRONT_GONE);
	assert_false(read_notes().armed);
	all_is_low();
}

/* --- heartbeat --------------------------------------------------------------------------------------- */

/* Every beat but the last, which is the end's. */
static void beats_are_even(td_ns longest_ns)
{
	td_ns longest = 0;

	for (unsigned i = 0; i + 1 < rig.beats; i++) {
		assert_int_equal(rig.beat[i].high, i % 2 == 0);
		if (i == 0)
			continue;
		td_ns gap_ns = rig.beat[i].at_ns - rig.beat[i - 1].at_ns;

		assert_true(gap_ns >= TD_MOVER_BEAT_NS);
		if (gap_ns > longest)
			longest = gap_ns;
		/* a whole cycle, from one wait to the next, lies between two beats */
		assert_true(rig.beat[i].waits > rig.beat[i - 1].waits);
	}
	print_message("# measured: %u beats, longest pause %.3f ms of %.0f\n", rig.beats,
		      (double)longest / 1e6, (double)longest_ns / 1e6);
	assert_true(longest <= longest_ns);
}

static void end_after_100_beats(struct rig *self)
{
	if (self->beats >= 100)
		rig_signal(self);
}

static void r16_at_rest_it_beats_at_least_every_10_ms(void **state)
{
	(void)state;
	rig.script = end_after_100_beats;
	td_ns start_ns = clock_ns;

	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.beat[0].at_ns - start_ns < TD_MS(10));
	beats_are_even(TD_MS(10));
	assert_int_equal(rig.slept, 0);
	all_is_low();
}

static void storm_of_orders(struct rig *self)
{
	for (int i = 0; i < 32 && self->beats < 100; i++)
		rig_request(self, RULE_WHEEL, (uint8_t)(i % 2), ++self->step);
	struct td_note note;

	while (rig_note(self, &note))
		;
	end_after_100_beats(self);
}

static void r16_a_storm_of_orders_neither_hurries_nor_delays_it(void **state)
{
	(void)state;
	rig.script = storm_of_orders;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	beats_are_even(TD_MS(10));
	assert_true(rig.waits > 2 * rig.beats);
	all_is_low();
}

static void hang_once(struct rig *self)
{
	if (self->beats == 10 && self->step++ == 0)
		self->slow_ns = TD_MS(300);
	end_after_100_beats(self);
}

static void r16_a_cycle_that_hangs_does_not_beat(void **state)
{
	(void)state;
	rig.script = hang_once;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.beat[10].at_ns - rig.beat[9].at_ns >= TD_MS(300));
	beats_are_even(TD_MS(310));
	/* what was missed is not made up for */
	assert_true(rig.beat[11].at_ns - rig.beat[10].at_ns >= TD_MOVER_BEAT_NS);
}

static void latch_and_end(struct rig *self)
{
	if (self->beats == 10 && self->step++ == 0)
		rig_order(self, (struct td_order){.kind = TD_EVENT_LATCH});
	end_after_100_beats(self);
}

/* Some bridges hold a load only while they have power. */
static void r16_it_goes_on_while_the_latched_stop_is_on(void **state)
{
	(void)state;
	rig.script = latch_and_end;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.mover.core.latch != 0);
	beats_are_even(TD_MS(10));
}

/* Not urgent: it waits behind what is. */
static void send_reset(const struct rig *self, td_ns heard_ns, uint64_t tag)
{
	const struct td_order reset = {.magic = TD_MSG_MAGIC,
				       .kind = TD_EVENT_RESET,
				       .axis = TD_ALL_AXES,
				       .role = TD_ROLE_KEEPER,
				       .session = 1,
				       .heard_ns = heard_ns,
				       .tag = tag};

	assert_int_equal(send(self->front_end.orders_fd, &reset, sizeof(reset), 0), sizeof(reset));
}

static void reset_then_latch(struct rig *self)
{
	if (self->beats >= 10 && self->step == 0) {
		self->step = 1;
		send_reset(self, clock_ns, 3);
		rig_order(self, (struct td_order){.kind = TD_EVENT_LATCH, .tag = 2});
	}
	end_after_100_beats(self);
}

static void reset_then_latch_then_reset(struct rig *self)
{
	if (self->beats >= 50 && self->step == 1) {
		self->step = 2;
		send_reset(self, clock_ns, 4);
	}
	reset_then_latch(self);
}

/* The urgent pair is read first, so the reset comes to the core after the latch that was asked for after it. */
static void r10_a_reset_does_not_clear_a_latch_that_came_after_it(void **state)
{
	(void)state;
	rig.script = reset_then_latch;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.mover.core.latch != 0);
	struct told told = read_notes();

	assert_int_equal(told.answer[2], TD_CAUSE_LATCH_ASKED);
	assert_int_equal(told.answer[3], TD_CAUSE_OVERTAKEN);
}

static void r10_a_reset_after_the_latch_clears_it(void **state)
{
	(void)state;
	rig.script = reset_then_latch_then_reset;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.mover.core.latch, 0);
	assert_int_equal(read_notes().answer[4], TD_CAUSE_RESET_DONE);
}

static void without_a_heartbeat_it_sleeps_at_rest(void **state)
{
	(void)state;
	rig.lines.beats = false;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.slept, 1);
	assert_int_equal(rig.beats, 0);
}

/* --- what it was told at the start ------------------------------------------------------------------- */

static void ask_both_ways(struct rig *self)
{
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, 1, 1);
	if (self->step == 1)
		rig_request(self, RULE_DRIVE, 0, 2);
	if (self->outputs != 0)
		rig_signal(self);
	self->step++;
}

/* R11: armed, but a locked way stays off; the other one is free. Bits of axes that there are not mean nothing. */
static void r11_a_way_locked_before_the_restart_stays_off(void **state)
{
	const uint32_t ahead = UINT32_C(1) << (RULE_DRIVE * TD_WAYS + 1);
	struct td_note note;
	bool told = false;

	(void)state;
	rig.script = ask_both_ways;
	rig.locked = ahead | UINT32_C(1) << 31;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(td_core_locked(&rig.mover.core), ahead);
	assert_int_equal(rig.ever, ahead >> 1);
	while (rig_note(&rig, &note))
		told = told || (note.kind == TD_NOTE_AXIS && note.as.axis.axis == RULE_DRIVE &&
				note.as.axis.locked == 2);
	assert_true(told);
}

/* --- those it depends on ----------------------------------------------------------------------------- */

/* Asks for the drive; once it is powered, does `then`. */
static bool once_powered(struct rig *self)
{
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, 1, 1);
	if (self->step < 2)
		self->step = self->outputs != 0 ? 2 : 1;
	return self->step == 2 && self->step++ == 2;
}

static void kill_guard(struct rig *self)
{
	if (once_powered(self))
		rig_close_fd(&self->guard_pulse);
}

static void r16_the_death_of_the_guard_ends_it(void **state)
{
	(void)state;
	rig.script = kill_guard;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_GUARD_GONE);
	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, 1));
	all_is_low();
}

static void kill_guard_at_rest(struct rig *self)
{
	if (self->beats == 5)
		rig_close_fd(&self->guard_pulse);
}

static void r16_the_death_of_the_guard_is_noticed_at_rest(void **state)
{
	(void)state;
	rig.script = kill_guard_at_rest;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_GUARD_GONE);
	assert_int_equal(rig.beats, 6);
	all_is_low();
}

static void r16_without_a_guard_nothing_ever_rises(void **state)
{
	(void)state;
	rig_close_fd(&rig.guard_pulse);
	rig.script = ask_and_end;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_GUARD_GONE);
	assert_int_equal(rig.ever, 0);
	all_is_low();
}

static void deafen_guard(struct rig *self)
{
	if (once_powered(self))
		self->deaf_guard = true;
}

static void r16_a_guard_that_no_longer_listens_ends_it(void **state)
{
	(void)state;
	rig.script = deafen_guard;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_GUARD_GONE);
	all_is_low();
}

static void kill_front(struct rig *self)
{
	if (once_powered(self))
		td_channel_close(&self->front_end);
}

static void r7_the_death_of_the_front_ends_it(void **state)
{
	(void)state;
	rig.script = kill_front;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_FRONT_GONE);
	all_is_low();
}

/* --- faults ------------------------------------------------------------------------------------------ */

/* Two axes start, one meets its end switch, a stop ends the other; then it is asked to end. */
static void whole_story(struct rig *self)
{
	const uint32_t drive = rig_bit(RULE_DRIVE, 1);
	const uint32_t boom = rig_bit(RULE_BOOM, 1);
	bool soon = self->beats % 32 == 31; /* a while passes with things as they are */

	switch (self->step) {
	case 0:
		self->slow_ns = TD_MS(500); /* after the start every axis rests first */
		self->step++;
		break;
	case 1:
		rig_request(self, RULE_DRIVE, 1, 1);
		rig_request(self, RULE_BOOM, 1, 2);
		self->step++;
		break;
	case 2:
		if (soon && self->outputs == (drive | boom)) {
			rig_switch(self, RULE_TOP, true);
			self->step++;
		}
		break;
	case 3:
		if (soon && self->outputs == drive) {
			rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
			self->step++;
		}
		break;
	default:
		if (self->outputs == 0) {
			self->quiet = true; /* what follows is the end, not the story */
			rig_signal(self);
		}
	}
}

static enum td_mover_end tell_story(unsigned fail_at, bool fail_on)
{
	rig.script = whole_story;
	rig.fail_at = fail_at;
	rig.fail_on = fail_on;
	return rig_run(&rig, true);
}

static void fault_at(void **state, unsigned call, bool for_ever)
{
	tear_down(state);
	set_up(state);
	enum td_mover_end end = tell_story(call, for_ever);

	if (end != TD_MOVER_LINES_LOST)
		fail_msg("call %u failing %s: ended with %d", call, for_ever ? "for ever" : "once", end);
	assert_true(rig.failed > 0);
	assert_int_equal(rig.raised_after, 0);
	assert_true(rig.cleared_after > 0);
	assert_true(read_notes().news[TD_CAUSE_LINES_LOST]);
	if (!for_ever)
		all_is_low();
}

static void r15_a_fault_at_any_call_ends_it_with_everything_low(void **state)
{
	assert_int_equal(tell_story(0, false), TD_MOVER_ASKED);
	unsigned calls = rig.calls;

	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, 1) | rig_bit(RULE_BOOM, 1));
	assert_true(calls > 100);
	all_is_low();
	for (unsigned call = 1; call <= calls; call++) {
		fault_at(state, call, false);
		fault_at(state, call, true);
	}
	print_message("# measured: a fault in each of %u calls, once and for ever\n", calls);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r14_armed_it_moves_when_asked),
		TEST(r14_not_armed_it_answers_and_nothing_moves_nor_beats),
		TEST(r14_the_front_cannot_arm),
		TEST(r16_at_rest_it_beats_at_least_every_10_ms),
		TEST(r16_a_storm_of_orders_neither_hurries_nor_delays_it),
		TEST(r16_a_cycle_that_hangs_does_not_beat),
		TEST(r16_it_goes_on_while_the_latched_stop_is_on),
		TEST(r10_a_reset_does_not_clear_a_latch_that_came_after_it),
		TEST(r10_a_reset_after_the_latch_clears_it),
		TEST(r11_a_way_locked_before_the_restart_stays_off),
		TEST(without_a_heartbeat_it_sleeps_at_rest),
		TEST(r16_the_death_of_the_guard_ends_it),
		TEST(r16_the_death_of_the_guard_is_noticed_at_rest),
		TEST(r16_without_a_guard_nothing_ever_rises),
		TEST(r16_a_guard_that_no_longer_listens_ends_it),
		TEST(r7_the_death_of_the_front_ends_it),
		TEST(r15_a_fault_at_any_call_ends_it_with_everything_low),
	};

	return cmocka_run_group_tests_name("mover", tests, NULL, NULL);
}
