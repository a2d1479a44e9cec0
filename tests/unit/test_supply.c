/* SPDX-License-Identifier: MIT */
/* R13: the supply budget, staggered starts, and a line in which nobody waits for ever. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/supply.h"
#include "tests/support/dice.h"

/* The glasshouse cart, invented: 3000 mA for a drive, a boom, a vent and a steering. */
enum { DRIVE, BOOM, VENT, STEERING, AXES };

static struct td_supply_rules cart(void)
{
	return (struct td_supply_rules){.axes = AXES,
					.budget_ma = 3000,
					.gap_ns = TD_MS(100),
					.axis = {[DRIVE] = {2500, 1200, TD_MS(300)},
						 [BOOM] = {1400, 600, TD_MS(200)},
						 [VENT] = {700, 300, TD_MS(200)},
						 [STEERING] = {400, 200, TD_MS(100)}}};
}

static enum td_supply_answer ask(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis,
				 td_ns now_ns)
{
	td_supply_ask(supply, axis, false);
	return td_supply_answer(supply, rules, axis, now_ns);
}

/* Starts where it may; else the test fails. */
static void start(struct td_supply *supply, const struct td_supply_rules *rules, uint8_t axis, td_ns now_ns)
{
	assert_int_equal(ask(supply, rules, axis, now_ns), TD_SUPPLY_START);
	td_supply_started(supply, rules, axis, now_ns);
}

static void R13_an_axis_that_fits_starts_at_once(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	assert_int_equal(td_supply_answer(&supply, &rules, DRIVE, 0), TD_SUPPLY_NOT_ASKED);
	start(&supply, &rules, DRIVE, 0);
	assert_int_equal(td_supply_answer(&supply, &rules, DRIVE, 0), TD_SUPPLY_NOT_ASKED);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 2500);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, TD_MS(300) - 1), 2500);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, TD_MS(300)), 1200);
	td_supply_stopped(&supply, DRIVE);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, TD_MS(300)), 0);
}

static void R13_a_start_waits_for_the_start_window_of_another(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, DRIVE, 0);
	assert_int_equal(ask(&supply, &rules, BOOM, 1), TD_SUPPLY_WAIT_LOAD);
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(100)) == TD_MS(300));
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, TD_MS(300) - 1), TD_SUPPLY_WAIT_LOAD);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, TD_MS(300)), TD_SUPPLY_START);
}

static void R13_starts_keep_their_gap(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, VENT, 0);
	assert_int_equal(ask(&supply, &rules, STEERING, 1), TD_SUPPLY_WAIT_GAP);
	assert_true(td_supply_deadline(&supply, &rules, 1) == TD_MS(100));
	assert_int_equal(td_supply_answer(&supply, &rules, STEERING, TD_MS(100)), TD_SUPPLY_START);
}

static void R13_a_reversal_counts_as_two_starts(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	td_supply_ask(&supply, BOOM, true);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, 0), TD_SUPPLY_START);
	td_supply_started(&supply, &rules, BOOM, 0);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 2800);
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, TD_MS(200)), 600);
	assert_int_equal(ask(&supply, &rules, STEERING, TD_MS(200) - 1), TD_SUPPLY_WAIT_LOAD);
	assert_int_equal(td_supply_answer(&supply, &rules, STEERING, TD_MS(200)), TD_SUPPLY_START);
	td_supply_stopped(&supply, STEERING);
	rules.axis[BOOM].start_ns = 0;
	assert_int_equal(ask(&supply, &rules, STEERING, TD_MS(200) - 1), TD_SUPPLY_WAIT_GAP);
	assert_true(td_supply_deadline(&supply, &rules, TD_MS(10)) == TD_MS(200));
}

static void R13_a_reversal_heavier_than_the_budget_has_the_supply_to_itself(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, STEERING, 0);
	td_supply_ask(&supply, DRIVE, true);
	assert_int_equal(td_supply_answer(&supply, &rules, DRIVE, TD_S(9)), TD_SUPPLY_WAIT_LOAD);
	td_supply_stopped(&supply, STEERING);
	assert_int_equal(td_supply_answer(&supply, &rules, DRIVE, TD_S(9)), TD_SUPPLY_START);
	td_supply_started(&supply, &rules, DRIVE, TD_S(9));
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, TD_S(9)), 3000);
}

