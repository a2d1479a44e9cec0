/* SPDX-License-Identifier: MIT */
/* The account of a stop, entry by entry: which news of a step it is of, what it takes along, what came after. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/cause.h"
#include "tests/support/retold.h"

/* As in the example. */
enum { DRIVE, STEERING, BOOM, VENT };
enum { BACKWARD, FORWARD };

static struct retold told;
static struct td_accountant *const self = &told.accountant;

static void news(enum td_cause cause, uint8_t axis)
{
	struct td_entry entry = {.kind = TD_ENTRY_NEWS, .number = told.number++, .at_ns = told.now_ns};

	entry.as.news = (struct td_news){.cause = cause, .axis = axis};
	td_account_entry(self, &entry);
}

/* A step that the core beside knows nothing of; `running`: bit set of axes that are powered after it. */
static void step(struct td_event event, uint32_t running)
{
	struct td_entry entry = {.kind = TD_ENTRY_STEP, .number = told.number++, .at_ns = told.now_ns};

	entry.as.step.event = event;
	for (uint8_t axis = 0; axis < told.config.axes; axis++) {
		bool runs = (running >> axis & 1) != 0;

		entry.as.step.state[axis] = (uint8_t)(runs ? TD_AXIS_RUN : TD_AXIS_STILL);
		entry.as.step.outputs |= (uint32_t)runs << axis * TD_WAYS;
	}
	td_account_entry(self, &entry);
}

static const struct td_event time_passes;

/* A trace of another build: no core beside. These axes are powered before the step whose news follow. */
static void begin(enum td_account_want want, uint32_t running)
{
	retold_open(&told, want, false);
	retold_begin(&told, false);
	step(time_passes, running);
	told.now_ns += TD_MS(5);
	step(time_passes, 0);
}

/* --- which of the news of a step ------------------------------------------------------------------------- */

static const struct {
	enum td_cause cause[2];
	uint8_t axis[2];
	enum td_cause told;
	uint8_t told_axis;
	uint32_t others;
} gravest[] = {
	/* a trip before a stop, in either order */
	{{TD_CAUSE_LET_GO, TD_CAUSE_BOTH_ENDS}, {BOOM, VENT}, TD_CAUSE_BOTH_ENDS, VENT, 1 << BOOM},
	{{TD_CAUSE_BOTH_ENDS, TD_CAUSE_LET_GO}, {VENT, BOOM}, TD_CAUSE_BOTH_ENDS, VENT, 1 << BOOM},
	/* the boom was powered, the vent was not */
	{{TD_CAUSE_LINES_LOST, TD_CAUSE_LINES_LOST}, {VENT, BOOM}, TD_CAUSE_LINES_LOST, BOOM, 1 << VENT},
	{{TD_CAUSE_LINES_LOST, TD_CAUSE_LINES_LOST}, {BOOM, VENT}, TD_CAUSE_LINES_LOST, BOOM, 1 << VENT},
	/* both were: the first */
	{{TD_CAUSE_LINES_LOST, TD_CAUSE_LINES_LOST}, {DRIVE, BOOM}, TD_CAUSE_LINES_LOST, DRIVE, 1 << BOOM},
	/* neither was */
	{{TD_CAUSE_CHATTER, TD_CAUSE_CHATTER}, {VENT, STEERING}, TD_CAUSE_CHATTER, VENT, 1 << STEERING},
	/* two of one axis: nothing beside it */
	{{TD_CAUSE_LET_GO, TD_CAUSE_BOTH_ENDS}, {BOOM, BOOM}, TD_CAUSE_BOTH_ENDS, BOOM, 0},
	{{TD_CAUSE_BOTH_ENDS, TD_CAUSE_LET_GO}, {BOOM, BOOM}, TD_CAUSE_BOTH_ENDS, BOOM, 0},
	/* what concerns the machine is no axis */
	{{TD_CAUSE_LATCH_ASKED, TD_CAUSE_LATCH_CUT},
	 {TD_NO_AXIS, BOOM},
	 TD_CAUSE_LATCH_ASKED,
	 TD_NO_AXIS,
	 1 << BOOM},
	{{TD_CAUSE_LATCH_CUT, TD_CAUSE_LATCH_ASKED}, {BOOM, TD_NO_AXIS}, TD_CAUSE_LATCH_CUT, BOOM, 0},
	{{TD_CAUSE_LATCH_ASKED, TD_CAUSE_BOTH_ENDS}, {TD_NO_AXIS, BOOM}, TD_CAUSE_BOTH_ENDS, BOOM, 0},
	{{TD_CAUSE_INTERNAL, TD_CAUSE_BOTH_ENDS}, {TD_NO_AXIS, BOOM}, TD_CAUSE_BOTH_ENDS, BOOM, 0},
	{{TD_CAUSE_CHATTER, TD_CAUSE_INTERNAL}, {VENT, TD_NO_AXIS}, TD_CAUSE_CHATTER, VENT, 0},
};

