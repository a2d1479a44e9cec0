/* SPDX-License-Identifier: MIT */
/*
 * The monitor in the mover: a core whose memory is spoilt while it runs gets nothing onto the lines that a rule forbids.
 * No real time passes.
 */
#include <stdio.h>
#include <sys/socket.h>

#include "mover_rig.h"

enum { BACK, AHEAD };

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

static struct td_axis *core_axis(struct rig *self, uint8_t axis)
{
	return &self->mover.core.axis[axis];
}

/* What the notes that wait have told. */
struct told {
	enum td_cause answer[8]; /* by tag */
	unsigned internal;       /* news of that cause */
	unsigned breaches;
	struct td_note_breach breach; /* the first */
	bool tripped[RULE_AXES];
};

static struct told read_notes(void)
{
	struct told told = {0};
	struct td_note note;

	while (rig_note(&rig, &note)) {
		if (note.kind == TD_NOTE_ANSWER && note.as.answer.tag < 8)
			told.answer[note.as.answer.tag] = (enum td_cause)note.as.answer.cause;
		if (note.kind == TD_NOTE_NEWS)
			told.internal += note.as.news.cause == TD_CAUSE_INTERNAL;
		if (note.kind == TD_NOTE_AXIS)
			told.tripped[note.as.axis.axis] = note.as.axis.trip == TD_CAUSE_INTERNAL;
		if (note.kind == TD_NOTE_BREACH && told.breaches++ == 0)
			told.breach = note.as.breach;
	}
	return told;
}

/* Waits out the rest after the start, asks for the drive, and is true once when it is powered. */
static bool once_powered(struct rig *self)
{
	if (self->step == 0)
		self->slow_ns = TD_MS(500);
	if (self->step == 1)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step < 2)
		self->step++;
	return self->step == 2 && self->outputs != 0 && self->step++ == 2;
}

static void end_at(struct rig *self, unsigned waits)
{
	if (self->waits > waits)
		rig_signal(self);
}

/* --- what is spoilt ---------------------------------------------------------------------------------- */

/* Nobody asked for the wheel. */
static void power_the_wheel(struct rig *self)
{
	if (once_powered(self)) {
		struct td_axis *wheel = core_axis(self, RULE_WHEEL);

		wheel->state = TD_AXIS_RUN;
		wheel->way = 0;
		wheel->since_ns = clock_ns;
		wheel->hold.lease_end_ns = TD_NEVER;
		self->mover.core.duty_cut_ns[RULE_WHEEL] = TD_NEVER;
	}
	end_at(self, 400);
}

static void a_way_that_nobody_asked_for_is_never_powered(void **state)
{
	(void)state;
	rig.script = power_the_wheel;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD)); /* the wheel at no time */
	assert_int_equal(rig.outputs, 0);
	assert_int_equal(told.breaches, 1);
	assert_int_equal(td_breach_info((enum td_breach)told.breach.breach)->rule, 7);
	assert_int_equal(told.breach.axis, RULE_WHEEL);
	assert_int_equal(told.breach.outputs, rig_bit(RULE_DRIVE, AHEAD) | rig_bit(RULE_WHEEL, 0));
	assert_int_equal(told.internal, RULE_AXES);
	for (int axis = 0; axis < RULE_AXES; axis++)
		assert_true(told.tripped[axis]);
}

static void turn_the_drive(struct rig *self)
{
	if (once_powered(self))
		core_axis(self, RULE_DRIVE)->way = BACK;
	end_at(self, 400);
}

static void r3_a_powered_way_does_not_become_the_other(void **state)
{
	(void)state;
	rig.script = turn_the_drive;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD));
	assert_int_equal(told.breach.breach, TD_BREACH_REVERSED);
	assert_true(told.tripped[RULE_DRIVE]);
}

