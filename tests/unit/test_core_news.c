/* SPDX-License-Identifier: MIT */
/* What a step answers and tells, whole: for each event the answer, every piece of news in order, the outputs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/core.h"
#include "tests/support/rule_cart.h"

enum { NEWS = 6, BOOM_UP = 1U << (RULE_BOOM * TD_WAYS + 1), AHEAD = 1U << (RULE_DRIVE * TD_WAYS + 1) };

#define BOOM_HELD  .axis = RULE_BOOM, .way = 1, .sw = TD_NO_SWITCH, .session = 7, .hold = 70
#define DRIVE_HELD .axis = RULE_DRIVE, .way = 1, .sw = TD_NO_SWITCH, .session = 8, .hold = 80
#define MACHINE    .axis = TD_NO_AXIS, .way = TD_NO_WAY, .sw = TD_NO_SWITCH
#define AXIS(n)    .axis = (n), .way = TD_NO_WAY, .sw = TD_NO_SWITCH
#define SWITCH(n)  .axis = TD_NO_AXIS, .way = TD_NO_WAY, .sw = (n)

struct scene {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
};

struct row {
	const char *name;
	struct td_event event;
	enum td_cause answer;
	uint32_t outputs;
	struct td_news news[NEWS]; /* up to the first NONE */
};

static uint32_t levels(const struct td_rules *rules, uint32_t active)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(rules, sw, (active >> sw & 1) != 0))
			word |= 1U << sw;
	return word;
}

static void step(struct scene *scene, int at_ms, struct td_event event)
{
	event.at_ns = TD_MS(at_ms);
	memset(&scene->result, 0xff, sizeof(scene->result));
	td_core_step(&scene->core, &scene->rules, &event, &scene->result);
}

static struct td_event request(uint8_t axis, uint8_t way, uint32_t session, uint32_t hold)
{
	return (struct td_event){.kind = TD_EVENT_REQUEST,
				 .axis = axis,
				 .way = way,
				 .session = session,
				 .hold = hold,
				 .lease_ns = TD_MS(1500)};
}

/* At 1000 ms: the boom stands at its bottom, nothing is held. */
static void stand(struct scene *scene)
{
	scene->rules = rule_cart();
	td_core_init(&scene->core, &scene->rules, 0);
	step(scene, 0,
	     (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(&scene->rules, 1U << RULE_BOTTOM)});
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
	step(scene, 1000, (struct td_event){.kind = TD_EVENT_TIME});
}

/* The boom goes up for 7, the drive ahead for 8. */
static void go(struct scene *scene)
{
	stand(scene);
	step(scene, 1000, request(RULE_BOOM, 1, 7, 70));
	step(scene, 1000, request(RULE_DRIVE, 1, 8, 80));
	assert_int_equal(scene->result.outputs, BOOM_UP | AHEAD);
}

static void assert_news(const struct td_news *got, const struct td_news *expected)
{
	assert_string_equal(td_cause_info(got->cause)->name, td_cause_info(expected->cause)->name);
	assert_int_equal(got->axis, expected->axis);
	assert_int_equal(got->way, expected->way);
	assert_int_equal(got->sw, expected->sw);
	assert_int_equal(got->session, expected->session);
	assert_int_equal(got->hold, expected->hold);
}

static void assert_told(const struct scene *scene, const struct row *row)
{
	uint16_t count = 0;

	print_message("# %s\n", row->name);
	assert_string_equal(td_cause_info(scene->result.answer)->name, td_cause_info(row->answer)->name);
	assert_int_equal(scene->result.outputs, row->outputs);
	assert_int_equal(scene->result.news_lost, 0);
	while (count < NEWS && row->news[count].cause != TD_CAUSE_NONE) {
		assert_true(count < scene->result.news_count);
		assert_news(&scene->result.news[count], &row->news[count]);
		count++;
	}
	assert_int_equal(scene->result.news_count, count);
}