static void of_one_step_the_gravest_is_told_and_the_others_are_taken_along(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(gravest) / sizeof(gravest[0]); i++) {
		begin(TD_ACCOUNT_STOP, 1 << BOOM | 1 << DRIVE);
		for (int n = 0; n < 2; n++)
			news(gravest[i].cause[n], gravest[i].axis[n]);
		if (self->account.cause != gravest[i].told || self->account.axis != gravest[i].told_axis ||
		    self->account.others != gravest[i].others)
			fail_msg("row %zu: %d of axis %u, others %x", i, (int)self->account.cause,
				 self->account.axis, self->account.others);
	}
}

static void not_everything_that_happens_is_a_stop(void **state)
{
	static const enum td_cause none[] = {
		TD_CAUSE_NONE,       TD_CAUSE_STARTED, TD_CAUSE_REPLACED,   TD_CAUSE_TRIPPED,
		TD_CAUSE_CLOCK_BACK, TD_CAUSE_ARMED,   TD_CAUSE_RESET_DONE,
	};
	static const enum td_cause stops[] = {
		TD_CAUSE_LET_GO,     TD_CAUSE_LATCH_ASKED, TD_CAUSE_LATCH_INPUT,
		TD_CAUSE_LATCH_KEPT, TD_CAUSE_DISARMED,    TD_CAUSE_BOTH_ENDS,
	};

	(void)state;
	for (size_t i = 0; i < sizeof(none) / sizeof(none[0]); i++) {
		begin(TD_ACCOUNT_STOP, 0);
		news(none[i], BOOM);
		assert_false(self->account.found);
	}
	for (size_t i = 0; i < sizeof(stops) / sizeof(stops[0]); i++) {
		begin(TD_ACCOUNT_STOP, 0);
		news(stops[i], BOOM);
		assert_true(self->account.found);
		begin(TD_ACCOUNT_TRIP, 0);
		news(stops[i], BOOM);
		assert_int_equal(self->account.found, stops[i] == TD_CAUSE_BOTH_ENDS);
	}
}

static void a_way_that_waited_for_its_turn_is_the_way_of_the_stop(void **state)
{
	(void)state;
	retold_open(&told, TD_ACCOUNT_STOP, true);
	retold_ask(&told, "drive", "forward");
	retold_run(&told, 300);
	retold_release(&told, "drive");
	retold_ask(&told, "drive", "backward"); /* waits for the dead time */
	assert_int_equal(self->now.axis[DRIVE].state, TD_AXIS_WAIT);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LINES_LOST});
	assert_int_equal(self->account.cause, TD_CAUSE_LINES_LOST);
	assert_int_equal(self->account.before.axis[DRIVE].state, TD_AXIS_WAIT);
	assert_int_equal(self->account.before.axis[DRIVE].way, FORWARD);
	assert_int_equal(self->account.axis, DRIVE);
	assert_int_equal(self->account.way, BACKWARD);
}

/* --- the core beside -------------------------------------------------------------------------------------- */

static void a_core_beside_that_comes_to_something_else_is_not_asked_any_more(void **state)
{
	(void)state;
	for (int field = 0; field < 5; field++) {
		struct td_entry entry = {.kind = TD_ENTRY_STEP};
		struct td_event event = {.kind = TD_EVENT_TIME};

		retold_open(&told, TD_ACCOUNT_TRIP, true);
		event.at_ns = told.now_ns;
		td_core_step(&told.core, &told.config.rules, &event, &told.result);
		td_entry_of_step(&entry, &told.core, &told.config.rules, &event, &told.result, told.levels);
		entry.number = told.number++;
		entry.as.step.outputs ^= field == 1 ? 1 : 0;
		entry.as.step.news = (uint8_t)(entry.as.step.news + (field == 2));
		entry.as.step.answer = (uint8_t)(field == 3 ? TD_CAUSE_LATCHED : entry.as.step.answer);
		entry.as.step.latch ^= field == 4 ? TD_LATCH_ASKED : 0;
		td_account_entry(self, &entry);
		news(TD_CAUSE_BOTH_ENDS, BOOM);
		assert_true(self->account.found);
		assert_int_equal(self->account.measure.known, field == 0);
	}
}

