/* SPDX-License-Identifier: MIT */
/* The replay on entries in memory: what is compared, what is told, gaps, missing ends, records. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/record.h"
#include "sim/replay/tell.h"
#include "tests/support/rule_cart.h"
#include "tests/support/rule_text.h"
#include "trace/tape.h"

enum { ENTRIES = 400, AT_REST_MS = 1000 };

/* A run of the test cart: who, what, when. */
struct reel {
	struct td_config config;
	struct td_snapshot snapshot;
	struct td_core core;
	struct td_result result;
	uint32_t levels;
	size_t count;
	struct td_entry entry[ENTRIES];
};

static struct reel reel;
static struct td_replay replay;

static void put(const struct td_entry *entry)
{
	assert_true(reel.count < ENTRIES);
	reel.entry[reel.count] = *entry;
	reel.entry[reel.count].number = reel.count;
	reel.count++;
}

static void step(int at_ms, struct td_event event)
{
	struct td_entry entry;

	event.at_ns = TD_MS(at_ms);
	td_core_step(&reel.core, &reel.config.rules, &event, &reel.result);
	if (event.kind == TD_EVENT_LEVELS)
		reel.levels = event.levels;
	td_entry_of_step(&entry, &reel.core, &reel.config.rules, &event, &reel.result, reel.levels);
	put(&entry);
	for (uint16_t i = 0; i < reel.result.news_count; i++) {
		td_entry_of_news(&entry, &reel.core, &reel.result, i);
		put(&entry);
	}
}

static void levels(int at_ms, uint32_t active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&reel.config.rules, sw, (active >> sw & 1) != 0))
			word |= UINT32_C(1) << sw;
	step(at_ms, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = word});
}

static void hold(int from_ms, int to_ms, uint8_t axis, uint8_t way, uint32_t number)
{
	struct td_event request = {.kind = TD_EVENT_REQUEST,
				   .axis = axis,
				   .way = way,
				   .session = 7,
				   .hold = number,
				   .lease_ns = TD_MS(300)};

	for (int at_ms = from_ms; at_ms < to_ms; at_ms += 100, request.seq++) {
		step(at_ms, request);
		step(at_ms + 50, (struct td_event){.kind = TD_EVENT_TIME});
	}
	step(to_ms, (struct td_event){.kind = TD_EVENT_RELEASE, .axis = axis, .session = 7, .hold = number});
}

static void client(int at_ms, enum td_entry_kind kind, struct td_entry_session session)
{
	const struct td_entry entry = {.kind = kind, .at_ns = TD_MS(at_ms), .as.session = session};

	put(&entry);
}

