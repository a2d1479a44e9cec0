/* SPDX-License-Identifier: MIT */
/* Stops retold: for every cause that stops, what the account says of it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/cause.h"
#include "tests/support/retold.h"

enum { EXPECTED_MAX = 16 };

static struct retold told;

/* --- what happens ----------------------------------------------------------------------------------- */

static void raise_for(double ms)
{
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 120);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, ms - 120);
}

static void jam(void)
{
	raise_for(3000);
}

static void bottom_stays(void)
{
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 1000);
}

static void both_at_once(void)
{
	retold_run(&told, 500);
	retold_switch(&told, "boom_top", true);
	retold_run(&told, 100);
}

static void top_too_early(void)
{
	raise_for(600);
	retold_switch(&told, "boom_top", true);
	retold_run(&told, 100);
}

static void wrong_end(void)
{
	raise_for(1500);
	retold_switch(&told, "boom_bottom", true);
	retold_run(&told, 100);
}

static void chip_gone(void)
{
	raise_for(500);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LINES_LOST});
}

static void breach(void)
{
	raise_for(500);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_BREACH});
}

static void loose_wire(void)
{
	raise_for(700);
	retold_release(&told, "boom");
	retold_run(&told, 1000);
	for (int i = 0; i < 12; i++) {
		retold_switch(&told, "boom_top", i % 2 == 0);
		retold_run(&told, 30);
	}
}

static void let_go(void)
{
	raise_for(700);
	retold_release(&told, "boom");
	retold_run(&told, 1000);
}

static void no_renewal(void)
{
	raise_for(700);
	retold_drop(&told, "boom");
	retold_run(&told, 1000);
}

static void client_gone(void)
{
	raise_for(700);
	retold_drop(&told, "boom");
	retold_event(&told, (struct td_event){.kind = TD_EVENT_GONE, .session = 3});
}

static void turn_ends(void)
{
	raise_for(700);
	retold_drop(&told, "boom");
	retold_event(&told, (struct td_event){.kind = TD_EVENT_TURN_OVER, .session = 3});
}

static void keeper_stops(void)
{
	raise_for(700);
	retold_event(&told,
		     (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES, .session = RETOLD_KEEPER});
	retold_drop(&told, "boom");
	retold_run(&told, 1000);
}

static void reach_top(void)
{
	raise_for(1900);
	retold_switch(&told, "boom_top", true);
	retold_drop(&told, "boom");
	retold_run(&told, 1000);
}

static void steer_to_stop(void)
{
	retold_ask(&told, "steering", "left");
	retold_run(&told, 900);
}

static void vent_against_boom(void)
{
	retold_ask(&told, "vent", "open");
	retold_run(&told, 300);
	retold_switch(&told, "vent_shut", false);
	retold_run(&told, 1000);
	retold_release(&told, "vent");
	retold_run(&told, 500);
	retold_ask(&told, "vent", "close");
	retold_run(&told, 500);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, 200);
}

static void latch(void)
{
	raise_for(700);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LATCH, .session = RETOLD_KEEPER});
	retold_drop(&told, "boom");
	retold_run(&told, 300);
}

static void stop_contact(void)
{
	raise_for(700);
	retold_switch(&told, "stop_contact", true);
	retold_drop(&told, "boom");
	retold_run(&told, 300);
}

static void latch_kept(void)
{
	retold_event(&told, (struct td_event){.kind = TD_EVENT_LATCH_KEPT});
}

static void disarm(void)
{
	retold_run(&told, 100);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_DISARM});
}

static void disarm_in_motion(void)
{
	raise_for(700);
	retold_event(&told, (struct td_event){.kind = TD_EVENT_DISARM});
}

/* Left and right in turn, at each stop for as long as may be: the minute's allowance goes. */
static void steer_for_a_minute(void)
{
	retold_ask(&told, "steering", "right");
	retold_run(&told, 300);
	for (int i = 0; i < 80 && told.accountant.account.cause != TD_CAUSE_DUTY_CUT; i++) {
		retold_ask(&told, "steering", i % 2 ? "right" : "left");
		retold_run(&told, 770);
	}
}

