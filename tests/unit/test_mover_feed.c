/* SPDX-License-Identifier: MIT */
/*
 * What the mover hands to the scribe: every step, so that another core that is given the same events comes to the same
 * outcome, bit for bit; and when it steps at all. No real time passes.
 */
#include <stdio.h>
#include <sys/mman.h>
#include <sys/socket.h>

#include "core/record.h"
#include "mover_rig.h"

enum { AHEAD = 1, SMALL = 64 };

static struct rig rig;
static struct td_snapshot snapshot;
static uint32_t taken;

static void open_with(uint64_t entries)
{
	struct td_error err;

	rig_open(&rig);
	taken = 0;
	rig.steps = td_queue_make(entries, &err);
	rig.snapshots = td_shelf_make(sizeof(struct td_snapshot), &err);
	assert_non_null(rig.steps);
	assert_non_null(rig.snapshots);
}

static int set_up(void **state)
{
	(void)state;
	open_with(TD_QUEUE_STEPS);
	return 0;
}

static int set_up_small(void **state)
{
	(void)state;
	open_with(SMALL);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rig_close(&rig);
	return munmap(rig.steps, sizeof(*rig.steps) + rig.steps->size * sizeof(struct td_entry));
}

/* --- a run with everything in it ------------------------------------------------------------------------ */

static void read_away(struct rig *self)
{
	struct td_note note;

	while (rig_note(self, &note))
		;
}

/* Drives, meets the end of the boom, stops, is latched and reset, loses its client; one thing after another. */
static void a_day(struct rig *self)
{
	static td_ns from_ns;
	td_ns span_ns = clock_ns - from_ns;
	unsigned due = (unsigned)(span_ns / TD_MS(400));

	read_away(self);
	if (self->step == 0) {
		from_ns = clock_ns;
		self->step = 1;
		return;
	}
	if (due < self->step)
		return;
	switch (self->step++) {
	case 1: rig_request(self, RULE_DRIVE, AHEAD, 1); break;
	case 2: rig_request(self, RULE_BOOM, 1, 2); break;
	case 3: rig_switch(self, RULE_TOP, true); break;
	case 4: rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}); break;
	case 5: rig_request(self, RULE_DRIVE, 7, 3); break; /* no such way */
	case 6: rig_request(self, RULE_DRIVE, AHEAD, 4); break;
	case 7: rig_order(self, (struct td_order){.kind = TD_EVENT_LATCH}); break;
	case 8:
		rig_order(self, (struct td_order){
					.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER});
		break;
	case 9: rig_switch(self, RULE_BOTTOM, true); break; /* both ends: a trip */
	case 10: rig_request(self, RULE_DRIVE, AHEAD, 5); break;
	case 16: rig_signal(self); break;
	default: break;
	}
}

/* A second core that follows the entries. */
struct follower {
	struct td_core core;
	struct td_result result;
	uint64_t number;
	unsigned steps, times, news;
	struct td_entry_step last;
};

static void follow_step(struct follower *self, const struct td_entry *entry)
{
	const struct td_entry_step *step = &entry->as.step;
	struct td_entry own;

	td_core_step(&self->core, &rig.rules, &step->event, &self->result);
	td_entry_of_step(&own, &self->core, &rig.rules, &step->event, &self->result, step->levels);
	assert_int_equal(own.at_ns, entry->at_ns);
	assert_int_equal(own.as.step.outputs, step->outputs);
	assert_int_equal(own.as.step.answer, step->answer);
	assert_int_equal(own.as.step.asked, step->asked);
	assert_int_equal(own.as.step.active, step->active);
	assert_int_equal(own.as.step.armed, step->armed);
	assert_int_equal(own.as.step.latch, step->latch);
	assert_memory_equal(own.as.step.state, step->state, sizeof(step->state));
	assert_int_equal(own.as.step.news, step->news);
	self->last = *step;
	self->steps++;
	self->times += step->event.kind == TD_EVENT_TIME;
}

static void follow_news(struct follower *self, const struct td_entry *entry)
{
	const struct td_news *own = &self->result.news[self->news++ % TD_NEWS_MAX];

	assert_int_equal(entry->as.news.cause, own->cause);
	assert_int_equal(entry->as.news.axis, own->axis);
	assert_int_equal(entry->as.news.session, own->session);
}

static void follow(struct follower *self)
{
	const struct td_entry *entry;

	for (; (entry = td_queue_first(rig.steps)); td_queue_drop(rig.steps)) {
		assert_int_equal(entry->number, self->number);
		self->number++;
		assert_true(entry->kind == TD_ENTRY_STEP || entry->kind == TD_ENTRY_NEWS);
		if (entry->kind == TD_ENTRY_STEP) {
			self->news = 0;
			follow_step(self, entry);
		} else {
			follow_news(self, entry);
		}
	}
}

static struct follower follower;