/* The lease is to last for ever, and the steps that time alone brings come half way between the ends of such leases. */
static void forget_the_lease(struct rig *self)
{
	static td_ns from_ns;

	if (once_powered(self)) {
		core_axis(self, RULE_DRIVE)->hold.lease_end_ns = TD_NEVER;
		from_ns = clock_ns;
	}
	if (self->step == 3 && clock_ns - from_ns >= TD_MS(25)) {
		rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = RULE_WHEEL});
		self->step++;
	}
	end_at(self, 1000);
}

static void r7_a_lease_ends_though_the_core_forgot_it(void **state)
{
	(void)state;
	td_ns start_ns = clock_ns;

	rig.script = forget_the_lease;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_true(clock_ns - start_ns > TD_MS(2000));
	assert_int_equal(told.breach.breach, TD_BREACH_NOT_ASKED);
	assert_true(told.breach.measured_ns < TD_MS(10)); /* after the end of the lease */
	assert_int_equal(rig.outputs, 0);
}

/* The core took the level in, and then forgets it before it is confirmed. */
static void forget_the_end(struct rig *self)
{
	if (once_powered(self))
		rig_request(self, RULE_BOOM, 1, 2);
	if (self->step == 3 && (self->outputs & rig_bit(RULE_BOOM, 1)) != 0) {
		rig_switch(self, RULE_TOP, true);
		self->step++;
	} else if (self->step == 4) {
		self->mover.core.sw[RULE_TOP].raw = false;
	}
	end_at(self, 400);
}

static void r2_an_end_is_seen_though_the_core_forgot_it(void **state)
{
	(void)state;
	rig.script = forget_the_end;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD) | rig_bit(RULE_BOOM, 1));
	assert_int_equal(told.breach.breach, TD_BREACH_INTO_END);
	assert_int_equal(told.breach.axis, RULE_BOOM);
	assert_true(told.breach.measured_ns < TD_MS(2 + 5)); /* confirmed, and at most a poll later */
	assert_int_equal(rig.outputs, 0);
}

/* --- afterwards -------------------------------------------------------------------------------------- */

static void ask_and_reset(struct rig *self)
{
	if (once_powered(self))
		core_axis(self, RULE_DRIVE)->way = BACK;
	if (self->waits == 200) {
		rig_request(self, RULE_WHEEL, 1, 2);
		rig_order(self, (struct td_order){.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .tag = 3});
	}
	if (self->waits == 250)
		rig_order(self, (struct td_order){.kind = TD_EVENT_RESET,
						  .axis = TD_ALL_AXES,
						  .role = TD_ROLE_KEEPER,
						  .tag = 4});
	if (self->waits == 400)
		rig_request(self, RULE_WHEEL, 1, 5);
	end_at(self, 500);
}

static void r11_a_keepers_reset_clears_it_and_moves_nothing(void **state)
{
	(void)state;
	rig.script = ask_and_reset;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	struct told told = read_notes();

	assert_int_equal(told.answer[2], TD_CAUSE_TRIPPED);
	assert_int_equal(told.answer[3], TD_CAUSE_NOT_ALLOWED);
	assert_int_equal(told.answer[4], TD_CAUSE_RESET_DONE);
	assert_int_equal(told.answer[5], TD_CAUSE_STARTED);
	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD) | rig_bit(RULE_WHEEL, 1));
	assert_int_equal(told.breaches, 1);
}

/* A core that is spoilt anew in every cycle is told of once, and never heeded. */
static void spoil_for_ever(struct rig *self)
{
	if (once_powered(self) || self->step == 3) {
		struct td_axis *boom = core_axis(self, RULE_BOOM);

		*boom = (struct td_axis){.state = TD_AXIS_RUN, .way = 1, .since_ns = clock_ns};
		boom->hold.lease_end_ns = TD_NEVER;
		self->mover.core.duty_cut_ns[RULE_BOOM] = TD_NEVER;
		self->step = 3;
	}
	end_at(self, 400);
}

static void a_core_that_stays_spoilt_stays_off(void **state)
{
	(void)state;
	rig.script = spoil_for_ever;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD));
	assert_int_equal(rig.outputs, 0);
	assert_true(read_notes().breaches > 0);
}