static void drive_in_circles(void)
{
	retold_ask(&told, "steering", "left");
	retold_run(&told, 700);
	for (int i = 0; i < 6 && told.accountant.account.cause != TD_CAUSE_TWIST_CUT; i++) {
		retold_ask(&told, "drive", "forward");
		for (int s = 0; s < 19 && told.accountant.account.cause != TD_CAUSE_TWIST_CUT; s++)
			retold_run(&told, 1000);
		retold_drop(&told, "drive");
		retold_run(&told, 3000);
	}
}

/* --- and what is said of it -------------------------------------------------------------------------- */

struct story {
	const char *name;
	enum td_cause cause;
	enum td_account_want want;
	void (*happens)(void);
	const char *says[EXPECTED_MAX];
};

static struct story stories[] = {
	{"R4 an end that is not reached",
	 TD_CAUSE_TRAVEL_LIMIT,
	 TD_ACCOUNT_TRIP,
	 jam,
	 {"The boom tripped while raise was powered: the end was not reached in the learned time.",
	  "when: ", "90 s ago|1 min 30 s ago",
	  "asked for: boom raise: held by a visitor (session 3, user id 2002) for 2.60 s",
	  "renewed 25 times, last heard 100 ms before",
	  "motion: boom raise had been powered for 2.60 s when it was cut",
	  "why: boom_top did not become active: raise had been powered for 2.60 s in all since the boom left",
	  "; 2.60 s are allowed, 130 % of the travel time of 2.00 s",
	  "rule: R4: the end was not reached in the learned time (travel-limit)",
	  "switches: boom_bottom was clear, since 2.4",
	  "switches: clear all through the 3.60 s recorded before: boom_top, vent_open, stop_contact",
	  "what to do: look for an obstacle",
	  "what to do: tripdog reset boom: the keeper may, and visitors 6 times an hour",
	  "afterwards: no reset is recorded; the recording ends 400 ms later"}},
	{"R5 an end switch that stays active",
	 TD_CAUSE_LEAVE_LIMIT,
	 TD_ACCOUNT_TRIP,
	 bottom_stays,
	 {"why: boom_bottom was still active: raise had been powered for 500 ms",
	  "it must be clear after 500 ms", "rule: R5", "tripdog --keeper reset boom: only the keeper may"}},
	{"R8 both ends at once",
	 TD_CAUSE_BOTH_ENDS,
	 TD_ACCOUNT_TRIP,
	 both_at_once,
	 {"The boom tripped while it stood still", "asked for: nobody held the boom",
	  "why: boom_bottom and boom_top were active at once; the boom cannot be at both its ends",
	  "nothing was powered at that moment", "switches: boom_top was active, since this very moment",
	  "motion: boom was off, and had not been powered in this trace"}},
	{"R8 an end too early",
	 TD_CAUSE_END_TOO_EARLY,
	 TD_ACCOUNT_TRIP,
	 top_too_early,
	 {"why: boom_top became active too early: raise had been powered for 60", "in less than 1.00 s",
	  "rule: R8"}},
	{"R8 the wrong end",
	 TD_CAUSE_WRONG_END,
	 TD_ACCOUNT_TRIP,
	 wrong_end,
	 {"why: boom_bottom, the end switch of lower, became active while raise was powered", "rule: R8"}},
	{"R15 the lines are lost",
	 TD_CAUSE_LINES_LOST,
	 TD_ACCOUNT_TRIP,
	 chip_gone,
	 {"The boom tripped while raise was powered", "(and with it: drive, steering, vent)",
	  "asked for: boom raise: held by", "afterwards: in the same moment: the machine is disarmed",
	  "why: the lines could not be read or written any more", "rule: R15",
	  "what to do: tripdog --keeper reset: only"}},
	{"a breach",
	 TD_CAUSE_INTERNAL,
	 TD_ACCOUNT_TRIP,
	 breach,
	 {"why: the second judge kept a word of outputs from being written",
	  "rule: the program found itself"}},
	{"R8 a contact that chatters",
	 TD_CAUSE_CHATTER,
	 TD_ACCOUNT_TRIP,
	 loose_wire,
	 {"why: boom_top changed more than 6 times within ", "rule: R8", "switches: boom_top was",
	  "the last to ask was a visitor (session 3, user id 2002), for raise, "}},
	{"R7 the holder lets go",
	 TD_CAUSE_LET_GO,
	 TD_ACCOUNT_STOP,
	 let_go,
	 {"The boom stopped while raise was powered", "why: a visitor (session 3, user id 2002) let go",
	  "afterwards: nothing of note is recorded; the recording ends 1.00 s later"}},
	{"R7 a lease runs out",
	 TD_CAUSE_LEASE_OUT,
	 TD_ACCOUNT_STOP,
	 no_renewal,
	 {"why: the last renewal was heard 300 ms before, and it was good for 300 ms", "rule: R7"}},
	{"R7 a client goes away",
	 TD_CAUSE_CLIENT_GONE,
	 TD_ACCOUNT_STOP,
	 client_gone,
	 {"why: the connection of a visitor (session 3, user id 2002) ended while it held the way"}},
	{"R7 a turn ends",
	 TD_CAUSE_TURN_OVER,
	 TD_ACCOUNT_STOP,
	 turn_ends,
	 {"why: the turn of a visitor (session 3, user id 2002) ended while it held the way"}},
	{"R7 somebody asks for a stop",
	 TD_CAUSE_STOP_ASKED,
	 TD_ACCOUNT_STOP,
	 keeper_stops,
	 {"why: the keeper (session 9, user id 1000) asked for a stop of everything"}},
	{"R2 the end is reached",
	 TD_CAUSE_END_REACHED,
	 TD_ACCOUNT_STOP,
	 reach_top,
	 {"why: boom_top was active: raise had been powered for 1.9", "rule: R2"}},
	{"R6 a stroke is over",
	 TD_CAUSE_HOLD_LIMIT,
	 TD_ACCOUNT_STOP,
	 steer_to_stop,
	 {"The steering stopped while left was powered",
	  "why: left has no end switch, so time is the limit: 600 ms", "rule: R6"}},
	{"R17 another axis is in the way",
	 TD_CAUSE_BARRED,
	 TD_ACCOUNT_STOP,
	 vent_against_boom,
	 {"why: close is barred unless the boom is at its end \"lower\", and it was not", "rule: R17"}},
	{"R10 somebody makes the latched stop",
	 TD_CAUSE_LATCH_ASKED,
	 TD_ACCOUNT_STOP,
	 latch,
	 {"The machine stopped: somebody made the latched stop (and with it: boom).",
	  "why: the keeper (session 9, user id 1000) made the latched stop", "rule: R10",
	  "motion: boom raise had been powered for 700 ms and was cut as well",
	  "afterwards: no reset is recorded"}},
	{"R10 the emergency-stop input",
	 TD_CAUSE_LATCH_INPUT,
	 TD_ACCOUNT_STOP,
	 stop_contact,
	 {"why: stop_contact, the emergency-stop input, was active",
	  "switches: stop_contact was active, since this"}},
	{"R10 the latched stop was kept",
	 TD_CAUSE_LATCH_KEPT,
	 TD_ACCOUNT_STOP,
	 latch_kept,
	 {"why: the latched stop was on when the daemon ended", "motion: nothing was powered",
	  "asked for: nobody held anything"}},
	{"R14 disarmed",
	 TD_CAUSE_DISARMED,
	 TD_ACCOUNT_STOP,
	 disarm,
	 {"The machine stopped: the machine is disarmed", "why: the machine was disarmed"}},
	{"R14 disarmed in motion",
	 TD_CAUSE_DISARMED,
	 TD_ACCOUNT_STOP,
	 disarm_in_motion,
	 {"(and with it: boom)", "motion: boom raise had been powered for 700 ms and was cut as well"}},
	{"R12 the duty is used up",
	 TD_CAUSE_DUTY_CUT,
	 TD_ACCOUNT_STOP,
	 steer_for_a_minute,
	 {"The steering stopped",
	  "why: the motor had been powered for 30.00 s of the last minute; 30.00 s are allowed",
	  "rule: R12"}},
	{"R18 the cable is twisted",
	 TD_CAUSE_TWIST_CUT,
	 TD_ACCOUNT_STOP,
	 drive_in_circles,
	 {"The drive stopped while forward was powered", "why: the cable was twisted by ",
	  " degrees to the left, give or take ", "1080 to either side are allowed", "rule: R18"}},
};