static void take_first_snapshot(struct rig *self)
{
	if (taken > 0)
		return;
	assert_true(td_shelf_take(self->snapshots, &taken, &snapshot));
	assert_int_equal(snapshot.number, 0);
	assert_int_equal(snapshot.outputs, 0);
	follower = (struct follower){.core = snapshot.core};
}

static void a_day_from_the_first_snapshot(struct rig *self)
{
	take_first_snapshot(self);
	a_day(self);
}

static void another_core_comes_to_the_same_by_the_entries_alone(void **state)
{
	(void)state;
	rig.script = a_day_from_the_first_snapshot;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.ever == (rig_bit(RULE_DRIVE, AHEAD) | rig_bit(RULE_BOOM, 1)));
	follow(&follower);
	assert_memory_equal(&follower.core, &rig.mover.core, sizeof(follower.core));
	assert_int_equal(follower.last.event.kind, TD_EVENT_DISARM);
	assert_int_equal(follower.last.outputs, 0);
	print_message("# measured: %u steps, %u of them for time alone, in %.1f s\n", follower.steps,
		      follower.times, (double)(follower.core.now_ns - snapshot.core.now_ns) / 1e9);
}

/* --- what the monitor kept from being written ----------------------------------------------------------- */

/* Nobody asked for the wheel. */
static void spoil_in_mid_motion(struct rig *self)
{
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step < 2)
		self->step = self->outputs != 0 ? 2 : 1;
	if (self->step == 2) {
		struct td_axis *wheel = &self->mover.core.axis[RULE_WHEEL];

		wheel->state = TD_AXIS_RUN;
		wheel->way = 0;
		wheel->since_ns = clock_ns;
		wheel->hold.lease_end_ns = TD_NEVER;
		self->mover.core.duty_cut_ns[RULE_WHEEL] = TD_NEVER;
		self->step = 3;
	}
	if (self->waits > 400)
		rig_signal(self);
}

/* The word as the core wanted it, and right behind it the trip that it led to. */
static void a_word_that_was_not_written_is_told_and_the_breach_behind_it(void **state)
{
	struct td_entry_step before = {0};
	unsigned breaches = 0;

	(void)state;
	rig.script = spoil_in_mid_motion;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.ever, rig_bit(RULE_DRIVE, AHEAD));
	for (; td_queue_first(rig.steps); td_queue_drop(rig.steps)) {
		const struct td_entry *entry = td_queue_first(rig.steps);

		if (entry->kind != TD_ENTRY_STEP)
			continue;
		if (entry->as.step.event.kind == TD_EVENT_BREACH) {
			assert_true((before.outputs & rig_bit(RULE_WHEEL, 0)) != 0);
			assert_int_equal(entry->as.step.outputs, 0);
			assert_true(entry->as.step.news > 0);
			breaches++;
		}
		before = entry->as.step;
	}
	assert_int_equal(breaches, 1);
}

/* --- when it steps -------------------------------------------------------------------------------------- */

/* Rests for a minute, drives for a second. */
static void rest_and_drive(struct rig *self)
{
	static td_ns from_ns;

	take_first_snapshot(self);
	read_away(self);
	if (self->step == 0 || (self->step == 1 && self->outputs != 0)) {
		from_ns = clock_ns;
		self->step++;
	} else if (self->step == 1 && clock_ns - from_ns > TD_S(60)) {
		follow(&follower);
		print_message("# measured: %u steps in a minute at rest\n", follower.steps);
		assert_true(follower.steps < 12); /* the start, and when each axis has come to rest */
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	} else if (self->step == 2 && clock_ns - from_ns > TD_S(1)) {
		self->step++;
		follow(&follower);
		print_message("# measured: %u steps for time alone with a second of driving\n",
			      follower.times);
		assert_true(follower.times >= 19 && follower.times <= 30);
		rig_signal(self);
	}
}

static void time_alone_is_stepped_when_due_and_every_50_ms_while_it_moves(void **state)
{
	(void)state;
	rig.script = rest_and_drive;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_int_equal(rig.step, 3);
}

/* What status shows of a motion, from one note to the next. */
static unsigned notes_of_drive;
static td_ns lease_end_ns;

static void watch_the_drive(struct rig *self)
{
	static td_ns from_ns;
	struct td_note note;

	while (rig_note(self, &note))
		if (note.kind == TD_NOTE_AXIS && note.as.axis.axis == RULE_DRIVE && self->outputs != 0) {
			notes_of_drive++;
			if (notes_of_drive > 1)
				assert_int_equal(note.at_ns + note.as.axis.lease_left_ns, lease_end_ns);
			lease_end_ns = note.at_ns + note.as.axis.lease_left_ns;
		}
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step++ == 0)
		from_ns = clock_ns;
	if (clock_ns - from_ns > TD_MS(1300))
		rig_signal(self);
}