/* A trace that begins in the middle of things, with the core of then. */
static void begin_in_the_middle(void)
{
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 100);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, 300);
	retold_ask(&told, "drive", "forward");
	retold_run(&told, 150);
	retold_release(&told, "drive");
	retold_ask(&told, "drive", "backward");
	assert_int_equal(told.core.axis[DRIVE].state, TD_AXIS_WAIT);
	td_account_begin(self, TD_ACCOUNT_TRIP);
	td_account_head(self, &told.config, &told.core, told.levels, told.now_ns, 0, told.number);
}

static void a_trace_that_begins_in_the_middle_knows_who_holds(void **state)
{
	(void)state;
	begin_in_the_middle();
	assert_int_equal(self->now.axis[BOOM].state, TD_AXIS_RUN);
	assert_int_equal(self->now.axis[BOOM].hold.by.session, BOOM + 1);
	assert_int_equal(self->now.axis[BOOM].hold.by.role, TD_NO_ROLE);
	assert_true(self->now.axis[BOOM].hold.begun_before);
	assert_true(self->now.axis[BOOM].since_ns < told.now_ns);
	assert_int_equal(self->now.axis[DRIVE].state, TD_AXIS_WAIT);
	assert_int_equal(self->now.axis[DRIVE].hold.way, BACKWARD);
	assert_int_equal(self->now.axis[DRIVE].way, FORWARD);
	assert_int_equal(self->now.axis[VENT].hold.by.session, 0);
	retold_run(&told, 3000);
	assert_int_equal(self->account.cause, TD_CAUSE_TRAVEL_LIMIT);
	assert_true(self->account.before.axis[BOOM].hold.begun_before);
	assert_true(self->account.before.axis[BOOM].hold.renewals > 10);
	assert_true(self->account.wall_ns == 0);
}

static void renewals_of_a_hold_that_nobody_saw_begin_are_taken_as_they_are(void **state)
{
	struct td_event event = {.kind = TD_EVENT_REQUEST, .axis = VENT, .session = 5, .hold = 2, .seq = 7};
	const struct td_account_hold *hold = &self->now.axis[VENT].hold;
	struct td_entry entry = {.kind = TD_ENTRY_STEP, .as.step = {.answer = TD_CAUSE_RENEWED}};

	(void)state;
	begin(TD_ACCOUNT_TRIP, 0);
	for (uint32_t i = 0; i < 6; i++) {
		/* the same again, another number, another session, heard at odd times, of no axis */
		event.hold = i < 2 ? 2 : 3;
		event.session = i < 3 ? 5 : 6;
		event.axis = i < 5 ? VENT : TD_AXES_MAX;
		event.heard_ns = i == 1 ? told.now_ns - TD_MS(2) : (i == 4 ? told.now_ns + 1 : 0);
		entry.at_ns = told.now_ns;
		entry.number = told.number++;
		entry.as.step.event = event;
		td_account_entry(self, &entry);
		assert_int_equal(hold->by.session, i < 3 ? 5 : 6);
		assert_int_equal(hold->number, i < 2 ? 2 : 3);
		assert_true(hold->begun_before);
		assert_int_equal(hold->renewals, i == 1 || i >= 4 ? 2 : 1);
		assert_true(hold->heard_ns == told.now_ns - (i == 1 ? TD_MS(2) : 0));
	}
}

/* --- clients and what is nobody's ---------------------------------------------------------------------------- */

static void who_went_is_still_known_and_refusals_of_the_front_are_passed_over(void **state)
{
	struct td_entry entry = {.as.session = {.session = 3, .uid = 7}};

	(void)state;
	begin(TD_ACCOUNT_TRIP, 0);
	for (uint32_t kind = TD_ENTRY_NONE; kind <= TD_ENTRY_REFUSED + 1; kind++) {
		if (kind == TD_ENTRY_STEP || kind == TD_ENTRY_NEWS)
			continue;
		entry.kind = kind;
		td_account_entry(self, &entry);
	}
	step((struct td_event){.kind = TD_EVENT_LATCH, .session = 3}, 0);
	news(TD_CAUSE_BOTH_ENDS, BOOM);
	assert_int_equal(self->account.by.session, 3);
	assert_true(self->account.by.has_uid);
	assert_int_equal(self->account.by.uid, 2002);
}

/* --- afterwards ------------------------------------------------------------------------------------------- */

