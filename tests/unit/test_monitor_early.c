/* SPDX-License-Identifier: MIT */
/*
 * The monitor on ends that are reached too early (R8): a trip is known where it is certain how far the axis can have
 * come, and nowhere else. The boom: raise 2000 ms, lower 1600 ms, early is less than half of it; confirm 2 ms.
 */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LOWER, RAISE };

#define UP   ON(RULE_BOOM, RAISE)
#define DOWN ON(RULE_BOOM, LOWER)

/* From the bottom, where it stands when it is armed; the end clears on the way. */
#define RAISED(at, who) ASK(at, RULE_BOOM, RAISE, who, UP), LEVELS((at) + 100, 0, UP), TIME((at) + 150, UP)
/* The top becomes active, and the power is cut. */
#define AT_TOP(at)    LEVELS((at)-2, AT(RULE_TOP), UP), TIME(at, 0)
#define AT_BOTTOM(at) LEVELS((at)-2, AT(RULE_BOTTOM), DOWN), TIME(at, 0)
#define BROKEN(what)  .breach = TD_BREACH_##what, .axis = RULE_BOOM
#define BACK(at, who) ASK(at, RULE_BOOM, LOWER, who, DOWN)

static void one_end(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[LOWER] = rules->axis[RULE_WHEEL].way[0];
	rules->axis[RULE_BOOM].way[RAISE].early_ns = TD_MS(300);
	rules->axis[RULE_VENT].way[0].bars = 0;
}

static void never_early(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[RAISE].early_ns = 0;
}

