/* SPDX-License-Identifier: MIT */
/* The search notices: a core with a flaw, one after another, and the shortest way to what it does wrong. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/explore/explore.h"

enum { STATES_MAX = 2000000 };

struct bite {
	const char *name;
	int variant;
	unsigned kinds; /* of moves */
	struct flaw flaw;
	void (*judge)(struct td_rules *rules); /* the machine itself is another one */
	enum td_breach breach;
};

/* --- numbers that are not the configured ones ------------------------------------------------------------- */

static void short_dead_time(struct td_rules *rules)
{
	rules->axis[0].dead_ns = TICK_NS;
}

static void long_rest(struct td_rules *rules)
{
	rules->axis[0].rest_ns = 2 * TICK_NS;
}

static void short_rest(struct td_rules *rules)
{
	rules->axis[0].rest_ns = TICK_NS;
}

static void long_limit(struct td_rules *rules)
{
	for (int way = 0; way < TD_WAYS; way++)
		rules->axis[0].way[way].limit_ns = 3 * TICK_NS;
}

static void long_leave(struct td_rules *rules)
{
	for (int way = 0; way < TD_WAYS; way++)
		rules->axis[0].way[way].leave_ns = 4 * TICK_NS;
}

static void never_early(struct td_rules *rules)
{
	for (int way = 0; way < TD_WAYS; way++)
		rules->axis[0].way[way].early_ns = 0;
}

static void restored_at_once(struct td_rules *rules)
{
	rules->axis[0].restored_ns = 1;
}

static void wire_that_breaks_unseen(struct td_rules *rules)
{
	rules->sw[SW_LOW].contact = TD_CONTACT_NO;
}

/* --- events that are not heard, or wrongly ---------------------------------------------------------------- */

#define DEAF(name, what)                                                                                     \
	static bool deaf_to_##name(struct td_event *event)                                                   \
	{                                                                                                    \
		return event->kind != TD_EVENT_##what;                                                       \
	}

DEAF(release, RELEASE)
DEAF(gone, GONE)
DEAF(stop, STOP)
DEAF(latch, LATCH)
DEAF(disarm, DISARM)
DEAF(loss, LINES_LOST)
DEAF(writes, WRITTEN)

static bool blind_to_one_end(struct td_event *event)
{
	event->levels &= ~(UINT32_C(1) << SW_HIGH); /* low is clear: a closed contact */
	return true;
}

static bool blind_to_stop_input(struct td_event *event)
{
	event->levels &= ~(UINT32_C(1) << SW_STOP);
	return true;
}

static bool long_lease(struct td_event *event)
{
	if (event->kind == TD_EVENT_REQUEST)
		event->lease_ns += TICK_NS;
	return true;
}

static bool late_is_now(struct td_event *event)
{
	event->heard_ns = event->at_ns;
	return true;
}

static bool everybody_is_keeper(struct td_event *event)
{
	event->role = TD_ROLE_KEEPER;
	return true;
}

static bool renewal_is_a_new_hold(struct td_event *event)
{
	if (event->kind == TD_EVENT_REQUEST && event->seq > 0) {
		event->seq = 0;
		event->hold++;
	}
	return true;
}

/* --- outputs that are not what was decided ---------------------------------------------------------------- */

static uint32_t both_inputs(uint32_t outputs, const struct world *before)
{
	(void)before;
	return outputs != 0 ? 3 : 0;
}

static uint32_t one_step_late(uint32_t outputs, const struct world *before)
{
	return outputs | before->monitor.outputs;
}

/* ---------------------------------------------------------------------------------------------------------- */

#define RULES(change)                                                                                        \
	{                                                                                                    \
		.rules = (change)                                                                            \
	}
#define EVENT(change)                                                                                        \
	{                                                                                                    \
		.event = (change)                                                                            \
	}
#define OUTPUTS(change)                                                                                      \
	{                                                                                                    \
		.outputs = (change)                                                                          \
	}
#define ENDS   VARIANT_ENDS, MOVES_LATCH
#define STROKE VARIANT_STROKE, MOVES_LATCH
#define WIDE   VARIANT_STROKE, MOVES_ALL