static void R13_who_asked_first_starts_first(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, VENT, 0);
	assert_int_equal(ask(&supply, &rules, BOOM, 1), TD_SUPPLY_WAIT_GAP);
	assert_int_equal(ask(&supply, &rules, STEERING, 2), TD_SUPPLY_WAIT_LINE);
	assert_int_equal(td_supply_answer(&supply, &rules, STEERING, TD_MS(100)), TD_SUPPLY_WAIT_LINE);
	assert_int_equal(td_supply_answer(&supply, &rules, BOOM, TD_MS(100)), TD_SUPPLY_START);
	td_supply_stopped(&supply, BOOM); /* no longer wants to */
	assert_int_equal(td_supply_answer(&supply, &rules, STEERING, TD_MS(100)), TD_SUPPLY_START);
}

/* Small ones may pass a big one that does not fit, but only so often; then they wait. */
static void R13_a_big_axis_is_not_overtaken_for_ever(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;
	td_ns now_ns = 0;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, BOOM, now_ns);
	now_ns += TD_S(1);
	assert_int_equal(ask(&supply, &rules, DRIVE, now_ns), TD_SUPPLY_WAIT_LOAD);
	for (int i = 0; i < TD_SUPPLY_OVERTAKEN_MAX; i++) {
		start(&supply, &rules, STEERING, now_ns);
		td_supply_stopped(&supply, STEERING);
		now_ns += TD_S(1);
	}
	assert_int_equal(ask(&supply, &rules, STEERING, now_ns), TD_SUPPLY_WAIT_LINE);
	assert_int_equal(ask(&supply, &rules, VENT, now_ns), TD_SUPPLY_WAIT_LINE);
	assert_true(td_supply_deadline(&supply, &rules, now_ns) == TD_NEVER);
	td_supply_stopped(&supply, BOOM);
	assert_int_equal(td_supply_answer(&supply, &rules, DRIVE, now_ns), TD_SUPPLY_START);
	td_supply_started(&supply, &rules, DRIVE, now_ns);
	assert_int_equal(td_supply_answer(&supply, &rules, STEERING, now_ns + TD_S(1)), TD_SUPPLY_START);
}

static void R13_an_axis_without_weight_neither_waits_nor_makes_wait(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	rules.axis[VENT] = (struct td_supply_axis_rules){0, 0, 0};
	td_supply_init(&supply);
	start(&supply, &rules, DRIVE, 0);
	assert_int_equal(ask(&supply, &rules, BOOM, 1), TD_SUPPLY_WAIT_LOAD);
	start(&supply, &rules, VENT, 1);
	assert_true(supply.next_start_ns == TD_MS(100));
	assert_int_equal(supply.axis[BOOM].overtaken, 0);
}

static void R13_rules_are_held_to_their_bounds(void **state)
{
	struct td_supply_rules rules = cart();

	(void)state;
	assert_true(td_supply_rules_ok(&rules));
	rules.axis[DRIVE].start_ma = 3001;
	assert_false(td_supply_rules_ok(&rules));
	rules = cart();
	rules.axis[DRIVE].run_ma = 2501;
	assert_false(td_supply_rules_ok(&rules));
	rules = cart();
	rules.axis[DRIVE].start_ns = TD_SUPPLY_START_MAX_NS + 1;
	assert_false(td_supply_rules_ok(&rules));
	rules = cart();
	rules.gap_ns = -1;
	assert_false(td_supply_rules_ok(&rules));
	rules = cart();
	rules.budget_ma = TD_SUPPLY_WEIGHT_MAX_MA + 1;
	assert_false(td_supply_rules_ok(&rules));
	rules = cart();
	rules.axes = TD_AXES_MAX + 1;
	assert_false(td_supply_rules_ok(&rules));
	memset(&rules, 0, sizeof(rules));
	assert_false(td_supply_rules_ok(&rules));
}

static void R13_a_clock_that_goes_back_keeps_the_starting_weight(void **state)
{
	struct td_supply_rules rules = cart();
	struct td_supply supply;

	(void)state;
	td_supply_init(&supply);
	start(&supply, &rules, DRIVE, TD_S(10));
	assert_int_equal(td_supply_drawn_ma(&supply, &rules, 0), 2500);
	assert_int_equal(ask(&supply, &rules, STEERING, 0), TD_SUPPLY_WAIT_GAP);
}

/* --- random use ------------------------------------------------------------------------------------ */

enum { REQUESTS = 1000000, RUN_MAX_MS = 2000 };