/* Armed at 0; drive ahead from 1 s to 2 s, back from 3 s to 3.5 s, at rest from 4 s on. */
static void record(void)
{
	struct td_rules rules = rule_cart();
	char *text = rule_text(&rules);

	memset(&reel, 0, sizeof(reel));
	assert_true(rule_text_config(text, &rules, &reel.config));
	free(text);
	td_core_init(&reel.core, &reel.config.rules, 0);
	reel.snapshot.core = reel.core;
	levels(0, 0);
	step(0, (struct td_event){.kind = TD_EVENT_ARM});
	client(600, TD_ENTRY_SESSION, (struct td_entry_session){.session = 7, .uid = 1000, .came = 1});
	step(AT_REST_MS - 100, (struct td_event){.kind = TD_EVENT_TIME});
	hold(1000, 2000, RULE_DRIVE, 1, 1);
	client(2500, TD_ENTRY_REFUSED,
	       (struct td_entry_session){.session = 7, .cause = TD_CAUSE_BAD_REQUEST});
	hold(3000, 3500, RULE_DRIVE, 0, 2);
	step(4000, (struct td_event){.kind = TD_EVENT_TIME});
	step(4100, (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
}

static void begin(bool from_record, const struct td_keep *keep)
{
	td_replay_begin(&replay, &(struct td_replay_setup){
					 .config = &reel.config,
					 .snapshot = from_record ? NULL : &reel.snapshot,
					 .keep = keep,
					 .begin_ns = reel.snapshot.core.now_ns,
					 .levels = reel.snapshot.levels,
				 });
}

static void feed(size_t from, size_t to)
{
	for (size_t i = from; i < to; i++)
		assert_int_equal(td_replay_entry(&replay, reel.entry[i].at_ns, &reel.entry[i]), 0);
}

static char *told(void)
{
	const struct td_replay_account account = {
		.shown_as = "reel", .head = {.kind = "run", .version = "1"}, .replay = &replay};
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	td_replay_tell(out, &account);
	fclose(out);
	return text;
}

static void assert_told(const char *words)
{
	char *text = told();

	if (!strstr(text, words))
		fail_msg("\"%s\" does not stand in:\n%s", words, text);
	free(text);
}

static void the_same_run_has_no_difference(void **state)
{
	(void)state;
	record();
	begin(false, NULL);
	feed(0, reel.count);
	assert_int_equal(
		td_replay_check(&replay, TD_MS(4100), td_tape_check_of(&reel.core, &reel.config.rules)), 0);
	assert_int_equal(td_replay_end(&replay, false), 0);
	assert_int_equal(replay.tally.differ, 0);
	assert_int_equal(replay.tally.compared, replay.tally.steps);
	assert_int_equal(replay.tally.checks, 1);
	assert_memory_equal(&replay.core, &reel.core, sizeof(reel.core));
}

/* --- each part of an outcome ------------------------------------------------------------------------- */

static void outputs(struct td_entry_step *s)
{
	s->outputs ^= 1;
}
static void answer(struct td_entry_step *s)
{
	s->answer = TD_CAUSE_STALE;
}
static void state_of_one(struct td_entry_step *s)
{
	s->state[RULE_VENT] = TD_AXIS_COAST;
}
static void asked(struct td_entry_step *s)
{
	s->asked ^= 8;
}
static void active(struct td_entry_step *s)
{
	s->active ^= 1;
}
static void armed(struct td_entry_step *s)
{
	s->armed = 0;
}
static void latch(struct td_entry_step *s)
{
	s->latch = TD_LATCH_ASKED;
}

static size_t start_of_hold(void)
{
	for (size_t i = 0; i < reel.count; i++)
		if (reel.entry[i].kind == TD_ENTRY_STEP && reel.entry[i].as.step.event.hold == 2)
			return i;
	fail_msg("no such step");
	return 0;
}

static void each_part_that_differs_is_found_where_it_is(void **state)
{
	static const struct {
		void (*change)(struct td_entry_step *);
		enum td_replay_part part;
		const char *says;
	} rows[] = {
		{outputs, TD_REPLAY_PART_OUTPUTS, "R1   what is powered"},
		{answer, TD_REPLAY_PART_ANSWER, "R7   stale, answered in the trace only"},
		{state_of_one, TD_REPLAY_PART_STATES, "vent: coast"},
		{asked, TD_REPLAY_PART_ASKED, "R7   who is still asked for"},
		{active, TD_REPLAY_PART_ACTIVE, "bottom: active"},
		{armed, TD_REPLAY_PART_ARMED, "not armed"},
		{latch, TD_REPLAY_PART_LATCH, "latched stop on, asked for"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		record();
		size_t at = start_of_hold();

		rows[i].change(&reel.entry[at].as.step);
		begin(false, NULL);
		feed(0, reel.count);
		(void)td_replay_end(&replay, false);
		assert_int_equal(replay.tally.differ, 1);
		assert_int_equal(replay.first.parts, 1U << rows[i].part);
		assert_int_equal(replay.first.trace.file_ns, TD_MS(3000));
		assert_told(rows[i].says);
	}
}

static void news_that_are_missing_other_or_in_another_order_differ(void **state)
{
	(void)state;
	record();
	size_t at = start_of_hold();

	assert_int_equal(reel.entry[at].as.step.news, 1);
	reel.entry[at + 1].as.news.axis = RULE_VENT;
	begin(false, NULL);
	feed(0, reel.count);
	assert_int_equal(replay.tally.differ, 1);
	assert_told("the trace:   started; outputs drive.back");
	record();
	reel.entry[at + 1].as.news.cause = TD_CAUSE_TRAVEL_LIMIT;
	begin(false, NULL);
	feed(0, reel.count);
	assert_told("R4   travel-limit, in the trace only: the end was not reached in the learned time");
	record();
	reel.entry[at].as.step.news = 0;
	begin(false, NULL);
	feed(0, at + 1);
	feed(at + 2, reel.count);
	assert_int_equal(replay.first.parts, 1U << TD_REPLAY_PART_NEWS);
}

static void a_mark_tells_what_no_outcome_shows(void **state)
{
	(void)state;
	record();
	begin(false, NULL);
	feed(0, reel.count);
	(void)td_replay_check(&replay, TD_MS(4200), 1);
	assert_int_equal(replay.tally.differ, 1);
	assert_told("a mark of the trace tells of another core");
	assert_told("R4   what is counted");
}

/* --- what is told before a difference ---------------------------------------------------------------- */

static void ten_events_before_the_difference_are_told_without_what_says_nothing(void **state)
{
	(void)state;
	record();
	reel.entry[reel.count - 1].as.news.cause = TD_CAUSE_LATCHED; /* news of the stop */
	begin(false, NULL);
	feed(0, reel.count);
	(void)td_replay_end(&replay, false);
	assert_told("session 7 comes, visitor, user 1000");
	assert_told("session 7 is turned away: bad-request");
	assert_told("session 7 asks for drive ahead (hold 1): started; outputs drive.ahead");
	assert_told("session 7 renews drive ahead (hold 1, renewal 9), the last of 9 in a row: renewed");
	assert_told("session 7 lets go drive: let-go; outputs none");
	assert_true(replay.first.before <= TD_REPLAY_BEFORE);
	char *text = told();

	assert_null(strstr(text, "time passed"));
	free(text);
}

static void more_than_ten_are_forgotten(void **state)
{
	(void)state;
	record();
	for (int i = 0; i < 12; i++)
		client(4200 + i, TD_ENTRY_SESSION, (struct td_entry_session){.session = 20U + (uint32_t)i});
	step(4300, (struct td_event){.kind = TD_EVENT_DISARM});
	reel.entry[reel.count - 1].as.news.cause = TD_CAUSE_ARMED;
	begin(false, NULL);
	feed(0, reel.count);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.first.before, 10);
	assert_int_equal(replay.first.moment[0].session.session, 22);
	assert_int_equal(replay.first.moment[9].session.session, 31);
}

/* --- gaps and ends ------------------------------------------------------------------------------------ */

static void after_a_gap_nothing_is_compared(void **state)
{
	(void)state;
	record();
	size_t at = start_of_hold();

	begin(false, NULL);
	feed(0, at);
	assert_int_equal(td_replay_lost(&replay, TD_MS(3000), 2), 0);
	feed(at + 2, reel.count);
	(void)td_replay_check(&replay, TD_MS(4100), 1);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.differ, 0);
	assert_int_equal(replay.tally.checks, 0);
	assert_true(replay.tally.compared < replay.tally.steps);
	assert_told("2 entries are missing, the first at +3.000000 s: compared up to there");
}

static void a_step_whose_news_are_missing_at_the_gap_or_the_end_is_not_compared(void **state)
{
	(void)state;
	record();
	size_t at = start_of_hold();

	begin(false, NULL);
	feed(0, at + 1);
	(void)td_replay_lost(&replay, TD_MS(3000), 1);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.differ, 0);
	begin(false, NULL);
	feed(0, at + 1);
	(void)td_replay_end(&replay, true);
	assert_int_equal(replay.tally.differ, 0);
	begin(false, NULL);
	feed(0, at + 1);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.differ, 1);
}