/* --- every bit --------------------------------------------------------------------------------------- */

#define AXIS_FIELD(name)                                                                                     \
	{                                                                                                    \
		offsetof(struct td_axis, name), sizeof(((struct td_axis *)0)->name) * 8                      \
	}
/* Of a truth value only its one bit is turned; no other is a value of its type. */
#define AXIS_FLAG(name)                                                                                      \
	{                                                                                                    \
		offsetof(struct td_axis, name), 1                                                            \
	}

static const struct {
	size_t at;
	size_t bits;
} fields[] = {
	AXIS_FIELD(state),        AXIS_FIELD(trip),
	AXIS_FIELD(way),          AXIS_FIELD(last_way),
	AXIS_FLAG(located),       AXIS_FIELD(since_ns),
	AXIS_FIELD(cut_ns),       AXIS_FIELD(way_cut_ns),
	AXIS_FLAG(unwritten),     AXIS_FIELD(spent_ns),
	AXIS_FIELD(hold.session), AXIS_FIELD(hold.number),
	AXIS_FIELD(hold.seq),     AXIS_FIELD(hold.lease_end_ns),
};

static struct {
	uint8_t axis;
	size_t byte;
	unsigned char bit;
	td_ns powered_ns;
	td_ns low_ns;
} flip;

static void flip_one(struct rig *self)
{
	if (once_powered(self)) {
		((unsigned char *)core_axis(self, flip.axis))[flip.byte] ^= flip.bit;
		flip.powered_ns = clock_ns;
		flip.low_ns = 0;
	}
	if (self->step == 3 && self->outputs == 0 && flip.low_ns == 0)
		flip.low_ns = clock_ns;
	if (self->step == 3 && clock_ns > flip.powered_ns + TD_MS(1600))
		rig_signal(self);
}

static bool flip_bit(void **state, uint8_t axis, size_t byte, unsigned char bit)
{
	tear_down(state);
	set_up(state);
	flip.axis = axis;
	flip.byte = byte;
	flip.bit = bit;
	rig.script = flip_one;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	if (rig.ever != rig_bit(RULE_DRIVE, AHEAD) || flip.low_ns == 0 ||
	    flip.low_ns > flip.powered_ns + TD_LEASE_MAX_NS + TD_MS(10))
		fail_msg("axis %u, byte %zu, bit 0x%02x: outputs 0x%x", axis, byte, bit, rig.ever);
	return read_notes().breaches > 0;
}

static void whatever_bit_of_an_axis_turns_only_what_was_asked_for_is_powered(void **state)
{
	static const uint8_t axes[] = {RULE_DRIVE, RULE_WHEEL};
	unsigned flips = 0;
	unsigned breaches = 0;

	for (size_t a = 0; a < sizeof(axes); a++)
		for (size_t f = 0; f < sizeof(fields) / sizeof(fields[0]); f++)
			for (size_t bit = 0; bit < fields[f].bits; bit++) {
				breaches += flip_bit(state, axes[a], fields[f].at + bit / 8,
						     (unsigned char)(1U << bit % 8));
				flips++;
			}
	print_message("# measured: %u bits of two axes turned, one a run: %u breaches found, none written\n",
		      flips, breaches);
	assert_true(breaches > 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_way_that_nobody_asked_for_is_never_powered),
		TEST(r3_a_powered_way_does_not_become_the_other),
		TEST(r7_a_lease_ends_though_the_core_forgot_it),
		TEST(r2_an_end_is_seen_though_the_core_forgot_it),
		TEST(r11_a_keepers_reset_clears_it_and_moves_nothing),
		TEST(a_core_that_stays_spoilt_stays_off),
		TEST(whatever_bit_of_an_axis_turns_only_what_was_asked_for_is_powered),
	};

	return cmocka_run_group_tests_name("mover and monitor", tests, NULL, NULL);
}
