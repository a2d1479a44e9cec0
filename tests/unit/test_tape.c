/* SPDX-License-Identifier: MIT */
/* A tape gives back what was put onto it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/outside.h"
#include "tests/support/tape_rig.h"
#include "trace/vcd_reader.h"

static const char cart[] = "docs/examples/glasshouse.conf";

static struct tape_rig rig;

static struct tape_played *finish_and_play(void)
{
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	if (played->result != TD_TAPE_READ)
		fail_msg("%s", played->err.text);
	assert_int_equal(played->heads, 1);
	assert_false(played->summary.cut_off);
	return played;
}

static void assert_all_back(void)
{
	struct tape_played *played = finish_and_play();

	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	assert_int_equal(rig.made.count, played->items.count);
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void a_long_walk_comes_back_entry_by_entry(void **state)
{
	(void)state;
	tape_rig_open(&rig, cart, TD_S(1000));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	tape_rig_walk(&rig, 20000, true);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	assert_int_equal(rig.made.count, played->items.count);
	print_message("# measured: %zu entries and marks in %zu bytes\n", rig.made.count, rig.length);
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void the_head_and_the_core_come_back(void **state)
{
	(void)state;
	tape_rig_open(&rig, cart, TD_S(1000));
	tape_rig_ready(&rig);
	for (int i = 0; i < 500; i++)
		tape_rig_step(&rig, &(struct td_event){.kind = TD_EVENT_TIME,
						       .at_ns = rig.core.now_ns + TD_MS(10)});
	tape_rig_record(&rig);
	struct tape_played *played = finish_and_play();

	assert_string_equal(played->head.kind, rig.head.kind);
	assert_string_equal(played->head.version, rig.head.version);
	assert_string_equal(played->head.wall, rig.head.wall);
	assert_true(played->head.config_hash == rig.config.hash);
	assert_true(played->head.begin_ns == rig.first.core.now_ns);
	assert_int_equal(played->head.first_number, rig.first.number);
	assert_int_equal(played->head.machine, rig.head.machine);
	assert_memory_equal(&played->config, &rig.config, sizeof(rig.config));
	assert_true(played->has_core);
	assert_memory_equal(&played->snapshot.core, &rig.first.core, sizeof(rig.first.core));
	assert_int_equal(played->snapshot.number, rig.first.number);
	assert_int_equal(played->levels, rig.levels);
	assert_int_equal(played->outputs, rig.result.outputs);
	tape_played_free(played);
	tape_rig_close(&rig);
}

/* --- events ------------------------------------------------------------------------------------------- */

static const struct td_event samples[] = {
	{0},
	{.axis = 1,
	 .way = 2,
	 .role = 3,
	 .session = 4,
	 .hold = 5,
	 .seq = 6,
	 .lease_ns = 7,
	 .heard_ns = 8,
	 .levels = 9},
	{.at_ns = TD_S(20),
	 .axis = 255,
	 .way = 255,
	 .role = 255,
	 .session = UINT32_MAX,
	 .hold = UINT32_MAX,
	 .seq = UINT32_MAX,
	 .lease_ns = INT64_MAX,
	 .heard_ns = INT64_MAX,
	 .levels = UINT32_MAX},
	{.at_ns = INT64_MIN, .lease_ns = INT64_MIN, .heard_ns = INT64_MIN},
	{.at_ns = INT64_MIN, .heard_ns = INT64_MAX},
	{.at_ns = INT64_MAX, .heard_ns = INT64_MIN},
	{.at_ns = -1, .lease_ns = -1, .heard_ns = -1},
	{.at_ns = TD_S(21), .heard_ns = TD_S(20), .way = 1},
	{.at_ns = TD_S(5), .heard_ns = TD_S(21), .axis = TD_ALL_AXES},
};

static void every_kind_and_field_of_an_event_comes_back(void **state)
{
	static const unsigned int beyond[] = {TD_EVENT_KINDS, 254, 255, 256, 0x12345678};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	for (size_t i = 0; i < sizeof(samples) / sizeof(samples[0]); i++) {
		struct td_event event = samples[i];

		for (unsigned int kind = 0; kind < TD_EVENT_KINDS + 5; kind++) {
			event.kind = (enum td_event_kind)(
				kind < TD_EVENT_KINDS ? kind : beyond[kind - TD_EVENT_KINDS]);
			tape_rig_step(&rig, &event);
		}
	}
	assert_all_back();
}

