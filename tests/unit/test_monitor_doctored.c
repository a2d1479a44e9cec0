/* SPDX-License-Identifier: MIT */
/*
 * The real core, doctored, on a cart that works: ends that come too early (R8), jams that visitors reset (R11), a cable
 * that twists (R18). The core goes by rules that allow a little more, or hears otherwise than it should; the monitor
 * must find each of them, and nothing where core and monitor have the same rules.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "core/monitor.h"
#include "core/travel.h"
#include "tests/support/dice.h"
#include "tests/support/insight.h"
#include "tests/support/rule_cart.h"

enum { LOWER, RAISE };
enum { LEFT, RIGHT };
enum { BACK, AHEAD };
enum { HOURS = 6, SAMPLE_MS = 100 };

struct bench {
	struct td_rules true_rules;
	struct td_rules core_rules;
	bool (*hears)(struct td_event *event); /* NULL: everything; false: nothing */
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor;
	struct td_verdict verdict;
	struct insight insight;
	bool faithful;
	bool broken; /* a breach was found */
	td_ns now_ns;
	uint32_t active;
	uint32_t hold;
	struct dice dice;
	size_t refused; /* visitors' resets that were one too many */
	size_t cuts;    /* for the twist */
};

static struct bench bench;

/* --- steps ---------------------------------------------------------------------------------------------- */

static void note(void)
{
	bench.refused += bench.result.answer == TD_CAUSE_RESETS_SPENT;
	for (uint16_t i = 0; i < bench.result.news_count; i++)
		bench.cuts += bench.result.news[i].cause == TD_CAUSE_TWIST_CUT;
	if (bench.faithful)
		insight_check(&bench.insight, &bench.true_rules, &bench.core, &bench.monitor, &bench.result);
}

static void step(struct td_event event)
{
	if (bench.broken)
		return;
	event.at_ns = bench.now_ns;
	struct td_event heard = event;

	if (bench.hears && !bench.hears(&heard))
		heard = (struct td_event){.kind = TD_EVENT_TIME, .at_ns = event.at_ns};
	td_core_step(&bench.core, &bench.core_rules, &heard, &bench.result);
	td_monitor_see(&bench.monitor, &bench.true_rules, &event);
	bench.broken = !td_monitor_judge(&bench.monitor, &bench.true_rules, bench.core.now_ns,
					 bench.result.outputs, &bench.verdict);
	note();
}

/* Every deadline is kept. */
static void wait_ms(int64_t span_ms)
{
	td_ns to_ns = bench.now_ns + TD_MS(span_ms);

	while (!bench.broken && bench.result.deadline_ns < to_ns) {
		bench.now_ns = bench.result.deadline_ns;
		step((struct td_event){.kind = TD_EVENT_TIME});
	}
	bench.now_ns = to_ns;
	step((struct td_event){.kind = TD_EVENT_TIME});
}

static void press(uint32_t active)
{
	struct td_event event = {.kind = TD_EVENT_LEVELS};

	bench.active = active;
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&bench.true_rules, sw, (active >> sw & 1) != 0))
			event.levels |= UINT32_C(1) << sw;
	step(event);
}

static void reset(uint8_t axis, enum td_role role)
{
	step((struct td_event){.kind = TD_EVENT_RESET, .axis = axis, .role = (uint8_t)role});
}

static void ask(uint8_t axis, uint8_t way)
{
	step((struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = axis,
			       .way = way,
			       .session = 1U + axis,
			       .hold = ++bench.hold,
			       .lease_ns = TD_LEASE_MAX_NS});
}

static void renew(uint8_t axis)
{
	const struct td_axis *self = &bench.core.axis[axis];

	if (self->way < TD_WAYS)
		step((struct td_event){.kind = TD_EVENT_REQUEST,
				       .axis = axis,
				       .way = self->way,
				       .session = self->hold.session,
				       .hold = self->hold.number,
				       .seq = self->hold.seq + 1,
				       .lease_ns = TD_LEASE_MAX_NS});
}

static void let_go(uint8_t axis)
{
	step((struct td_event){.kind = TD_EVENT_RELEASE,
			       .axis = axis,
			       .session = 1U + axis,
			       .hold = bench.core.axis[axis].hold.number});
}

static int64_t some_ms(int64_t low, int64_t high)
{
	return low + (int64_t)dice_below(&bench.dice, (uint64_t)(high - low + 1));
}

static void hold_ms(uint8_t axis, uint8_t way, int64_t span_ms)
{
	ask(axis, way);
	for (; span_ms > 0; span_ms -= SAMPLE_MS) {
		wait_ms(span_ms < SAMPLE_MS ? span_ms : SAMPLE_MS);
		renew(axis);
	}
	let_go(axis);
}