static struct monitor_case cases[] = {
	{"R8 powered on into an end that was reached too early",
	 {RAISED(1000, 11), LEVELS(1900, AT(RULE_TOP), UP), TIME(1902, UP)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(EARLY_END),
	 .way = RAISE},
	{"R8 powered back after an end that was reached too early",
	 {RAISED(1000, 11), AT_TOP(1999), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 half way is not too early",
	 {RAISED(1000, 11), AT_TOP(2000), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 FINE},
	{"R8 a way that has no such limit is never too early",
	 {RAISED(1000, 11), AT_TOP(1500), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 .change = never_early,
	 FINE},
	{"R8 where nobody knows the start no end is too early",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), AT_TOP(1500), BACK(3000, 12)},
	 FINE},
	{"R8 after the keeper's reset the axis is free",
	 {RAISED(1000, 11), AT_TOP(1500), KEEPER(2000, RULE_BOOM, 0), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 FINE},
	{"R8 a visitor's reset changes nothing",
	 {RAISED(1000, 11), AT_TOP(1500), ROW(RESET, 2000, 0, .axis = RULE_BOOM), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 too early twice in a row locks the way",
	 {RAISED(1000, 11), AT_TOP(1500), KEEPER(2000, RULE_BOOM, 0), BACK(3000, 12), LEVELS(3100, 0, DOWN),
	  TIME(3150, DOWN), RENEW(4000, RULE_BOOM, LOWER, 12, 1, DOWN), AT_BOTTOM(4600), RAISED(5000, 13),
	  AT_TOP(5500), BACK(6000, 14)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},

	/* what counts is all the powered time since the other end */
	{"R8 parts of a way add up",
	 {RAISED(1000, 11), RELEASE(1600, RULE_BOOM, 11, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP),
	  AT_TOP(2400), BACK(3000, 13)},
	 .active = AT(RULE_BOTTOM),
	 FINE},
	{"R8 parts of a way add up to less than half",
	 {RAISED(1000, 11), RELEASE(1600, RULE_BOOM, 11, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP),
	  AT_TOP(2398), BACK(3000, 13)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 what went back does not count",
	 {RAISED(1000, 11), RELEASE(1900, RULE_BOOM, 11, 0), ASK(2500, RULE_BOOM, LOWER, 12, DOWN),
	  RELEASE(2900, RULE_BOOM, 12, 0), ASK(3500, RULE_BOOM, RAISE, 13, UP), AT_TOP(4000), BACK(5000, 14)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 a switch that flickers at the start is the start",
	 {RAISED(1000, 11), LEVELS(1300, AT(RULE_BOTTOM), UP), TIME(1302, UP), LEVELS(1310, 0, UP),
	  TIME(1360, UP), AT_TOP(1999), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 from an end it came to by itself it knows its way back",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), AT_TOP(2000), BACK(3000, 12), LEVELS(3100, 0, DOWN),
	  TIME(3150, DOWN), AT_BOTTOM(3799), ASK(5000, RULE_BOOM, RAISE, 13, UP)},
	 BROKEN(TRIPPED),
	 .way = RAISE},

	/* off, and coasting */
	{"R8 rolling into an end that is too early",
	 {RAISED(1000, 11), RELEASE(1500, RULE_BOOM, 11, 0), LEVELS(1600, AT(RULE_TOP), 0), TIME(1602, 0),
	  BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 a release in the very step that the end came too early",
	 {RAISED(1000, 11), LEVELS(1500, AT(RULE_TOP), UP), RELEASE(1502, RULE_BOOM, 11, 0), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 an end that comes up while the axis stands still is no trip",
	 {RAISED(1000, 11), RELEASE(1500, RULE_BOOM, 11, 0), LEVELS(1698, AT(RULE_TOP), 0), TIME(1700, 0),
	  BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 FINE},
	{"R8 after that nobody knows the start",
	 {RAISED(1000, 11), RELEASE(1500, RULE_BOOM, 11, 0), LEVELS(1698, AT(RULE_TOP), 0), TIME(1700, 0),
	  LEVELS(1800, 0, 0), TIME(1850, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP), AT_TOP(2100),
	  BACK(3000, 13)},
	 .active = AT(RULE_BOTTOM),
	 FINE},

	/* resets */
	{"R8 after a reset away from the ends of what may have tripped nobody knows the start",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(1500, RULE_BOOM, 11, 0), LEVELS(1600, 0, 0),
	  TIME(1650, 0), KEEPER(1700, RULE_BOOM, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP), AT_TOP(2200),
	  BACK(3000, 13)},
	 .active = AT(RULE_BOTTOM),
	 FINE},
	{"R8 a reset of what cannot have tripped changes nothing",
	 {RAISED(1000, 11), RELEASE(1200, RULE_BOOM, 11, 0), KEEPER(1500, RULE_BOOM, 0),
	  ASK(2000, RULE_BOOM, RAISE, 12, UP), AT_TOP(2200), BACK(3000, 13)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 a reset at the end leaves it the start",
	 {KEEPER(500, RULE_BOOM, 0), RAISED(1000, 11), AT_TOP(1999), BACK(3000, 12)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 a trip that is reset at the end makes it the start",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1500, 0), KEEPER(2000, RULE_BOOM, 0), RAISED(3000, 12),
	  AT_TOP(3999), BACK(5000, 13)},
	 .active = AT(RULE_BOTTOM),
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 a reset at the far end may have made it the place",
	 {RAISED(1000, 11), AT_TOP(2500), KEEPER(3000, RULE_BOOM, 0), BACK(4000, 12), LEVELS(4050, 0, DOWN),
	  TIME(4100, DOWN), RELEASE(4200, RULE_BOOM, 12, 0), ASK(5000, RULE_BOOM, RAISE, 13, UP),
	  AT_TOP(5300), BACK(6000, 14)},
	 .active = AT(RULE_BOTTOM),
	 FINE},

	/* one end switch: the other stop is told by the stroke */
	{"R8 from a stop without an end switch",
	 {ASK(1000, RULE_BOOM, LOWER, 11, DOWN), TIME(1600, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP),
	  AT_TOP(2299), BACK(3000, 13)},
	 .change = one_end,
	 BROKEN(TRIPPED),
	 .way = LOWER},
	{"R8 from a stop that was perhaps not come to",
	 {ASK(1000, RULE_BOOM, LOWER, 11, DOWN), RELEASE(1600, RULE_BOOM, 11, 0),
	  ASK(2000, RULE_BOOM, RAISE, 12, UP), AT_TOP(2299), BACK(3000, 13)},
	 .change = one_end,
	 FINE},
	{"R8 from where it was let go before its stop",
	 {ASK(1000, RULE_BOOM, LOWER, 11, DOWN), TIME(1599, 0), ASK(2000, RULE_BOOM, RAISE, 12, UP),
	  AT_TOP(2299), BACK(3000, 13)},
	 .change = one_end,
	 FINE},
};

int main(void)
{
	return monitor_cases_run("monitor_early", cases, sizeof(cases) / sizeof(cases[0]));
}