/* --- records ------------------------------------------------------------------------------------------ */

/* A trace that begins in mid motion; the record knows nothing of that. */
static void from_a_record_it_is_compared_once_all_is_at_rest(void **state)
{
	struct td_keep keep;

	(void)state;
	record();
	size_t at = 0;

	while (reel.entry[at].at_ns < TD_MS(1500))
		at++;
	td_record_take(&reel.core, &reel.config.rules, true, TD_MS(1500), &keep);
	reel.snapshot.core.now_ns = TD_MS(1500);
	reel.snapshot.levels = reel.levels;
	begin(true, &keep);
	feed(at, reel.count);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.differ, 0);
	assert_true(replay.tally.synced);
	assert_int_equal(replay.tally.sync_file_ns, TD_MS(4100));
	assert_int_equal(replay.tally.compared, 1);
	assert_told("Compared from +4.100000 s on, when all was off, still and not asked for");
}

static void a_record_that_is_latched_is_compared_after_the_reset(void **state)
{
	struct td_keep keep;

	(void)state;
	record();
	step(4200, (struct td_event){.kind = TD_EVENT_LATCH});
	size_t at = reel.count;

	reel.snapshot.core.now_ns = TD_MS(4300);
	reel.snapshot.levels = reel.levels;
	td_record_take(&reel.core, &reel.config.rules, true, TD_MS(4300), &keep);
	step(4400, (struct td_event){.kind = TD_EVENT_TIME});
	step(4500, (struct td_event){.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER});
	hold(5000, 5300, RULE_DRIVE, 0, 3);
	begin(true, &keep);
	feed(at, reel.count);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.differ, 0);
	assert_int_equal(replay.tally.sync_file_ns, TD_MS(5000));
	assert_true(replay.tally.compared > 3);
}