static void many_events_of_one_moment_stand_apart(void **state)
{
	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	for (uint32_t i = 0; i < 1000; i++)
		tape_rig_step(&rig, &(struct td_event){.kind = i % 2 ? TD_EVENT_TIME : TD_EVENT_LEVELS,
						       .at_ns = TD_S(10),
						       .levels = i % 2 ? 0 : i});
	struct tape_played *played = finish_and_play();
	td_ns last_ns = 0;

	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	for (size_t i = 0; i < played->items.count; i++) {
		if (played->items.item[i].entry.kind != TD_ENTRY_STEP)
			continue;
		assert_true(played->items.item[i].file_ns > last_ns);
		last_ns = played->items.item[i].file_ns;
	}
	assert_true(last_ns < TD_US(10));
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void a_step_with_the_most_news_comes_back(void **state)
{
	struct td_entry step = {.kind = TD_ENTRY_STEP, .number = 100, .at_ns = TD_S(11)};
	struct td_entry news = {.kind = TD_ENTRY_NEWS, .at_ns = TD_S(11)};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	step.as.step.event.at_ns = TD_S(11);
	step.as.step.news = TD_NEWS_MAX;
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		step.as.step.state[axis] = axis < rig.config.axes ? TD_AXIS_STILL : 0;
	tape_rig_put(&rig, &step);
	for (uint32_t i = 0; i < TD_NEWS_MAX; i++) {
		news.number = 101 + i;
		news.as.news = (struct td_news){.cause = i % 3 ? TD_CAUSE_STARTED : TD_CAUSE_END_REACHED,
						.axis = i % 7 ? 2 : TD_NO_AXIS};
		tape_rig_put(&rig, &news);
	}
	assert_int_equal(rig.made.count, 1 + TD_NEWS_MAX);
	assert_all_back();
}

/* Converters of other programs keep only the last one. */
struct last_change {
	td_ns at_ns[TD_VCD_SIGNALS_MAX];
	int twice;
};

static int note_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct last_change *last = ctx;

	(void)value;
	last->twice += at_ns > 0 && at_ns == last->at_ns[signal];
	last->at_ns[signal] = at_ns;
	return 0;
}

static void no_signal_changes_twice_at_one_time(void **state)
{
	static struct last_change last;
	const struct td_vcd_sink sink = {.ctx = &last, .change = note_change};
	struct td_vcd_summary summary;

	(void)state;
	tape_rig_open(&rig, cart, TD_S(1000));
	tape_rig_record(&rig);
	tape_rig_walk(&rig, 5000, true);
	tape_rig_finish(&rig);
	FILE *in = outside_reader(rig.bytes, rig.length);

	assert_int_equal(td_vcd_read(in, "x.vcd", &sink, &summary, NULL), TD_VCD_READ);
	assert_int_equal(last.twice, 0);
	(void)fclose(in);
	tape_rig_close(&rig);
}

/* --- gaps, clients, marks ------------------------------------------------------------------------------ */

static void put_lost(uint32_t count)
{
	const struct tape_item item = {.what = TAPE_LOST, .number = count};

	rig.number += count;
	tape_items_add(&rig.made, &item);
}

static void entries_that_are_missing_are_counted(void **state)
{
	static const uint32_t gaps[] = {1, 1, 1, 7, 7, 1000000};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	for (size_t i = 0; i < sizeof(gaps) / sizeof(gaps[0]); i++) {
		put_lost(gaps[i]);
		tape_rig_step(&rig, &(struct td_event){.kind = TD_EVENT_TIME,
						       .at_ns = rig.core.now_ns + TD_MS(i % 2)});
	}
	assert_all_back();
}

static void entries_missing_before_a_mark_are_counted_before_it(void **state)
{
	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	put_lost(5);
	tape_rig_check(&rig);
	tape_rig_check(&rig);
	tape_rig_step(&rig, &(struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_S(20)});
	assert_all_back();
}

/* Their time is that of the file, for nobody knows when the core's clock had gone on. */
static void news_whose_step_is_missing_come_back(void **state)
{
	struct td_entry news = {.kind = TD_ENTRY_NEWS, .number = 100, .at_ns = TD_S(10)};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	news.as.news = (struct td_news){.cause = TD_CAUSE_LATCH_CUT, .axis = 1};
	tape_rig_put(&rig, &news);
	rig.number = 101;
	put_lost(1);
	news.number = 102;
	news.at_ns = TD_S(12);
	tape_rig_put(&rig, &news);
	assert_all_back();
}

static void an_entry_out_of_order_is_refused_and_the_tape_goes_on(void **state)
{
	struct td_entry step = {.kind = TD_ENTRY_STEP, .number = 99, .at_ns = TD_S(10)};
	struct td_entry none = {.kind = TD_ENTRY_NONE};
	struct td_error err = {""};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	assert_int_equal(td_tape_put(rig.tape, &step, &err), -1);
	assert_string_equal(err.text, "entry 99 comes after entry 99");
	assert_int_equal(td_tape_put(rig.tape, &none, &err), -1);
	rig.first.number = 99;
	assert_int_equal(td_tape_check(rig.tape, &rig.first, &err), -1);
	tape_rig_ready(&rig);
	assert_all_back();
}