static const struct row orders[] = {
	{"stop",
	 {.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES},
	 TD_CAUSE_STOPPED,
	 0,
	 {{TD_CAUSE_STOP_ASKED, BOOM_HELD}, {TD_CAUSE_STOP_ASKED, DRIVE_HELD}}},
	{"stop of one",
	 {.kind = TD_EVENT_STOP, .axis = RULE_DRIVE},
	 TD_CAUSE_STOPPED,
	 BOOM_UP,
	 {{TD_CAUSE_STOP_ASKED, DRIVE_HELD}}},
	{"stop of the first that does not exist",
	 {.kind = TD_EVENT_STOP, .axis = RULE_AXES},
	 TD_CAUSE_STOPPED,
	 0,
	 {{TD_CAUSE_STOP_ASKED, BOOM_HELD}, {TD_CAUSE_STOP_ASKED, DRIVE_HELD}}},
	{"latch",
	 {.kind = TD_EVENT_LATCH},
	 TD_CAUSE_LATCH_ASKED,
	 0,
	 {{TD_CAUSE_LATCH_ASKED, MACHINE},
	  {TD_CAUSE_LATCH_CUT, BOOM_HELD},
	  {TD_CAUSE_LATCH_CUT, DRIVE_HELD}}},
	{"latch kept",
	 {.kind = TD_EVENT_LATCH_KEPT},
	 TD_CAUSE_LATCH_KEPT,
	 0,
	 {{TD_CAUSE_LATCH_KEPT, MACHINE}, {TD_CAUSE_LATCH_CUT, BOOM_HELD}, {TD_CAUSE_LATCH_CUT, DRIVE_HELD}}},
	{"release",
	 {.kind = TD_EVENT_RELEASE, .axis = RULE_DRIVE, .session = 8, .hold = 80},
	 TD_CAUSE_LET_GO,
	 BOOM_UP,
	 {{TD_CAUSE_LET_GO, DRIVE_HELD}}},
	{"release by another",
	 {.kind = TD_EVENT_RELEASE, .axis = RULE_DRIVE, .session = 7, .hold = 80},
	 TD_CAUSE_NOT_HELD,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"release of nothing",
	 {.kind = TD_EVENT_RELEASE, .axis = RULE_AXES, .session = 8, .hold = 80},
	 TD_CAUSE_NOT_HELD,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"release of what nobody ever held",
	 {.kind = TD_EVENT_RELEASE, .axis = RULE_WHEEL},
	 TD_CAUSE_NOT_HELD,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"session gone",
	 {.kind = TD_EVENT_GONE, .session = 7},
	 TD_CAUSE_NONE,
	 AHEAD,
	 {{TD_CAUSE_CLIENT_GONE, BOOM_HELD}}},
	{"turn over",
	 {.kind = TD_EVENT_TURN_OVER, .session = 7},
	 TD_CAUSE_NONE,
	 AHEAD,
	 {{TD_CAUSE_TURN_OVER, BOOM_HELD}}},
	{"reset of nothing",
	 {.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER},
	 TD_CAUSE_NOTHING_TO_RESET,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"reset of one that is well",
	 {.kind = TD_EVENT_RESET, .axis = RULE_DRIVE, .role = TD_ROLE_KEEPER},
	 TD_CAUSE_NOTHING_TO_RESET,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"reset of what is not there",
	 {.kind = TD_EVENT_RESET, .axis = RULE_AXES, .role = TD_ROLE_KEEPER},
	 TD_CAUSE_BAD_REQUEST,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"reset by a visitor",
	 {.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_VISITOR},
	 TD_CAUSE_NOT_ALLOWED,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"reset by an unknown role",
	 {.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = 2},
	 TD_CAUSE_NOT_ALLOWED,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"arm again", {.kind = TD_EVENT_ARM}, TD_CAUSE_ARMED, BOOM_UP | AHEAD, {{TD_CAUSE_NONE}}},
	{"disarm",
	 {.kind = TD_EVENT_DISARM},
	 TD_CAUSE_DISARMED,
	 0,
	 {{TD_CAUSE_DISARMED, MACHINE},
	  {TD_CAUSE_DISARMED_CUT, BOOM_HELD},
	  {TD_CAUSE_DISARMED_CUT, DRIVE_HELD}}},
	{"lines lost",
	 {.kind = TD_EVENT_LINES_LOST},
	 TD_CAUSE_DISARMED,
	 0,
	 {{TD_CAUSE_LINES_LOST, BOOM_HELD},
	  {TD_CAUSE_LINES_LOST, AXIS(RULE_WHEEL)},
	  {TD_CAUSE_LINES_LOST, DRIVE_HELD},
	  {TD_CAUSE_LINES_LOST, AXIS(RULE_VENT)},
	  {TD_CAUSE_DISARMED, MACHINE}}},
	{"breach",
	 {.kind = TD_EVENT_BREACH},
	 TD_CAUSE_NONE,
	 0,
	 {{TD_CAUSE_INTERNAL, BOOM_HELD},
	  {TD_CAUSE_INTERNAL, AXIS(RULE_WHEEL)},
	  {TD_CAUSE_INTERNAL, DRIVE_HELD},
	  {TD_CAUSE_INTERNAL, AXIS(RULE_VENT)}}},
	{"written", {.kind = TD_EVENT_WRITTEN}, TD_CAUSE_NONE, BOOM_UP | AHEAD, {{TD_CAUSE_NONE}}},
	{"time", {.kind = TD_EVENT_TIME}, TD_CAUSE_NONE, BOOM_UP | AHEAD, {{TD_CAUSE_NONE}}},
	{"nothing known",
	 {.kind = (enum td_event_kind)99},
	 TD_CAUSE_NONE,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
};

static void every_order_is_answered_and_told(void **state)
{
	static struct scene scene;

	(void)state;
	for (size_t i = 0; i < sizeof(orders) / sizeof(orders[0]); i++) {
		go(&scene);
		step(&scene, 1100, orders[i].event);
		assert_told(&scene, &orders[i]);
	}
}

static const struct row requests[] = {
	{"the other way",
	 {.axis = RULE_DRIVE, .way = 0, .session = 8, .hold = 81},
	 TD_CAUSE_QUEUED,
	 BOOM_UP,
	 {{TD_CAUSE_REPLACED, DRIVE_HELD}}},
	{"a free axis",
	 {.axis = RULE_WHEEL, .way = 0, .session = 8, .hold = 81},
	 TD_CAUSE_STARTED,
	 BOOM_UP | AHEAD | 1U << (RULE_WHEEL * TD_WAYS),
	 {{TD_CAUSE_STARTED, .axis = RULE_WHEEL, .way = 0, .sw = TD_NO_SWITCH, .session = 8, .hold = 81}}},
	{"a renewal",
	 {.axis = RULE_DRIVE, .way = 1, .session = 8, .hold = 80, .seq = 1},
	 TD_CAUSE_RENEWED,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"a renewal of an ended hold",
	 {.axis = RULE_DRIVE, .way = 1, .session = 8, .hold = 79, .seq = 1},
	 TD_CAUSE_HOLD_ENDED,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_NONE}}},
	{"an axis of another",
	 {.axis = RULE_DRIVE, .way = 1, .session = 7, .hold = 81},
	 TD_CAUSE_HELD_BY_OTHER,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_HELD_BY_OTHER, DRIVE_HELD}}},
	{"the same again",
	 {.axis = RULE_DRIVE, .way = 1, .session = 8, .hold = 80},
	 TD_CAUSE_STALE,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_STALE, DRIVE_HELD}}},
	{"an older hold",
	 {.axis = RULE_DRIVE, .way = 1, .session = 8, .hold = 79},
	 TD_CAUSE_HOLD_ENDED,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_HOLD_ENDED, DRIVE_HELD}}},
	{"at the end",
	 {.axis = RULE_BOOM, .way = 0, .session = 7, .hold = 71},
	 TD_CAUSE_AT_END,
	 AHEAD,
	 {{TD_CAUSE_REPLACED, BOOM_HELD},
	  {TD_CAUSE_AT_END, .axis = RULE_BOOM, .way = 0, .sw = TD_NO_SWITCH}}},
	{"no such way",
	 {.axis = RULE_DRIVE, .way = 2, .session = 8, .hold = 81},
	 TD_CAUSE_BAD_REQUEST,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_BAD_REQUEST, .axis = RULE_DRIVE, .way = 2, .sw = TD_NO_SWITCH, .session = 8,
	   .hold = 80}}},
	{"no such axis",
	 {.axis = RULE_AXES, .way = 1, .session = 8, .hold = 81},
	 TD_CAUSE_BAD_REQUEST,
	 BOOM_UP | AHEAD,
	 {{TD_CAUSE_BAD_REQUEST, .axis = RULE_AXES, .way = 1, .sw = TD_NO_SWITCH}}},
};

