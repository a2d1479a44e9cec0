/* SPDX-License-Identifier: MIT */
/* The monitor on resets and locks (R11): what it knows for certain, and where it takes the view that allows more. */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LOWER, RAISE };
enum { LEFT, RIGHT };

#define UP   ON(RULE_BOOM, RAISE)
#define DOWN ON(RULE_BOOM, LOWER)

/* The limit of this way is 2600 ms; `at` + 2600 it is cut. `who`: a hold of the session. */
#define JAM(at, who)                                                                                         \
	ASK(at, RULE_BOOM, RAISE, who, UP), RENEW((at) + 1400, RULE_BOOM, RAISE, who, 1, UP),                \
		TIME((at) + 2600, 0)
#define VISITOR(at, which)       ROW(RESET, at, 0, .axis = (which))
#define KEPT(at, which, to, out) ROW(LOCK_KEPT, at, out, .axis = (which), .way = (to))

static void one_reset(struct td_rules *rules)
{
	rules->visitor_resets = 1;
}

static void no_resets(struct td_rules *rules)
{
	rules->visitor_resets = 0;
}

/* Left alone, the wheel to the left; its other way has an end. */
static void one_end(struct td_rules *rules)
{
	rules->axis[RULE_BOOM].way[RAISE] = rules->axis[RULE_WHEEL].way[LEFT];
	rules->axis[RULE_BOOM].way[RAISE].leave_ns = TD_MS(100);
}