enum { STORIES = sizeof(stories) / sizeof(stories[0]) };

/* One of the texts that `|` parts stands in the tale. */
static bool says(const char *tale, const char *expected)
{
	char *copy = strdup(expected);
	char *rest = copy;
	bool found = false;

	for (char *one = strsep(&rest, "|"); one; one = strsep(&rest, "|"))
		found = found || strstr(tale, one) != NULL;
	free(copy);
	return found;
}

static void retells(void **state)
{
	const struct story *story = *state;

	retold_open(&told, story->want, true);
	story->happens();
	const char *tale = retold_tell(&told);
	if (told.accountant.account.cause != story->cause)
		fail_msg("the cause is %s:\n%s", td_cause_info(told.accountant.account.cause)->name, tale);
	if (!told.accountant.account.measure.known)
		fail_msg("the core beside does not agree:\n%s", tale);
	for (int i = 0; i < EXPECTED_MAX && story->says[i]; i++)
		if (!says(tale, story->says[i]))
			fail_msg("\"%s\" is not in\n%s", story->says[i], tale);
}

/* Without the bytes of a core, as from another build: every cause is told all the same, only with fewer figures. */
static void retells_without_a_core(void **state)
{
	(void)state;
	for (int i = 0; i < STORIES; i++) {
		retold_open(&told, stories[i].want, false);
		retold_begin(&told, false);
		stories[i].happens();
		const char *tale = retold_tell(&told);

		assert_int_equal(told.accountant.account.cause, stories[i].cause);
		assert_false(told.accountant.account.measure.known);
		if (!strstr(tale, "\nwhy: ") || !strstr(tale, "\nwhen: ") || !strstr(tale, "\nmotion: ") ||
		    !strstr(tale, "\nasked for: ") || !strstr(tale, "\nwhat to do: "))
			fail_msg("%s: something is missing:\n%s", stories[i].name, tale);
	}
}