static void the_lease_that_is_left_is_told_as_of_now(void **state)
{
	(void)state;
	notes_of_drive = 0;
	rig.script = watch_the_drive;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	print_message("# measured: %u notes of the drive in about a second\n", notes_of_drive);
	assert_true(notes_of_drive >= 15);
}

/* --- snapshots and losses ------------------------------------------------------------------------------- */

static unsigned snapshots;
static td_ns least_ns, most_ns;

static void drive_for_ever(struct rig *self)
{
	static uint32_t seq;
	td_ns before_ns = snapshot.core.now_ns;

	read_away(self);
	while (td_queue_first(self->steps))
		td_queue_drop(self->steps);
	if (td_shelf_take(self->snapshots, &taken, &snapshot) && snapshots++ > 0) {
		td_ns span_ns = snapshot.core.now_ns - before_ns;

		least_ns = snapshots == 2 || span_ns < least_ns ? span_ns : least_ns;
		most_ns = span_ns > most_ns ? span_ns : most_ns;
		assert_int_equal(snapshot.outputs, self->outputs);
		assert_int_equal(snapshot.levels, self->levels);
	}
	if (self->step++ % 200 == 0)
		rig_order(self, (struct td_order){.kind = TD_EVENT_REQUEST,
						  .axis = RULE_DRIVE,
						  .way = (uint8_t)(self->step / 2000 % 2),
						  .hold = 1 + self->step / 2000,
						  .seq = self->step % 2000 < 200 ? 0 : ++seq});
	if (snapshots >= 6)
		rig_signal(self);
}

static void the_core_is_handed_over_every_10_s_while_it_steps(void **state)
{
	(void)state;
	snapshots = 0;
	most_ns = 0;
	rig.script = drive_for_ever;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	print_message("# measured: a snapshot every %.2f to %.2f s\n", (double)least_ns / 1e9,
		      (double)most_ns / 1e9);
	assert_true(least_ns >= TD_FEED_SNAPSHOT_NS && most_ns < TD_FEED_SNAPSHOT_NS + TD_S(1));
}

/* Nobody takes anything out from the first entry on until it is full; then all. */
static void read_late(struct rig *self)
{
	take_first_snapshot(self);
	if (self->mover.feed.lossy && follower.steps == 0)
		follow(&follower);
	a_day(self);
}

static void after_a_loss_it_goes_on_with_a_snapshot(void **state)
{
	struct td_snapshot again;

	(void)state;
	rig.script = read_late;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	uint64_t before = follower.number;

	assert_true(td_shelf_take(rig.snapshots, &taken, &again));
	assert_true(before > 0 && again.number > before);
	assert_non_null(td_queue_first(rig.steps));
	assert_int_equal(td_queue_first(rig.steps)->number, again.number);
	follower = (struct follower){.core = again.core, .number = again.number};
	follow(&follower);
	assert_int_equal(follower.last.event.kind, TD_EVENT_DISARM);
	print_message("# measured: %llu entries lost of %llu\n", (unsigned long long)(again.number - before),
		      (unsigned long long)follower.number);
}

/* A step is put with all its news or not at all. */
static void nothing_is_cut_in_two(void **state)
{
	const struct td_entry *entry;
	unsigned owed = 0;

	(void)state;
	rig.script = a_day;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(rig.mover.feed.lossy);
	for (; (entry = td_queue_first(rig.steps)); td_queue_drop(rig.steps)) {
		assert_int_equal(entry->kind, owed > 0 ? TD_ENTRY_NEWS : TD_ENTRY_STEP);
		owed = owed > 0 ? owed - 1 : entry->as.step.news;
	}
	assert_int_equal(owed, 0);
}

static void where_nobody_listens_nothing_is_handed_over(void **state)
{
	struct td_queue *steps = rig.steps;

	(void)state;
	rig.steps = NULL;
	rig.script = a_day;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	rig.steps = steps;
	assert_null(td_queue_first(rig.steps));
	assert_false(td_shelf_take(rig.snapshots, &taken, &snapshot));
}

#define TEST(name)       cmocka_unit_test_setup_teardown(name, set_up, tear_down)
#define SMALL_TEST(name) cmocka_unit_test_setup_teardown(name, set_up_small, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(another_core_comes_to_the_same_by_the_entries_alone),
		TEST(a_word_that_was_not_written_is_told_and_the_breach_behind_it),
		TEST(time_alone_is_stepped_when_due_and_every_50_ms_while_it_moves),
		TEST(the_lease_that_is_left_is_told_as_of_now),
		TEST(the_core_is_handed_over_every_10_s_while_it_steps),
		SMALL_TEST(after_a_loss_it_goes_on_with_a_snapshot),
		SMALL_TEST(nothing_is_cut_in_two),
		TEST(where_nobody_listens_nothing_is_handed_over),
	};

	return cmocka_run_group_tests_name("mover's feed", tests, NULL, NULL);
}