/* --- ends that come too early (R8) ------------------------------------------------------------------------- */

/* Leaves the end where it stands, if it stands at one, and comes to the other one after so long. */
static void travel(uint8_t way, int64_t takes_ms)
{
	ask(RULE_BOOM, way);
	wait_ms(50);
	press(0);
	while (takes_ms > SAMPLE_MS && bench.core.axis[RULE_BOOM].state == TD_AXIS_RUN) {
		wait_ms(SAMPLE_MS);
		renew(RULE_BOOM);
		takes_ms -= SAMPLE_MS;
	}
	wait_ms(takes_ms);
	if (dice_below(&bench.dice, 6) == 0)
		let_go(RULE_BOOM);
	press(UINT32_C(1) << (way == RAISE ? RULE_TOP : RULE_BOTTOM));
	wait_ms(some_ms(10, 1000));
}

/* One travel in four is too short by any amount, now and then one is let go and taken up, and a keeper looks after it. */
static void work_with_early_ends(void)
{
	for (int i = 0; i < HOURS * 1000 && !bench.broken; i++) {
		uint8_t way = (uint8_t)(i % TD_WAYS);

		if (dice_below(&bench.dice, 5) == 0)
			hold_ms(RULE_BOOM, way, some_ms(10, 400));
		wait_ms(some_ms(0, 500));
		travel(way, dice_below(&bench.dice, 4) == 0 ? some_ms(60, 1500) : some_ms(1450, 1550));
		if (dice_below(&bench.dice, 2) == 0)
			reset(TD_ALL_AXES, TD_ROLE_KEEPER);
	}
}

static void never_early(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[LOWER].early_ns = rules->axis[RULE_BOOM].way[RAISE].early_ns = 0;
}

static void a_little_early(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[RAISE].early_ns -= TD_MS(20);
}

/* --- jams that visitors reset (R11) ------------------------------------------------------------------------ */

/* Up it jams every other time; visitors see to it at once, as long as they may. */
static void work_with_jams(void)
{
	for (int i = 0; i < HOURS * 100 && !bench.broken; i++) {
		hold_ms(RULE_BOOM, RAISE, 3000);
		for (int n = 0; n < 4 && bench.core.axis[RULE_BOOM].state == TD_AXIS_TRIPPED; n++) {
			wait_ms(some_ms(1000, 60000));
			reset(RULE_BOOM, TD_ROLE_VISITOR);
		}
		wait_ms(1000);
		if (dice_below(&bench.dice, 10) == 0)
			reset(RULE_BOOM, TD_ROLE_KEEPER);
		travel(LOWER, 1500);
		wait_ms(some_ms(1000, 20000));
		travel(RAISE, 1900);
		travel(LOWER, 1500);
		wait_ms(100);
		press(0);
		wait_ms(100);
	}
}

static void one_more(struct td_rules *rules)
{
	rules->visitor_resets++;
}

static bool every_visitor_is_keeper(struct td_event *event)
{
	if (event->kind == TD_EVENT_RESET)
		event->role = TD_ROLE_KEEPER;
	return true;
}

/* --- a cable (R18) ----------------------------------------------------------------------------------------- */

/* A swivel that is true: a count for each eighth of a turn; the second contact leads to the right. */
static void turn_swivel(int64_t counts)
{
	static const uint32_t levels[] = {0, UINT32_C(1) << RULE_OPEN,
					  UINT32_C(1) << RULE_OPEN | UINT32_C(1) << RULE_STOP,
					  UINT32_C(1) << RULE_STOP};
	uint32_t active = levels[(counts % 4 + 4) % 4];

	if (active != bench.active)
		press(active);
}

/* A tenth of a turn a second, in proportion to where the wheel stands: what a true machine does. */
static void drive_for(int64_t span_ms, double *turns)
{
	const struct td_axis *drive = &bench.core.axis[RULE_DRIVE];

	for (; span_ms > 0 && !bench.broken; span_ms -= SAMPLE_MS) {
		int32_t position_ppm = td_travel_position_ppm(
			&bench.core.axis[RULE_WHEEL], &bench.core_rules.axis[RULE_WHEEL], bench.now_ns);
		double lean = position_ppm < 0 ? 0 : 1 - position_ppm / 5e5;

		wait_ms(SAMPLE_MS);
		if (drive->state == TD_AXIS_RUN)
			*turns += (drive->way == AHEAD ? 0.1 : -0.1) * lean * SAMPLE_MS / 1e3;
		if (bench.true_rules.cable.twist.source == TD_TWIST_SENSOR)
			turn_swivel((int64_t)(*turns * 8 + 1000.5) - 1000);
		renew(RULE_DRIVE);
		renew(RULE_WHEEL);
	}
}