static void what_came_after_is_noted_where_it_matters(void **state)
{
	static const struct {
		enum td_cause cause;
		uint8_t axis;
		bool noted;
	} rows[] = {
		{TD_CAUSE_TRIPPED, BOOM, true},        {TD_CAUSE_TRIPPED, VENT, false},
		{TD_CAUSE_LATCHED, VENT, true},        {TD_CAUSE_STARTED, VENT, false},
		{TD_CAUSE_QUEUED, BOOM, false},        {TD_CAUSE_STOPPED, TD_NO_AXIS, false},
		{TD_CAUSE_DISARMED, TD_NO_AXIS, true}, {TD_CAUSE_NOTHING_TO_RESET, TD_NO_AXIS, false},
		{TD_CAUSE_LET_GO, BOOM, false},        {TD_CAUSE_CLOCK_BACK, TD_NO_AXIS, false},
		{TD_CAUSE_NONE, BOOM, false},          {TD_CAUSE_RESET_DONE, VENT, true},
		{TD_CAUSE_RESET_DONE, BOOM, true},     {TD_CAUSE_TRIPPED, BOOM, false}, /* reset by now */
		{TD_CAUSE_LATCHED, BOOM, false},       {TD_CAUSE_STARTED, BOOM, true},
		{TD_CAUSE_RESET_DONE, BOOM, false}, /* everyday life again */
	};

	(void)state;
	begin(TD_ACCOUNT_TRIP, 1 << BOOM);
	news(TD_CAUSE_BOTH_ENDS, BOOM);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		size_t before = self->account.notes;

		told.now_ns += TD_MS(1);
		step(time_passes, 0);
		news(rows[i].cause, rows[i].axis);
		if ((self->account.notes > before) != rows[i].noted)
			fail_msg("row %zu", i);
	}
	assert_true(self->account.reset);
	assert_true(self->account.resumed);
}

static void a_reset_of_any_axis_ends_what_concerns_the_machine(void **state)
{
	(void)state;
	begin(TD_ACCOUNT_STOP, 0);
	news(TD_CAUSE_LATCH_ASKED, TD_NO_AXIS);
	step((struct td_event){.kind = TD_EVENT_RESET, .role = TD_ROLE_KEEPER, .session = 9}, 0);
	td_account_keep(self);
	news(TD_CAUSE_RESET_DONE, VENT);
	assert_true(self->account.reset);
}

static void who_did_it_is_noted_for_deeds_only(void **state)
{
	static const struct {
		enum td_event_kind kind;
		uint32_t session;
		uint8_t role;
	} rows[] = {
		{TD_EVENT_RESET, 50, TD_ROLE_KEEPER},  {TD_EVENT_REQUEST, 50, TD_ROLE_KEEPER},
		{TD_EVENT_COOLED, 50, TD_ROLE_KEEPER}, {TD_EVENT_UNTWISTED, 50, TD_ROLE_KEEPER},
		{TD_EVENT_LATCH, 50, TD_NO_ROLE},      {TD_EVENT_TIME, 0, TD_NO_ROLE},
	};

	(void)state;
	begin(TD_ACCOUNT_TRIP, 0);
	news(TD_CAUSE_BOTH_ENDS, BOOM);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		size_t before = self->account.notes;

		step((struct td_event){.kind = rows[i].kind, .role = TD_ROLE_KEEPER, .session = 50}, 0);
		news(TD_CAUSE_ARMED, (uint8_t)i);
		assert_int_equal(self->account.notes, before + 1);
		assert_int_equal(self->account.note[before].by.session, rows[i].session);
		assert_int_equal(self->account.note[before].by.role, rows[i].role);
	}
}

static void only_the_same_of_the_same_is_counted_in_one_note(void **state)
{
	static const struct td_event deeds[] = {
		{.kind = TD_EVENT_REQUEST, .session = 50, .role = TD_ROLE_VISITOR},
		{.kind = TD_EVENT_REQUEST, .session = 50, .role = TD_ROLE_VISITOR},
		{.kind = TD_EVENT_REQUEST, .session = 50, .role = TD_ROLE_KEEPER},
		{.kind = TD_EVENT_REQUEST, .session = 51, .role = TD_ROLE_KEEPER},
	};

	(void)state;
	begin(TD_ACCOUNT_TRIP, 0);
	news(TD_CAUSE_BOTH_ENDS, BOOM);
	for (size_t i = 0; i < sizeof(deeds) / sizeof(deeds[0]); i++) {
		step(deeds[i], 0);
		news(TD_CAUSE_TRIPPED, BOOM);
	}
	news(TD_CAUSE_LATCHED, BOOM);
	news(TD_CAUSE_LATCHED, VENT);
	assert_int_equal(self->account.notes, 5);
	assert_int_equal(self->account.note[0].times, 2);
	for (size_t i = 1; i < 5; i++)
		assert_int_equal(self->account.note[i].times, 1);
}