static void every_request_is_answered_and_told(void **state)
{
	static struct scene scene;

	(void)state;
	for (size_t i = 0; i < sizeof(requests) / sizeof(requests[0]); i++) {
		struct td_event event = requests[i].event;

		event.kind = TD_EVENT_REQUEST;
		event.lease_ns = TD_MS(300);
		go(&scene);
		step(&scene, 1100, event);
		assert_told(&scene, &requests[i]);
	}
}

static void switches_are_told_and_what_follows_from_them(void **state)
{
	static const struct row stop_pressed = {"stop pressed",
						{.kind = TD_EVENT_TIME},
						TD_CAUSE_NONE,
						0,
						{{TD_CAUSE_LEVELS_SEEN, SWITCH(RULE_STOP)},
						 {TD_CAUSE_LATCH_INPUT, MACHINE},
						 {TD_CAUSE_LATCH_CUT, BOOM_HELD},
						 {TD_CAUSE_LATCH_CUT, DRIVE_HELD}}};
	static const struct row both_ends = {
		"both ends",
		{.kind = TD_EVENT_TIME},
		TD_CAUSE_NONE,
		AHEAD,
		{{TD_CAUSE_LEVELS_SEEN, SWITCH(RULE_TOP)}, {TD_CAUSE_BOTH_ENDS, BOOM_HELD}}};
	static const struct row cleared = {"cleared",
					   {.kind = TD_EVENT_TIME},
					   TD_CAUSE_NONE,
					   BOOM_UP | AHEAD,
					   {{TD_CAUSE_LEVELS_SEEN, SWITCH(RULE_BOTTOM)}}};
	static struct scene scene;
	struct td_event event = {.kind = TD_EVENT_LEVELS};

	(void)state;
	go(&scene);
	event.levels = levels(&scene.rules, 1U << RULE_BOTTOM | 1U << RULE_STOP);
	step(&scene, 1100, event);
	assert_told(&scene, &stop_pressed);
	go(&scene);
	event.levels = levels(&scene.rules, 1U << RULE_BOTTOM | 1U << RULE_TOP);
	step(&scene, 1100, event);
	step(&scene, 1102, (struct td_event){.kind = TD_EVENT_TIME});
	assert_told(&scene, &both_ends);
	go(&scene);
	event.levels = levels(&scene.rules, 0);
	step(&scene, 1100, event);
	step(&scene, 1150, (struct td_event){.kind = TD_EVENT_TIME});
	assert_told(&scene, &cleared);
}