/* Steers, drives, steers over while it drives; the keeper untwists it now and then, and a visitor says so oftener. */
static void work_on_a_cable(void)
{
	double turns = 0;

	for (int i = 0; i < HOURS * 300 && !bench.broken; i++) {
		ask(RULE_WHEEL, (uint8_t)dice_below(&bench.dice, TD_WAYS));
		drive_for(dice_below(&bench.dice, 3) ? 800 : some_ms(100, 800), &turns);
		let_go(RULE_WHEEL);
		ask(RULE_DRIVE, dice_below(&bench.dice, 3) ? AHEAD : BACK);
		drive_for(some_ms(1000, 15000), &turns);
		if (dice_below(&bench.dice, 3) == 0)
			ask(RULE_WHEEL, (uint8_t)dice_below(&bench.dice, TD_WAYS));
		drive_for(some_ms(1000, 4000), &turns);
		let_go(RULE_WHEEL);
		let_go(RULE_DRIVE);
		drive_for(some_ms(100, 1000), &turns);
		step((struct td_event){.kind = TD_EVENT_UNTWISTED,
				       .role = dice_below(&bench.dice, 8) == 0 ? TD_ROLE_KEEPER
									       : TD_ROLE_VISITOR});
	}
}

static void longer_cable(struct td_rules *rules)
{
	rules->cable.twist.limit_uturn += 1000;
}

static void slower_circle(struct td_rules *rules)
{
	for (int way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_LEFT; side < TD_TWIST_SIDES; side++)
			rules->cable.twist.rate_ppm_s[way][side] =
				rules->cable.twist.rate_ppm_s[way][side] * 99 / 100;
}

static void less_doubt(struct td_rules *rules)
{
	rules->cable.twist.doubt_ppm -= 1000;
}

static void no_way_back(struct td_rules *rules)
{
	for (int side = TD_TWIST_LEFT; side < TD_TWIST_SIDES; side++)
		rules->cable.twist.rate_ppm_s[BACK][side] = 0;
}

static void springs_back(struct td_rules *rules)
{
	rules->cable.springs = 1;
}

static void no_cable(struct td_rules *rules)
{
	rules->cable = td_rules_any_cable();
}

static void more_steps(struct td_rules *rules)
{
	rules->cable.twist.steps_per_turn++;
}

static void turned_contacts(struct td_rules *rules)
{
	rules->cable.twist.steps_per_turn = -rules->cable.twist.steps_per_turn;
}

static bool everybody_untwists(struct td_event *event)
{
	if (event->kind == TD_EVENT_UNTWISTED)
		event->role = TD_ROLE_KEEPER;
	return true;
}

/* --- who must be found --------------------------------------------------------------------------------------- */

static void plain(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[RAISE].bars = 0;
	rules->axis[RULE_WHEEL].way[LEFT].limit_ns = rules->axis[RULE_WHEEL].way[RIGHT].limit_ns = TD_MS(700);
}

static void cable(struct td_rules *rules)
{
	plain(rules);
	rules->cable = (struct td_cable_rules){
		.twist = {.source = TD_TWIST_ESTIMATE, .limit_uturn = 1500000, .doubt_ppm = 20000},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
		.left = LEFT,
	};
	for (int way = 0; way < TD_WAYS; way++) {
		rules->cable.twist.rate_ppm_s[way][TD_TWIST_LEFT] = way == AHEAD ? 100000 : -100000;
		rules->cable.twist.rate_ppm_s[way][TD_TWIST_RIGHT] = way == AHEAD ? -100000 : 100000;
	}
}

static void spring(struct td_rules *rules)
{
	cable(rules);
	rules->cable.springs = 1;
	rules->cable.twist.limit_uturn = 300000;
	rules->axis[RULE_WHEEL].way[LEFT].limit_ns = rules->axis[RULE_WHEEL].way[RIGHT].limit_ns = TD_S(6);
}

static void swivel(struct td_rules *rules)
{
	cable(rules);
	rules->cable.twist.source = TD_TWIST_SENSOR;
	rules->cable.twist.steps_per_turn = 8;
	rules->cable.contact[0] = RULE_OPEN;
	rules->cable.contact[1] = RULE_STOP;
	rules->stop_switch = TD_NO_SWITCH;
	rules->axis[RULE_VENT].way[1] = rules->axis[RULE_WHEEL].way[0];
}

