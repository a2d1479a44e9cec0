/* SPDX-License-Identifier: MIT */
/* The monitor finds breaches that take time: R4, R5, R6, and the trips that follow from them (R11). */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LOWER, RAISE };
enum { LEFT, RIGHT };
enum { BACK, AHEAD };

#define UP   ON(RULE_BOOM, RAISE)
#define DOWN ON(RULE_BOOM, LOWER)

/* Up from 1000, held until 4000; the limit of this way is 2600 ms. */
#define RAISING ASK(1000, RULE_BOOM, RAISE, 11, UP), RENEW(2400, RULE_BOOM, RAISE, 11, 1, UP)

static void short_stroke(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].way[AHEAD].reach_ns = TD_MS(600);
	rules->axis[RULE_DRIVE].way[AHEAD].limit_ns = TD_MS(600);
}

static struct monitor_case cases[] = {
	/* R4 */
	{"R4 powered in one go beyond the travel limit",
	 {RAISING, TIME(3599, UP), TIME(3600, UP)},
	 .breach = TD_BREACH_TRAVEL_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R4 powered in several holds beyond the travel limit",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(2300, RULE_BOOM, 11, 0),
	  ASK(3000, RULE_BOOM, RAISE, 12, UP), TIME(4299, UP), TIME(4300, UP)},
	 .breach = TD_BREACH_TRAVEL_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R4 R11 a reset of what cannot have tripped gives nothing back",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(2300, RULE_BOOM, 11, 0),
	  ROW(RESET, 2400, 0, .axis = RULE_BOOM), KEEPER(2500, RULE_BOOM, 0),
	  ASK(3000, RULE_BOOM, RAISE, 12, UP), TIME(4299, UP), TIME(4300, UP)},
	 .breach = TD_BREACH_TRAVEL_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R4 R11 a reset where the time may have been up may",
	 {RAISING, RELEASE(3600, RULE_BOOM, 11, 0), KEEPER(4000, RULE_BOOM, 0),
	  ASK(5000, RULE_BOOM, RAISE, 12, UP), TIME(6400, UP)},
	 FINE},
	{"R4 tapping to and fro does not stretch the limit",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(2400, RULE_BOOM, 11, 0),
	  ASK(3000, RULE_BOOM, LOWER, 12, DOWN), RELEASE(3010, RULE_BOOM, 12, 0),
	  ASK(4000, RULE_BOOM, RAISE, 13, UP), TIME(5200, UP), TIME(5213, UP)},
	 .breach = TD_BREACH_TRAVEL_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R4 going back gives back its proportion", /* 80 of 1600 ms down are worth 100 of 2000 ms up */
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(2400, RULE_BOOM, 11, 0),
	  ASK(3000, RULE_BOOM, LOWER, 12, DOWN), RELEASE(3080, RULE_BOOM, 12, 0),
	  ASK(4000, RULE_BOOM, RAISE, 13, UP), TIME(5299, UP)},
	 FINE},
	{"R4 an end that was touched begins the count anew",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(2300, RULE_BOOM, 11, 0),
	  LEVELS(2400, AT(RULE_BOTTOM), 0), LEVELS(2500, 0, 0), ASK(3000, RULE_BOOM, RAISE, 12, UP),
	  TIME(4400, UP)},
	 FINE},
	{"R4 R11 a travel limit that cut is a trip",
	 {RAISING, TIME(3600, 0), ASK(5000, RULE_BOOM, LOWER, 12, DOWN)},
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = LOWER},
	{"R4 R11 after the keeper's reset the count begins anew",
	 {RAISING, TIME(3600, 0), KEEPER(4000, RULE_BOOM, 0), ASK(5000, RULE_BOOM, RAISE, 12, UP),
	  TIME(6400, UP)},
	 FINE},
	{"R4 R11 a stop in the last moment is no trip",
	 {RAISING, STOP(3600, RULE_BOOM, 0), ASK(5000, RULE_BOOM, LOWER, 12, DOWN)},
	 FINE},
	{"R4 an end that is reached in the last moment is no trip",
	 {RAISING, LEVELS(3598, AT(RULE_TOP), UP), TIME(3600, 0), ASK(5000, RULE_BOOM, LOWER, 12, DOWN)},
	 FINE},

	/* R5 */
	{"R5 powered away from an end that does not clear",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1499, UP), TIME(1500, UP)},
	 .active = AT(RULE_BOTTOM),
	 .breach = TD_BREACH_LEAVE_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R5 the time counts over several holds",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), RELEASE(1300, RULE_BOOM, 11, 0),
	  ASK(2000, RULE_BOOM, RAISE, 12, UP), TIME(2199, UP), TIME(2200, UP)},
	 .active = AT(RULE_BOTTOM),
	 .breach = TD_BREACH_LEAVE_TIME,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R5 an end that clears in time is fine",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), LEVELS(1449, 0, UP), TIME(1499, UP), TIME(2000, UP)},
	 .active = AT(RULE_BOTTOM)},
	{"R5 R11 a leave limit that cut is a trip",
	 {ASK(1000, RULE_BOOM, RAISE, 11, UP), TIME(1500, 0), LEVELS(1600, 0, 0),
	  ASK(3000, RULE_BOOM, RAISE, 12, UP)},
	 .active = AT(RULE_BOTTOM),
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = RAISE},

	/* R6 */
	{"R6 powered in one go beyond the stroke",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), TIME(1600, ON(RULE_WHEEL, LEFT))},
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R6 powered in several holds beyond the stroke",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), RELEASE(1400, RULE_WHEEL, 11, 0),
	  ASK(2000, RULE_WHEEL, LEFT, 12, ON(RULE_WHEEL, LEFT)), TIME(2199, ON(RULE_WHEEL, LEFT)),
	  TIME(2200, ON(RULE_WHEEL, LEFT))},
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R6 R11 a visitor's reset gives no stroke back",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), RELEASE(1400, RULE_WHEEL, 11, 0),
	  ROW(RESET, 1500, 0, .axis = RULE_WHEEL), ASK(2000, RULE_WHEEL, LEFT, 12, ON(RULE_WHEEL, LEFT)),
	  TIME(2199, ON(RULE_WHEEL, LEFT)), TIME(2200, ON(RULE_WHEEL, LEFT))},
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R6 a start when the stroke is used up",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), TIME(1600, 0),
	  ASK(9000, RULE_WHEEL, LEFT, 12, ON(RULE_WHEEL, LEFT))},
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R6 a stroke cut late is used up once",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), TIME(2400, 0),
	  ASK(3000, RULE_WHEEL, RIGHT, 12, ON(RULE_WHEEL, RIGHT)), RELEASE(3200, RULE_WHEEL, 12, 0),
	  ASK(4000, RULE_WHEEL, LEFT, 13, ON(RULE_WHEEL, LEFT)), TIME(4199, ON(RULE_WHEEL, LEFT)),
	  TIME(4201, ON(RULE_WHEEL, LEFT))},
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R6 the other way gives the stroke back",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, ON(RULE_WHEEL, LEFT)), TIME(1600, 0),
	  ASK(3000, RULE_WHEEL, RIGHT, 12, ON(RULE_WHEEL, RIGHT)), RELEASE(3200, RULE_WHEEL, 12, 0),
	  ASK(4000, RULE_WHEEL, LEFT, 13, ON(RULE_WHEEL, LEFT)), TIME(4199, ON(RULE_WHEEL, LEFT))},
	 FINE},
	{"R6 after a whole stroke the other way has a whole one",
	 {ASK(1000, RULE_WHEEL, RIGHT, 11, ON(RULE_WHEEL, RIGHT)), TIME(1600, 0),
	  ASK(3000, RULE_WHEEL, LEFT, 12, ON(RULE_WHEEL, LEFT)), TIME(3600, 0),
	  ASK(5000, RULE_WHEEL, RIGHT, 13, ON(RULE_WHEEL, RIGHT)), TIME(5599, ON(RULE_WHEEL, RIGHT))},
	 FINE},
	{"R6 standing still gives nothing back before its time",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, ON(RULE_DRIVE, AHEAD)), RELEASE(1100, RULE_DRIVE, 11, 0),
	  ASK(3099, RULE_DRIVE, AHEAD, 12, ON(RULE_DRIVE, AHEAD)), TIME(3599, ON(RULE_DRIVE, AHEAD))},
	 .change = short_stroke,
	 .breach = TD_BREACH_STROKE_TIME,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R6 standing still gives the stroke back where the rules say so",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, ON(RULE_DRIVE, AHEAD)), RELEASE(1100, RULE_DRIVE, 11, 0),
	  ASK(3100, RULE_DRIVE, AHEAD, 12, ON(RULE_DRIVE, AHEAD)), TIME(3699, ON(RULE_DRIVE, AHEAD))},
	 .change = short_stroke},
	{"R6 a refused request may have given it back, before the cut was written late",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, ON(RULE_DRIVE, AHEAD)), RELEASE(1100, RULE_DRIVE, 11, 0),
	  ASK(3100, RULE_DRIVE, AHEAD, 12, 0), WRITTEN(3200, 0),
	  ASK(3500, RULE_DRIVE, AHEAD, 13, ON(RULE_DRIVE, AHEAD)), TIME(4099, ON(RULE_DRIVE, AHEAD))},
	 .change = short_stroke},
};

int main(void)
{
	return monitor_cases_run("monitor_time", cases, sizeof(cases) / sizeof(cases[0]));
}