static void a_latch_is_told_once_for_each_reason(void **state)
{
	static const struct row again = {
		"again", {.kind = TD_EVENT_LATCH}, TD_CAUSE_LATCH_ASKED, 0, {{TD_CAUSE_NONE}}};
	static const struct row kept = {"kept",
					{.kind = TD_EVENT_LATCH_KEPT},
					TD_CAUSE_LATCH_KEPT,
					0,
					{{TD_CAUSE_LATCH_KEPT, MACHINE}}};
	static struct scene scene;

	(void)state;
	stand(&scene);
	step(&scene, 1000, (struct td_event){.kind = TD_EVENT_LATCH});
	step(&scene, 1001, again.event);
	assert_told(&scene, &again);
	step(&scene, 1002, kept.event);
	assert_told(&scene, &kept);
	assert_int_equal(scene.core.latch, TD_LATCH_ASKED | TD_LATCH_KEPT);
}

static void r10_r11_a_reset_tells_the_latch_and_each_axis(void **state)
{
	static const struct row all = {"reset of all",
				       {.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER},
				       TD_CAUSE_RESET_DONE,
				       0,
				       {{TD_CAUSE_RESET_DONE, MACHINE},
					{TD_CAUSE_RESET_DONE, AXIS(RULE_BOOM)},
					{TD_CAUSE_RESET_DONE, AXIS(RULE_WHEEL)},
					{TD_CAUSE_RESET_DONE, AXIS(RULE_DRIVE)},
					{TD_CAUSE_RESET_DONE, AXIS(RULE_VENT)}}};
	static const struct row one = {"reset of one",
				       {.kind = TD_EVENT_RESET, .axis = RULE_DRIVE, .role = TD_ROLE_KEEPER},
				       TD_CAUSE_RESET_DONE,
				       0,
				       {{TD_CAUSE_RESET_DONE, AXIS(RULE_DRIVE)}}};
	static struct scene scene;

	(void)state;
	for (int only = 0; only < 2; only++) {
		go(&scene);
		step(&scene, 1100, (struct td_event){.kind = TD_EVENT_LINES_LOST});
		step(&scene, 1200, (struct td_event){.kind = TD_EVENT_LATCH});
		step(&scene, 1300, only ? one.event : all.event);
		assert_told(&scene, only ? &one : &all);
	}
	assert_int_equal(scene.core.latch, TD_LATCH_ASKED);
	assert_int_equal(scene.core.axis[RULE_BOOM].state, TD_AXIS_TRIPPED);
}