struct job {
	const char *name;
	void (*work)(void);
	void (*rules)(struct td_rules *rules);
	void (*change)(struct td_rules *rules);
	bool (*hears)(struct td_event *event);
	enum td_breach breach;
};

#define FAITHFUL NULL, NULL, TD_BREACH_NONE

static struct job jobs[] = {
	{"R8 a core that knows early ends", work_with_early_ends, plain, FAITHFUL},
	{"R8 no end is too early", work_with_early_ends, plain, never_early, NULL, TD_BREACH_TRIPPED},
	{"R8 an end may be 20 ms earlier", work_with_early_ends, plain, a_little_early, NULL,
	 TD_BREACH_TRIPPED},

	{"R11 a core that counts the resets of visitors", work_with_jams, plain, FAITHFUL},
	{"R11 one reset more", work_with_jams, plain, one_more, NULL, TD_BREACH_RESETS_SPENT},
	{"R11 every visitor is the keeper", work_with_jams, plain, NULL, every_visitor_is_keeper,
	 TD_BREACH_WAY_LOCKED},

	{"R18 a core that knows its cable", work_on_a_cable, cable, FAITHFUL},
	{"R18 a thousandth of a turn more", work_on_a_cable, cable, longer_cable, NULL, TD_BREACH_TWISTED},
	{"R18 circles 1 % too slow", work_on_a_cable, cable, slower_circle, NULL, TD_BREACH_TWISTED},
	{"R18 0.1 % less doubt", work_on_a_cable, cable, less_doubt, NULL, TD_BREACH_TWISTED},
	{"R18 backward nothing is counted", work_on_a_cable, cable, no_way_back, NULL, TD_BREACH_TWISTED},
	{"R18 a steering that stays is taken for one that springs back", work_on_a_cable, cable, springs_back,
	 NULL, TD_BREACH_TWISTED},
	{"R18 no cable", work_on_a_cable, cable, no_cable, NULL, TD_BREACH_TWISTED},
	{"R18 everybody may untwist", work_on_a_cable, cable, NULL, everybody_untwists, TD_BREACH_TWISTED},

	{"R18 a core whose steering springs back", work_on_a_cable, spring, FAITHFUL},
	{"R18 sprung, a thousandth of a turn more", work_on_a_cable, spring, longer_cable, NULL,
	 TD_BREACH_TWISTED},

	{"R18 a core with a sensor", work_on_a_cable, swivel, FAITHFUL},
	{"R18 a sensor of nine counts instead of eight", work_on_a_cable, swivel, more_steps, NULL,
	 TD_BREACH_TWISTED},
	{"R18 contacts the other way round", work_on_a_cable, swivel, turned_contacts, NULL,
	 TD_BREACH_TWISTED},
	{"R18 an estimate instead of the sensor", work_on_a_cable, swivel, cable, NULL, TD_BREACH_TWISTED},
};

enum { JOBS = sizeof(jobs) / sizeof(jobs[0]) };

static void begin(const struct job *job)
{
	bench = (struct bench){.true_rules = rule_cart(), .dice = dice_start(20261125)};
	job->rules(&bench.true_rules);
	bench.core_rules = bench.true_rules;
	if (job->change)
		job->change(&bench.core_rules);
	bench.hears = job->hears;
	bench.faithful = job->breach == TD_BREACH_NONE;
	assert_int_equal(td_rules_check(&bench.true_rules).fault, TD_RULES_OK);
	td_core_init(&bench.core, &bench.core_rules, 0);
	td_monitor_init(&bench.monitor, &bench.true_rules, 0);
	press(0);
	step((struct td_event){.kind = TD_EVENT_ARM});
	wait_ms(1000);
}

static void the_monitor_finds_it(void **state)
{
	const struct job *job = *state;

	begin(job);
	job->work();
	printf("# measured: %s: %s, after %lld s\n", job->name,
	       td_breach_info(bench.verdict.breach)->sentence, (long long)(bench.now_ns / TD_S(1)));
	assert_int_equal(bench.verdict.breach, job->breach);
	assert_int_equal(bench.broken, job->breach != TD_BREACH_NONE);
	if (!bench.faithful)
		return;
	insight_print(&bench.insight);
	assert_true(bench.insight.early > 100 || bench.refused > 100 || bench.cuts > 100);
}

int main(void)
{
	struct CMUnitTest tests[JOBS];

	for (size_t i = 0; i < JOBS; i++)
		tests[i] = (struct CMUnitTest){jobs[i].name, the_monitor_finds_it, NULL, NULL, &jobs[i]};
	return _cmocka_run_group_tests("monitor_doctored", tests, JOBS, NULL, NULL);
}