static void where_all_is_never_at_rest_nothing_is_compared(void **state)
{
	struct td_keep keep;

	(void)state;
	record();
	td_keep_init(&keep, 0);
	begin(true, &keep);
	feed(0, start_of_hold() / 2);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.compared > 0, replay.tally.synced);
	td_keep_init_unknown(&keep, 0); /* latched, and the trace is not */
	begin(true, &keep);
	feed(0, reel.count);
	(void)td_replay_end(&replay, false);
	assert_int_equal(replay.tally.compared, 0);
	assert_told("Nothing could be compared");
	assert_told("nothing to compare");
}

static int refuse(void *ctx, const struct td_entry *entry)
{
	(void)entry;
	return --*(int *)ctx < 0;
}

static void a_tap_that_wants_no_more_stops_the_replay(void **state)
{
	int left = 3;
	size_t i = 0;

	(void)state;
	record();
	begin(false, NULL);
	replay.tap = (struct td_replay_tap){.ctx = &left, .entry = refuse};
	while (i < reel.count && td_replay_entry(&replay, reel.entry[i].at_ns, &reel.entry[i]) == 0)
		i++;
	assert_true(i < 6);
	assert_int_equal(left, -1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_same_run_has_no_difference),
		cmocka_unit_test(each_part_that_differs_is_found_where_it_is),
		cmocka_unit_test(news_that_are_missing_other_or_in_another_order_differ),
		cmocka_unit_test(a_mark_tells_what_no_outcome_shows),
		cmocka_unit_test(ten_events_before_the_difference_are_told_without_what_says_nothing),
		cmocka_unit_test(more_than_ten_are_forgotten),
		cmocka_unit_test(after_a_gap_nothing_is_compared),
		cmocka_unit_test(a_step_whose_news_are_missing_at_the_gap_or_the_end_is_not_compared),
		cmocka_unit_test(from_a_record_it_is_compared_once_all_is_at_rest),
		cmocka_unit_test(a_record_that_is_latched_is_compared_after_the_reset),
		cmocka_unit_test(where_all_is_never_at_rest_nothing_is_compared),
		cmocka_unit_test(a_tap_that_wants_no_more_stops_the_replay),
	};

	return cmocka_run_group_tests_name("replay", tests, NULL, NULL);
}