static bool has_story(enum td_cause cause)
{
	for (int i = 0; i < STORIES; i++)
		if (stories[i].cause == cause)
			return true;
	return false;
}

/* LATCH_CUT and DISARMED_CUT come in the step of the latch or the disarming, which is told in their place. */
static void every_cause_that_stops_has_a_story(void **state)
{
	const struct td_cause_info *info = NULL;

	(void)state;
	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++) {
		bool stops = info->kind == TD_KIND_TRIP || info->kind == TD_KIND_STOP;

		if (stops && info->cause != TD_CAUSE_REPLACED && info->cause != TD_CAUSE_LATCH_CUT &&
		    info->cause != TD_CAUSE_DISARMED_CUT && !has_story(info->cause))
			fail_msg("%s", info->name);
	}
}

int main(void)
{
	struct CMUnitTest test[STORIES + 2];

	for (int i = 0; i < STORIES; i++)
		test[i] = (struct CMUnitTest){stories[i].name, retells, NULL, NULL, &stories[i]};
	test[STORIES] = (struct CMUnitTest)cmocka_unit_test(retells_without_a_core);
	test[STORIES + 1] = (struct CMUnitTest)cmocka_unit_test(every_cause_that_stops_has_a_story);
	return _cmocka_run_group_tests("retell", test, STORIES + 2, NULL, NULL);
}