/* "Still there" beats what else became of a reset, whichever came first. */
static void r10_r11_what_is_still_there_is_the_answer(void **state)
{
	static struct scene scene;
	struct td_event reset = {.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER};

	(void)state;
	go(&scene);
	step(&scene, 1100,
	     (struct td_event){.kind = TD_EVENT_LEVELS,
			       .levels = levels(&scene.rules, 1U << RULE_BOTTOM | 1U << RULE_TOP)});
	step(&scene, 1200, (struct td_event){.kind = TD_EVENT_LATCH});
	step(&scene, 1300, reset);
	assert_int_equal(scene.result.answer, TD_CAUSE_STILL_THERE);
	assert_int_equal(scene.core.latch, 0);
	assert_int_equal(scene.core.axis[RULE_BOOM].state, TD_AXIS_TRIPPED);
	step(&scene, 1400,
	     (struct td_event){.kind = TD_EVENT_LEVELS, .levels = levels(&scene.rules, 1U << RULE_STOP)});
	step(&scene, 1500, reset);
	assert_int_equal(scene.result.answer, TD_CAUSE_STILL_THERE);
	assert_int_equal(scene.core.axis[RULE_BOOM].state, TD_AXIS_STILL);
	assert_int_equal(scene.core.latch, TD_LATCH_INPUT);
}

static void arming_is_told_once(void **state)
{
	static const struct row armed = {
		"armed", {.kind = TD_EVENT_ARM}, TD_CAUSE_ARMED, 0, {{TD_CAUSE_ARMED, MACHINE}}};
	static const struct row off = {
		"off already", {.kind = TD_EVENT_DISARM}, TD_CAUSE_DISARMED, 0, {{TD_CAUSE_NONE}}};
	static struct scene scene;

	(void)state;
	stand(&scene);
	step(&scene, 1000, (struct td_event){.kind = TD_EVENT_DISARM});
	step(&scene, 1000, off.event);
	assert_told(&scene, &off);
	step(&scene, 1000, armed.event);
	assert_told(&scene, &armed);
}

static void time_that_runs_back_is_told_and_the_later_one_counts(void **state)
{
	static const struct row back = {"back",
					{.kind = TD_EVENT_TIME},
					TD_CAUSE_NONE,
					BOOM_UP | AHEAD,
					{{TD_CAUSE_CLOCK_BACK, MACHINE}}};
	static struct scene scene;
	struct td_event never = {.kind = TD_EVENT_TIME, .at_ns = TD_NEVER};

	(void)state;
	go(&scene);
	step(&scene, 999, back.event);
	assert_told(&scene, &back);
	assert_int_equal(scene.core.now_ns, TD_MS(1000));
	td_core_step(&scene.core, &scene.rules, &never, &scene.result);
	assert_int_equal(scene.core.now_ns, TD_MS(1000));
	never.at_ns = TD_NEVER - 1;
	td_core_step(&scene.core, &scene.rules, &never, &scene.result);
	assert_int_equal(scene.core.now_ns, TD_NEVER - 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_order_is_answered_and_told),
		cmocka_unit_test(every_request_is_answered_and_told),
		cmocka_unit_test(switches_are_told_and_what_follows_from_them),
		cmocka_unit_test(a_latch_is_told_once_for_each_reason),
		cmocka_unit_test(r10_r11_a_reset_tells_the_latch_and_each_axis),
		cmocka_unit_test(r10_r11_what_is_still_there_is_the_answer),
		cmocka_unit_test(arming_is_told_once),
		cmocka_unit_test(time_that_runs_back_is_told_and_the_later_one_counts),
	};

	return cmocka_run_group_tests_name("core_news", tests, NULL, NULL);
}
