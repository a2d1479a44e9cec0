/* SPDX-License-Identifier: MIT */
/*
 * A cart that works for a long simulated time and breaks again and again: axes that travel between their ends, clients
 * that hold, renew, vanish and freeze, and faults in wires, contacts, gears, edges and time. The monitor judges every
 * step. TD_STEPS sets the length (make campaign N=...), TD_SEED repeats a run. Numbers are invented.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "tests/support/yard.h"

enum { STEPS = 2000000 };

/* --- clients ---------------------------------------------------------------------------------------------- */

static struct td_event request(const struct yard *yard, const struct client *client)
{
	return (struct td_event){.kind = TD_EVENT_REQUEST,
				 .axis = client->axis,
				 .way = client->way,
				 .session = client->session,
				 .hold = client->hold,
				 .seq = client->seq,
				 .lease_ns = TD_MS(300),
				 .heard_ns = yard->now_ns};
}

static void forge(struct yard *yard, const struct client *client)
{
	struct td_event event = request(yard, client);

	event.seq = (uint32_t)dice_below(&yard->dice, event.seq + 3);
	event.hold -= yard_chance(yard, 4);
	event.way ^= yard_chance(yard, 4);
	event.session += yard_chance(yard, 4);
	event.lease_ns = yard_up_to(yard, TD_MS(2000));
	event.heard_ns -= yard_up_to(yard, TD_MS(600));
	yard_step(yard, event);
}

static void begin(struct yard *yard, struct client *client)
{
	client->holds = true;
	client->axis = (uint8_t)dice_below(&yard->dice, RULE_AXES);
	client->way = (uint8_t)dice_below(&yard->dice, TD_WAYS);
	client->hold++;
	client->seq = 0;
	client->until_ns = yard->now_ns + yard_up_to(yard, yard_chance(yard, 2) ? TD_S(5) : TD_MS(500));
	client->renew_ns = yard->now_ns + TD_MS(100);
	yard_step(yard, request(yard, client));
}

/* The other way, without letting go. */
static void turn(struct yard *yard, struct client *client)
{
	client->way = (uint8_t)(1 - client->way);
	client->hold++;
	client->seq = 0;
	yard_step(yard, request(yard, client));
}

static void let_go(struct yard *yard, struct client *client)
{
	client->holds = false;
	yard_step(yard, (struct td_event){.kind = TD_EVENT_RELEASE,
					  .axis = client->axis,
					  .session = client->session,
					  .hold = client->hold});
}

static void vanish(struct yard *yard, struct client *client)
{
	yard_step(yard, (struct td_event){.kind = TD_EVENT_GONE, .session = client->session});
	*client = (struct client){.session = ++yard->sessions};
}

static void act(struct yard *yard, struct client *client)
{
	if (client->frozen && client->until_ns <= yard->now_ns)
		vanish(yard, client);
	if (client->frozen)
		return;
	if (client->holds && client->until_ns <= yard->now_ns)
		let_go(yard, client);
	if (client->holds && client->renew_ns <= yard->now_ns) {
		client->seq++;
		client->renew_ns = yard->now_ns + TD_MS(100);
		yard_step(yard, request(yard, client));
	}
	if (client->hold > 0 && yard_strikes(yard, FAULT_FORGED))
		forge(yard, client);
	if (client->holds && yard_strikes(yard, FAULT_VANISH))
		vanish(yard, client);
	if (client->holds && yard_strikes(yard, FAULT_FREEZE))
		client->frozen = true;
	if (client->holds && yard_chance(yard, 300))
		turn(yard, client);
	if (!client->holds && yard_chance(yard, 40))
		begin(yard, client);
}

/* --- who looks after it ----------------------------------------------------------------------------------- */