/* --- one trace after another ---------------------------------------------------------------------------------- */

#define WALL_NS TD_S(1000000)

static void head(td_ns begin_ns, int64_t wall_ns, uint64_t number)
{
	told.number = number;
	told.now_ns = begin_ns;
	td_account_head(self, &told.config, NULL, told.levels, begin_ns, wall_ns, number);
}

/* The boom trips at 10.005 s of the core's clock, in a trace that begins with number 1000 at `wall_ns`. */
static void trip_at(int64_t wall_ns)
{
	begin(TD_ACCOUNT_TRIP, 0);
	head(TD_S(10), wall_ns, 1000);
	told.now_ns += TD_MS(5);
	step(time_passes, 0);
	news(TD_CAUSE_BOTH_ENDS, BOOM);
}

static void every_restart_is_a_note_of_its_own(void **state)
{
	(void)state;
	trip_at(WALL_NS);
	for (int i = 1; i <= 3; i++) {
		head(TD_S(100 * i), WALL_NS + TD_S(100 * i - 10), 0);
		step(time_passes, 0);
	}
	news(TD_CAUSE_ARMED, TD_NO_AXIS);
	assert_true(self->account.restarted);
	assert_int_equal(self->account.notes, 4);
	for (size_t i = 0; i < 3; i++)
		assert_true(self->account.note[i].restart);
	assert_false(self->account.note[3].restart);
	head(TD_S(500), WALL_NS + TD_S(490), 0);
	assert_int_equal(self->account.notes, 5);
}

static void after_a_restart_no_trip_of_before_is_the_earlier_one(void **state)
{
	(void)state;
	for (int restart = 0; restart < 2; restart++) {
		trip_at(WALL_NS);
		head(TD_S(20), WALL_NS + TD_S(10), restart ? 0 : 1002);
		step(time_passes, 0);
		news(TD_CAUSE_CHATTER, VENT);
		assert_int_equal(self->account.cause, TD_CAUSE_CHATTER);
		assert_int_equal(self->account.earlier.cause, restart ? TD_CAUSE_NONE : TD_CAUSE_BOTH_ENDS);
	}
}

/* Whether both traces have one clock shows in the wall clock; where one has none, they are taken to have. */
static void the_time_between_two_traces_is_told_by_the_clock_they_share(void **state)
{
	static const struct {
		int64_t wall_before_ns;
		int64_t wall_after_ns;
		td_ns after_ns; /* from the stop to the first moment of the second trace, which is 30 s */
	} rows[] = {
		{WALL_NS, WALL_NS + TD_S(20), TD_MS(19995)},
		{WALL_NS, WALL_NS + TD_S(22), TD_MS(19995)},
		{WALL_NS, WALL_NS + TD_S(3600), TD_MS(3599995)},
		{WALL_NS, WALL_NS + TD_S(12), TD_MS(11995)},
		{0, WALL_NS + TD_S(3600), TD_MS(19995)},
		{WALL_NS, 0, TD_MS(19995)},
		{0, 0, TD_MS(19995)},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		trip_at(rows[i].wall_before_ns);
		head(TD_S(30), rows[i].wall_after_ns, 1002);
		step(time_passes, 0);
		if (self->account.lasts_ns != rows[i].after_ns)
			fail_msg("row %zu: %lld ns", i, (long long)self->account.lasts_ns);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(of_one_step_the_gravest_is_told_and_the_others_are_taken_along),
		cmocka_unit_test(not_everything_that_happens_is_a_stop),
		cmocka_unit_test(a_way_that_waited_for_its_turn_is_the_way_of_the_stop),
		cmocka_unit_test(a_core_beside_that_comes_to_something_else_is_not_asked_any_more),
		cmocka_unit_test(a_trace_that_begins_in_the_middle_knows_who_holds),
		cmocka_unit_test(renewals_of_a_hold_that_nobody_saw_begin_are_taken_as_they_are),
		cmocka_unit_test(who_went_is_still_known_and_refusals_of_the_front_are_passed_over),
		cmocka_unit_test(what_came_after_is_noted_where_it_matters),
		cmocka_unit_test(a_reset_of_any_axis_ends_what_concerns_the_machine),
		cmocka_unit_test(who_did_it_is_noted_for_deeds_only),
		cmocka_unit_test(only_the_same_of_the_same_is_counted_in_one_note),
		cmocka_unit_test(every_restart_is_a_note_of_its_own),
		cmocka_unit_test(after_a_restart_no_trip_of_before_is_the_earlier_one),
		cmocka_unit_test(the_time_between_two_traces_is_told_by_the_clock_they_share),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