struct waiting {
	td_ns since_ns;
	int starts; /* of axes with a weight, since then */
};

struct use {
	struct dice dice;
	struct td_supply_rules rules;
	struct td_supply supply;
	td_ns now_ns;
	bool on[TD_AXES_MAX];
	bool reversal[TD_AXES_MAX]; /* as asked */
	td_ns since_ns[TD_AXES_MAX];
	td_ns stop_ns[TD_AXES_MAX]; /* when a running one will be let go */
	struct waiting waiting[TD_AXES_MAX];
	int most_starts;
	td_ns longest_ns;
	long starts, requests;
};

static void new_rules(struct use *use)
{
	struct td_supply_rules *rules = &use->rules;

	memset(use->on, 0, sizeof(use->on));
	td_supply_init(&use->supply);
	rules->axes = (uint8_t)(2 + dice_below(&use->dice, TD_AXES_MAX - 1));
	rules->budget_ma = 1000 + (uint32_t)dice_below(&use->dice, 5000);
	rules->gap_ns = TD_MS(dice_below(&use->dice, 300));
	for (int i = 0; i < rules->axes; i++) {
		uint32_t start_ma = 1 + (uint32_t)dice_below(&use->dice, rules->budget_ma);

		rules->axis[i] = (struct td_supply_axis_rules){start_ma,
							       (uint32_t)dice_below(&use->dice, start_ma + 1),
							       TD_MS(dice_below(&use->dice, 500))};
	}
	assert_true(td_supply_rules_ok(rules));
}

/* A second opinion: from the rules and what happened alone. */
static uint32_t weight(const struct use *use, int axis)
{
	const struct td_supply_axis_rules *rules = &use->rules.axis[axis];
	uint32_t start_ma = rules->start_ma * (use->reversal[axis] ? 2 : 1);

	if (use->now_ns - use->since_ns[axis] >= rules->start_ns)
		return rules->run_ma;
	return start_ma < use->rules.budget_ma ? start_ma : use->rules.budget_ma;
}

static void check_budget(const struct use *use)
{
	uint32_t sum_ma = 0;

	for (int i = 0; i < use->rules.axes; i++)
		sum_ma += use->on[i] ? weight(use, i) : 0;
	assert_true(sum_ma <= use->rules.budget_ma);
	assert_int_equal(sum_ma, td_supply_drawn_ma(&use->supply, &use->rules, use->now_ns));
}

static void start_one(struct use *use, uint8_t axis)
{
	td_ns limit_ns =
		(use->rules.axes + TD_SUPPLY_OVERTAKEN_MAX) *
		(TD_MS(RUN_MAX_MS) > 2 * use->rules.gap_ns ? TD_MS(RUN_MAX_MS) : 2 * use->rules.gap_ns);
	td_ns waited_ns = use->now_ns - use->waiting[axis].since_ns;
	int before = use->waiting[axis].starts;

	assert_true(before <= use->rules.axes - 1 + TD_SUPPLY_OVERTAKEN_MAX);
	assert_true(waited_ns <= limit_ns);
	use->most_starts = before > use->most_starts ? before : use->most_starts;
	use->longest_ns = waited_ns > use->longest_ns ? waited_ns : use->longest_ns;
	td_supply_started(&use->supply, &use->rules, axis, use->now_ns);
	use->on[axis] = true;
	use->since_ns[axis] = use->now_ns;
	use->stop_ns[axis] = use->now_ns + TD_MS(1 + dice_below(&use->dice, RUN_MAX_MS));
	for (int i = 0; i < use->rules.axes; i++)
		use->waiting[i].starts++;
	use->starts++;
}

/* Everybody in line is asked, in an order of chance, until nobody may start any more. */
static void start_all(struct use *use)
{
	uint8_t first = (uint8_t)dice_below(&use->dice, use->rules.axes);

	for (int i = 0; i < use->rules.axes; i++) {
		uint8_t axis = (uint8_t)((first + i) % use->rules.axes);

		if (td_supply_answer(&use->supply, &use->rules, axis, use->now_ns) == TD_SUPPLY_START) {
			start_one(use, axis);
			check_budget(use);
			i = -1;
		}
	}
}

static void request(struct use *use)
{
	uint8_t axis = (uint8_t)dice_below(&use->dice, use->rules.axes);

	if (use->on[axis] || use->supply.axis[axis].state == TD_SUPPLY_IN_LINE)
		return;
	use->reversal[axis] = dice_below(&use->dice, 3) == 0;
	td_supply_ask(&use->supply, axis, use->reversal[axis]);
	use->waiting[axis] = (struct waiting){use->now_ns, 0};
	use->requests++;
}