static void clients_come_back_even_the_same_one_again(void **state)
{
	static const struct td_entry_session who[] = {
		{.session = 0, .uid = 1000, .role = 1, .came = 1},
		{.session = 0, .uid = 1000, .role = 1, .came = 1},
		{.session = 7, .uid = 0, .role = 0, .came = 1},
		{.session = 7, .uid = 0, .role = 0, .came = 0},
		{.session = 7, .uid = 0, .role = 0, .came = 0},
		{.session = UINT32_MAX, .uid = UINT32_MAX, .came = 1},
	};

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	for (size_t i = 0; i < sizeof(who) / sizeof(who[0]); i++) {
		struct td_entry entry = {.kind = TD_ENTRY_SESSION, .at_ns = TD_S(9), .as.session = who[i]};

		tape_rig_put(&rig, &entry);
		entry.kind = TD_ENTRY_REFUSED;
		entry.as.session.came = 0;
		entry.as.session.cause = TD_CAUSE_NOT_ALLOWED;
		tape_rig_put(&rig, &entry);
		if (i == 3)
			tape_rig_ready(&rig);
	}
	assert_all_back();
}

static void a_mark_is_of_record_and_status_at_that_time(void **state)
{
	uint32_t before;

	(void)state;
	tape_rig_open(&rig, cart, TD_S(10));
	tape_rig_record(&rig);
	tape_rig_check(&rig);
	tape_rig_check(&rig);
	tape_rig_ready(&rig);
	before = td_tape_check_of(&rig.core, &rig.config.rules);
	rig.core.wear[1].starts[0]++;
	assert_int_not_equal(td_tape_check_of(&rig.core, &rig.config.rules), before);
	rig.core.wear[1].starts[0]--;
	rig.core.axis[1].hold.session = 3;
	assert_int_equal(td_tape_check_of(&rig.core, &rig.config.rules), before);
	rig.core.axis[1].trip = TD_CAUSE_TRAVEL_LIMIT;
	assert_int_not_equal(td_tape_check_of(&rig.core, &rig.config.rules), before);
	rig.core.axis[1].trip = TD_CAUSE_NONE;
	assert_all_back();
}

/* A core fed with what the tape gives comes to the same, bit for bit. */
static void the_events_of_a_tape_make_the_same_core(void **state)
{
	static struct td_core core;
	static struct td_result result;
	size_t checks = 0;

	(void)state;
	tape_rig_open(&rig, cart, TD_S(1000));
	tape_rig_ready(&rig);
	tape_rig_record(&rig);
	tape_rig_walk(&rig, 5000, true);
	struct tape_played *played = finish_and_play();

	core = played->snapshot.core;
	for (size_t i = 0; i < played->items.count; i++) {
		const struct tape_item *item = &played->items.item[i];

		if (item->what == TAPE_CHECK) {
			assert_int_equal(item->number, td_tape_check_of(&core, &played->config.rules));
			checks++;
		} else if (item->entry.kind == TD_ENTRY_STEP) {
			td_core_step(&core, &played->config.rules, &item->entry.as.step.event, &result);
			assert_int_equal(result.outputs, item->entry.as.step.outputs);
			assert_int_equal(result.answer, item->entry.as.step.answer);
		}
	}
	assert_true(checks > 10);
	assert_memory_equal(&core, &rig.core, sizeof(core));
	tape_played_free(played);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_long_walk_comes_back_entry_by_entry),
		cmocka_unit_test(the_head_and_the_core_come_back),
		cmocka_unit_test(every_kind_and_field_of_an_event_comes_back),
		cmocka_unit_test(many_events_of_one_moment_stand_apart),
		cmocka_unit_test(a_step_with_the_most_news_comes_back),
		cmocka_unit_test(no_signal_changes_twice_at_one_time),
		cmocka_unit_test(entries_that_are_missing_are_counted),
		cmocka_unit_test(entries_missing_before_a_mark_are_counted_before_it),
		cmocka_unit_test(news_whose_step_is_missing_come_back),
		cmocka_unit_test(an_entry_out_of_order_is_refused_and_the_tape_goes_on),
		cmocka_unit_test(clients_come_back_even_the_same_one_again),
		cmocka_unit_test(a_mark_is_of_record_and_status_at_that_time),
		cmocka_unit_test(the_events_of_a_tape_make_the_same_core),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