static struct monitor_case cases[] = {
	/* who may reset */
	{"R11 a visitor's reset of a travel limit may have been taken",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), ASK(5000, RULE_BOOM, RAISE, 12, UP)},
	 FINE},
	{"R11 a visitor's reset of another axis changes nothing",
	 {JAM(1000, 11), VISITOR(4000, RULE_DRIVE), ASK(5000, RULE_BOOM, RAISE, 12, UP)},
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 a visitor's reset of everything changes nothing",
	 {JAM(1000, 11), VISITOR(4000, TD_ALL_AXES), ASK(5000, RULE_BOOM, RAISE, 12, UP)},
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 where visitors have no resets theirs changes nothing",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), ASK(5000, RULE_BOOM, RAISE, 12, UP)},
	 .change = no_resets,
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 where visitors have one reset it may have been taken",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), ASK(5000, RULE_BOOM, RAISE, 12, UP)},
	 .change = one_reset},
	{"R11 a visitor's reset of a leave limit changes nothing",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1500, 0), LEVELS(1600, 0, 0), VISITOR(2000, RULE_BOOM),
	  ASK(3000, RULE_BOOM, RAISE, 12, UP)},
	 .active = AT(RULE_BOTTOM),
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 what the keeper has reset no longer keeps visitors out",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1500, 0), LEVELS(1600, 0, 0), TIME(1650, 0),
	  KEEPER(2000, RULE_BOOM, 0), JAM(3000, 12), VISITOR(6000, RULE_BOOM),
	  ASK(7000, RULE_BOOM, LOWER, 13, DOWN)},
	 .active = AT(RULE_BOTTOM)},

	/* two trips in a row */
	{"R11 powered again after two trips in a row and a visitor's reset",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), JAM(5000, 12), VISITOR(8000, RULE_BOOM),
	  ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 the way back of a locked way is free",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), JAM(5000, 12), VISITOR(8000, RULE_BOOM),
	  ASK(9000, RULE_BOOM, LOWER, 13, DOWN)},
	 FINE},
	{"R11 after the keeper's reset a locked way is free",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), JAM(5000, 12), KEEPER(8000, RULE_BOOM, 0),
	  ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 FINE},
	{"R11 the keeper's reset of everything frees a locked way too",
	 {KEPT(500, RULE_BOOM, RAISE, 0), KEEPER(8000, TD_ALL_AXES, 0), ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 FINE},
	{"R11 the keeper's reset of another axis frees nothing",
	 {KEPT(500, RULE_BOOM, RAISE, 0), KEEPER(8000, RULE_DRIVE, 0), ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 the keeper's reset frees nothing while both ends are active",
	 {KEPT(500, RULE_BOOM, RAISE, 0), LEVELS(1000, AT(RULE_TOP) | AT(RULE_BOTTOM), 0), TIME(1002, 0),
	  KEEPER(1100, RULE_BOOM, 0), LEVELS(1200, 0, 0), TIME(1250, 0), VISITOR(1300, RULE_BOOM),
	  ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 a hold that was refused by a lock is not taken up when the lock is gone",
	 {KEPT(500, RULE_BOOM, RAISE, 0), ASK(1000, RULE_BOOM, RAISE, 13, 0), KEEPER(1100, RULE_BOOM, 0),
	  TIME(1200, UP)},
	 .breach = TD_BREACH_HOLD_ENDED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 an end reached between two trips parts them",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), ASK(5000, RULE_BOOM, RAISE, 12, UP),
	  LEVELS(6000, AT(RULE_TOP), UP), TIME(6002, 0), LEVELS(6100, 0, 0), TIME(6150, 0), JAM(7000, 13),
	  VISITOR(10000, RULE_BOOM), ASK(11000, RULE_BOOM, RAISE, 14, UP)},
	 FINE},
	{"R11 a hold let go between two trips does not part them",
	 {JAM(1000, 11), VISITOR(4000, RULE_BOOM), ASK(5000, RULE_BOOM, RAISE, 12, UP),
	  RELEASE(5500, RULE_BOOM, 12, 0), ASK(7000, RULE_BOOM, RAISE, 13, UP),
	  RENEW(8400, RULE_BOOM, RAISE, 13, 1, UP), TIME(9100, 0), VISITOR(10000, RULE_BOOM),
	  ASK(11000, RULE_BOOM, RAISE, 14, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 the keeper may have taken away a lock nobody knew of", /* so the count begins anew */
	 {JAM(1000, 11), KEEPER(4000, RULE_BOOM, 0), JAM(5000, 12), VISITOR(8000, RULE_BOOM),
	  ASK(9000, RULE_BOOM, RAISE, 13, UP)},
	 FINE},
	{"R11 the wrong end counts as a trip of the way that was powered",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1600, UP), LEVELS(1700, AT(RULE_BOTTOM), UP),
	  TIME(1702, 0), LEVELS(1800, 0, 0), TIME(1850, 0), KEEPER(2000, RULE_BOOM, 0), JAM(3000, 12),
	  VISITOR(6000, RULE_BOOM), JAM(7000, 13), VISITOR(10000, RULE_BOOM),
	  ASK(11000, RULE_BOOM, RAISE, 14, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 without an end switch nobody sees whether a stroke was completed",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1100, 0), KEEPER(2000, RULE_BOOM, 0), LEVELS(2100, 0, 0),
	  TIME(2150, 0), ASK(3000, RULE_BOOM, RAISE, 12, UP), RELEASE(3100, RULE_BOOM, 12, 0),
	  ASK(4000, RULE_BOOM, RAISE, 13, UP)},
	 .change = one_end,
	 .active = AT(RULE_BOTTOM)},

	/* kept over a restart */
	{"R11 powered although the way was locked before the restart",
	 {KEPT(500, RULE_BOOM, RAISE, 0), ASK(1000, RULE_BOOM, RAISE, 11, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 a lock that is kept cuts what runs",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), KEPT(1100, RULE_BOOM, RAISE, UP)},
	 .breach = TD_BREACH_WAY_LOCKED,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R11 a cut by a lock is no trip, however late it comes",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RENEW(2400, RULE_BOOM, RAISE, 11, 1, UP),
	  KEPT(3600, RULE_BOOM, RAISE, 0), KEEPER(3700, RULE_BOOM, 0), ASK(5000, RULE_BOOM, LOWER, 12, DOWN)},
	 FINE},
	{"R11 a lock of an axis that does not exist is none",
	 {KEPT(500, RULE_AXES, RAISE, 0), ASK(1000, RULE_BOOM, RAISE, 11, UP)},
	 FINE},
	{"R11 a lock of a way that does not exist is none",
	 {KEPT(500, RULE_BOOM, TD_WAYS, 0), ASK(1000, RULE_BOOM, RAISE, 11, UP)},
	 FINE},
	{"R11 a lock taken away under a hold of the other way leaves its renewals in doubt",
	 {KEPT(500, RULE_BOOM, LOWER, 0), ASK(1000, RULE_BOOM, RAISE, 11, UP), KEEPER(1100, RULE_BOOM, UP),
	  RENEW_FOR(1100, RULE_BOOM, RAISE, 11, 1, 50, UP), TIME(1400, UP)},
	 FINE},
};

int main(void)
{
	return monitor_cases_run("monitor_lock", cases, sizeof(cases) / sizeof(cases[0]));
}