/* On to what comes first: a deadline, an axis that is let go, a new request. */
static void next_event(struct use *use)
{
	td_ns next_ns = td_time_earlier(td_supply_deadline(&use->supply, &use->rules, use->now_ns),
					use->now_ns + TD_MS(1 + dice_below(&use->dice, 500)));

	for (int i = 0; i < use->rules.axes; i++)
		if (use->on[i])
			next_ns = td_time_earlier(next_ns, use->stop_ns[i]);
	assert_true(next_ns > use->now_ns);
	use->now_ns = next_ns;
	for (uint8_t i = 0; i < use->rules.axes; i++)
		if (use->on[i] && use->stop_ns[i] <= use->now_ns) {
			td_supply_stopped(&use->supply, i);
			use->on[i] = false;
		}
}

static void R13_a_million_requests_keep_the_budget_and_starve_nobody(void **state)
{
	static struct use use;
	const char *given = getenv("TD_STEPS");
	long wanted = given != NULL ? strtol(given, NULL, 10) : REQUESTS;
	long rounds = 0;

	(void)state;
	use.dice = dice_start(13);
	for (; use.requests < wanted; rounds++) {
		if (rounds % 20000 == 0)
			new_rules(&use);
		for (int i = 0; i < 3; i++)
			request(&use);
		start_all(&use);
		next_event(&use);
		check_budget(&use);
	}
	printf("# measured: %ld requests, %ld starts, at most %d starts before one's own, longest wait %lld "
	       "ms\n",
	       use.requests, use.starts, use.most_starts, (long long)(use.longest_ns / TD_MS(1)));
	assert_true(use.most_starts > TD_SUPPLY_OVERTAKEN_MAX);
}

static void R13_rubbish_in_the_state_never_adds_weight_beyond_the_budget(void **state)
{
	struct dice dice = dice_start(14);

	(void)state;
	for (int i = 0; i < 50000; i++) {
		struct td_supply_rules rules = cart();
		struct td_supply supply;
		uint8_t axis = (uint8_t)dice_below(&dice, AXES + 1);
		td_ns now_ns = (td_ns)dice_bits(&dice);

		dice_rubbish(&dice, &supply, sizeof(supply));
		if (dice_below(&dice, 2) == 0)
			for (int j = 0; j < TD_AXES_MAX; j++)
				supply.axis[j].state = (uint8_t)dice_below(&dice, 3);
		if (dice_below(&dice, 4) == 0)
			dice_rubbish(&dice, &rules, sizeof(rules));
		td_supply_ask(&supply, axis, false);
		uint32_t drawn_ma = td_supply_drawn_ma(&supply, &rules, now_ns);

		(void)td_supply_deadline(&supply, &rules, now_ns);
		if (td_supply_answer(&supply, &rules, axis, now_ns) == TD_SUPPLY_START) {
			bool weightless = rules.axis[axis].start_ma == 0 && rules.axis[axis].run_ma == 0;

			assert_true(weightless ||
				    (uint64_t)drawn_ma + rules.axis[axis].start_ma <= rules.budget_ma);
		}
		td_supply_started(&supply, &rules, axis, now_ns);
		td_supply_stopped(&supply, axis);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R13_an_axis_that_fits_starts_at_once),
		cmocka_unit_test(R13_a_start_waits_for_the_start_window_of_another),
		cmocka_unit_test(R13_starts_keep_their_gap),
		cmocka_unit_test(R13_a_reversal_counts_as_two_starts),
		cmocka_unit_test(R13_a_reversal_heavier_than_the_budget_has_the_supply_to_itself),
		cmocka_unit_test(R13_who_asked_first_starts_first),
		cmocka_unit_test(R13_a_big_axis_is_not_overtaken_for_ever),
		cmocka_unit_test(R13_an_axis_without_weight_neither_waits_nor_makes_wait),
		cmocka_unit_test(R13_rules_are_held_to_their_bounds),
		cmocka_unit_test(R13_a_clock_that_goes_back_keeps_the_starting_weight),
		cmocka_unit_test(R13_a_million_requests_keep_the_budget_and_starve_nobody),
		cmocka_unit_test(R13_rubbish_in_the_state_never_adds_weight_beyond_the_budget),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