static const struct bite bites[] = {
	{"R1 both inputs", ENDS, OUTPUTS(both_inputs), NULL, TD_BREACH_BOTH_INPUTS},
	{"R4 what falls falls a step late", ENDS, OUTPUTS(one_step_late), NULL, TD_BREACH_TRAVEL_TIME},
	{"R2 one end is not seen", ENDS, EVENT(blind_to_one_end), NULL, TD_BREACH_START_INTO_END},
	{"R3 dead time too short", ENDS, RULES(short_dead_time), NULL, TD_BREACH_REVERSED},
	{"R3 rest too short", STROKE, RULES(short_rest), long_rest, TD_BREACH_RESTARTED},
	{"R3 pauses count from the decision", WIDE, EVENT(deaf_to_writes), NULL, TD_BREACH_RESTARTED},
	{"R4 travel limit too long", ENDS, RULES(long_limit), NULL, TD_BREACH_TRAVEL_TIME},
	{"R5 leave limit too long", ENDS, RULES(long_leave), NULL, TD_BREACH_LEAVE_TIME},
	{"R6 stroke too long", STROKE, RULES(long_limit), NULL, TD_BREACH_STROKE_TIME},
	{"R6 stroke given back at once", STROKE, RULES(restored_at_once), NULL, TD_BREACH_STROKE_TIME},
	{"R7 lease too long", STROKE, EVENT(long_lease), NULL, TD_BREACH_NOT_ASKED},
	{"R7 a release is not heard", STROKE, EVENT(deaf_to_release), NULL, TD_BREACH_NOT_ASKED},
	{"R7 a lost client is not noticed", STROKE, EVENT(deaf_to_gone), NULL, TD_BREACH_NOT_ASKED},
	{"R7 a stop is not heard", STROKE, EVENT(deaf_to_stop), NULL, TD_BREACH_REQUEST_REFUSED},
	{"R7 a late request counts as a new one", WIDE, EVENT(late_is_now), NULL, TD_BREACH_REQUEST_REFUSED},
	{"R8 an end reached too early", ENDS, RULES(never_early), NULL, TD_BREACH_TRIPPED},
	{"R9 a broken wire is not seen", ENDS, RULES(wire_that_breaks_unseen), NULL,
	 TD_BREACH_START_INTO_END},
	{"R10 the latched stop is not heard", STROKE, EVENT(deaf_to_latch), NULL, TD_BREACH_LATCHED},
	{"R10 the stop input is not seen", STROKE, EVENT(blind_to_stop_input), NULL, TD_BREACH_LATCHED},
	{"R10 everybody may reset", STROKE, EVENT(everybody_is_keeper), NULL, TD_BREACH_LATCHED},
	{"R11 a hold that ended is renewed", STROKE, EVENT(renewal_is_a_new_hold), NULL,
	 TD_BREACH_HOLD_ENDED},
	{"R14 disarming is not heard", WIDE, EVENT(deaf_to_disarm), NULL, TD_BREACH_NOT_ARMED},
	{"R15 lost lines are not noticed", WIDE, EVENT(deaf_to_loss), NULL, TD_BREACH_LEVELS_UNKNOWN},
};

enum { BITES = sizeof(bites) / sizeof(bites[0]) };

static void the_search_notices(void **state)
{
	const struct bite *bite = *state;
	static struct search search;
	struct variant variant = variant_make(bite->variant);

	if (bite->judge)
		bite->judge(&variant.rules);
	memset(&search, 0, sizeof(search));
	search.law = (struct law){variant.rules, variant.rules, &bite->flaw};
	if (bite->flaw.rules)
		bite->flaw.rules(&search.law.core_rules);
	search.states_max = STATES_MAX;
	moves_make(&search.moves, &variant.rules, bite->kinds);
	search_run(&search);
	assert_true(search.at_fault);
	printf("# %s: after %u states, in %u events:\n", bite->name, search.store.count,
	       search_path_length(&search));
	search_print_path(&search);
	if (search.fault.verdict.breach != bite->breach)
		fail_msg("found: %s", search.fault.fault);
	search_close(&search);
}

static struct bite state_of[BITES];

int main(void)
{
	struct CMUnitTest tests[BITES];

	memcpy(state_of, bites, sizeof(bites));
	for (size_t i = 0; i < BITES; i++)
		tests[i] = (struct CMUnitTest){bites[i].name, the_search_notices, NULL, NULL, &state_of[i]};
	return cmocka_run_group_tests_name("the search bites", tests, NULL, NULL);
}