static void look_after(struct yard *yard)
{
	if (yard_chance(yard, 5000))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
	if (yard_chance(yard, 20000))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_LATCH});
	if (yard_chance(yard, 20000))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_DISARM});
	if (yard->now_ns < yard->repair_ns)
		return;
	yard->repair_ns = yard->now_ns + yard_up_to(yard, TD_S(5));
	if (!yard->core.levels_known)
		yard_step(yard, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = yard_read_levels(yard)});
	if (yard_chance(yard, 2))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_RESET,
						  .axis = TD_ALL_AXES,
						  .role = (uint8_t)!yard_chance(yard, 4)});
	for (uint8_t axis = 0; axis < RULE_AXES; axis++)
		yard_step(yard, (struct td_event){.kind = TD_EVENT_RESET, .axis = axis});
	if (yard_chance(yard, 5))
		yard_step(yard, (struct td_event){.kind = TD_EVENT_UNTWISTED, .role = TD_ROLE_KEEPER});
	if (!yard->core.armed)
		yard_step(yard, (struct td_event){.kind = TD_EVENT_ARM});
}

static uint64_t wanted_steps(void)
{
	const char *given = getenv("TD_STEPS");

	return given ? strtoull(given, NULL, 10) : STEPS;
}

/* --- what came of it -------------------------------------------------------------------------------------- */

static void report(const struct yard *yard, double seconds)
{
	printf("# measured: %llu steps, %.0f h simulated, %llu motions, 0 breaches, at most %u of %u mA, "
	       "%.1f s\n",
	       (unsigned long long)yard->steps, (double)yard->now_ns / 3600e9,
	       (unsigned long long)yard->motions, yard->most_ma, yard->rules.supply.budget_ma, seconds);
	for (unsigned i = 0; td_cause_at(i); i++) {
		const struct td_cause_info *info = td_cause_at(i);

		if (info->kind == TD_KIND_TRIP || info->kind == TD_KIND_STOP)
			printf("#   %s %s: %llu\n", info->kind == TD_KIND_TRIP ? "trip" : "stop", info->name,
			       (unsigned long long)yard->causes[info->cause]);
	}
	insight_print(&yard->insight);
	for (int i = 0; i < FAULT_KINDS; i++)
		printf("#   fault, %s: %llu\n", yard_fault_words((enum fault)i),
		       (unsigned long long)yard->injected[i]);
}

static void everything_happened(const struct yard *yard)
{
	for (unsigned i = 0; td_cause_at(i); i++)
		if (td_cause_at(i)->kind == TD_KIND_TRIP && td_cause_at(i)->cause != TD_CAUSE_INTERNAL &&
		    yard->causes[td_cause_at(i)->cause] == 0)
			fail_msg("never happened: %s", td_cause_at(i)->name);
	for (int i = 0; i < FAULT_KINDS; i++)
		assert_true(yard->injected[i] > 0);
	assert_true(yard->causes[TD_CAUSE_DUTY_CUT] > 0);
	assert_true(yard->causes[TD_CAUSE_SUPPLY_WAIT] > 0);
	assert_true(yard->causes[TD_CAUSE_TWIST_CUT] > 0 && yard->insight.certain > 0);
	assert_true(yard->insight.noticed > 0);
	assert_true(yard->motions > yard->steps / 1000);
}

static void the_rules_hold_whatever_breaks(void **state)
{
	static struct yard yard;
	clock_t begun = clock();

	(void)state;
	for (yard_start(&yard); yard.steps < wanted_steps();) {
		yard_time_passes(&yard);
		yard_break_something(&yard);
		for (int i = 0; i < YARD_CLIENTS; i++)
			act(&yard, &yard.client[i]);
		look_after(&yard);
	}
	report(&yard, (double)(clock() - begun) / CLOCKS_PER_SEC);
	assert_int_equal(yard.causes[TD_CAUSE_INTERNAL], 0);
	if (yard.steps >= STEPS) /* a run cut short by TD_STEPS need not come to everything */
		everything_happened(&yard);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_rules_hold_whatever_breaks),
	};

	return cmocka_run_group_tests_name("campaign", tests, NULL, NULL);
}
