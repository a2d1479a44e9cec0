/* SPDX-License-Identifier: MIT */
/*
 * The monitor on the twist of the cable (R18), by hand: at its stop the wheel makes the cart turn a tenth a second, to
 * the left when it drives ahead and steers left; a fifth of a turn is the limit. The wheel's stroke is 600 ms, its
 * rest 100 ms; the drive rests 300 ms, and 400 between its ways.
 */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LEFT, RIGHT };
enum { BACK, AHEAD };

#define TO_LEFT  ON(RULE_WHEEL, LEFT)
#define TO_RIGHT ON(RULE_WHEEL, RIGHT)
#define GOES     ON(RULE_DRIVE, AHEAD)
#define RETURNS  ON(RULE_DRIVE, BACK)

/* To its left stop, which takes 600 ms. */
#define STEER_LEFT(at, who)  ASK(at, RULE_WHEEL, LEFT, who, TO_LEFT), TIME((at) + 600, 0)
#define STEER_RIGHT(at, who) ASK(at, RULE_WHEEL, RIGHT, who, TO_RIGHT), TIME((at) + 600, 0)
#define DRIVE(at, who)                                                                                       \
	ASK(at, RULE_DRIVE, AHEAD, who, GOES), RENEW((at) + 1000, RULE_DRIVE, AHEAD, who, 1, GOES)
#define REVERSE(at, who)                                                                                     \
	ASK(at, RULE_DRIVE, BACK, who, RETURNS), RENEW((at) + 1000, RULE_DRIVE, BACK, who, 1, RETURNS)
#define KEEPER_UNTWISTS(at) ROW(UNTWISTED, at, 0, .role = TD_ROLE_KEEPER)
#define TWISTED(to)         .breach = TD_BREACH_TWISTED, .axis = RULE_DRIVE, .way = (to)

static void estimate(struct td_rules *rules)
{
	rules->cable = (struct td_cable_rules){
		.twist = {.source = TD_TWIST_ESTIMATE, .limit_uturn = 200000},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
		.left = LEFT,
	};
	for (int way = 0; way < TD_WAYS; way++) {
		rules->cable.twist.rate_ppm_s[way][TD_TWIST_LEFT] = way == AHEAD ? 100000 : -100000;
		rules->cable.twist.rate_ppm_s[way][TD_TWIST_RIGHT] = way == AHEAD ? -100000 : 100000;
	}
}

static void doubtful(struct td_rules *rules)
{
	estimate(rules);
	rules->cable.twist.doubt_ppm = 250000;
}

static void crooked(struct td_rules *rules)
{
	estimate(rules);
	rules->cable.twist.rate_ppm_s[AHEAD][TD_TWIST_STRAIGHT] = 100000;
}

static void restored(struct td_rules *rules)
{
	estimate(rules);
	rules->axis[RULE_WHEEL].restored_ns = TD_S(1);
}

static void sprung(struct td_rules *rules)
{
	estimate(rules);
	rules->cable.springs = 1;
	for (int way = 0; way < TD_WAYS; way++)
		rules->axis[RULE_WHEEL].way[way].limit_ns = TD_S(6);
}

static void sprung_other_side(struct td_rules *rules)
{
	sprung(rules);
	rules->cable.left = RIGHT;
}

/* The boom steers, which has end switches. */
static void ended(struct td_rules *rules)
{
	estimate(rules);
	rules->cable.steering = RULE_BOOM;
}

/* The upper end of the boom alone has a switch. */
static void half_ended(struct td_rules *rules)
{
	ended(rules);
	rules->axis[RULE_BOOM].way[LEFT] = rules->axis[RULE_WHEEL].way[LEFT];
	rules->axis[RULE_VENT].way[0].bars = 0;
}

/* To the right it takes twice as long: half of that way, from the left, is half way over. */
static void uneven(struct td_rules *rules)
{
	estimate(rules);
	rules->axis[RULE_WHEEL].way[RIGHT].reach_ns = rules->axis[RULE_WHEEL].way[RIGHT].limit_ns =
		TD_MS(1200);
}

/* Eight counts a turn, so two are beyond the limit. */
static void sensor(struct td_rules *rules)
{
	estimate(rules);
	rules->cable.twist.source = TD_TWIST_SENSOR;
	rules->cable.twist.steps_per_turn = 8;
	rules->cable.contact[0] = RULE_OPEN;
	rules->cable.contact[1] = RULE_STOP;
	rules->stop_switch = TD_NO_SWITCH;
	rules->axis[RULE_VENT].way[1] = rules->axis[RULE_WHEEL].way[0];
	for (uint8_t sw = RULE_OPEN; sw <= RULE_STOP; sw++)
		rules->sw[sw].confirm_ns = 0, rules->sw[sw].clear_ns = TD_CLEAR_MIN_NS;
}

static void wide_sensor(struct td_rules *rules)
{
	sensor(rules);
	rules->cable.twist.limit_uturn = 300000;
}

static void turned_sensor(struct td_rules *rules)
{
	sensor(rules);
	rules->cable.twist.steps_per_turn = -8;
}

static struct monitor_case cases[] = {
	/* at a stop */
	{"R18 powered on beyond the limit",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 powered up to a microsecond before the limit",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(3999.999, GOES), TIME(4000, 0)},
	 .change = estimate,
	 FINE},
	{"R18 started again beyond the limit",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ASK(5000, RULE_DRIVE, AHEAD, 22, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 the way back is free",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), REVERSE(5000, 22), TIME(6500, RETURNS)},
	 .change = estimate,
	 FINE},
	{"R18 the way back is free as far as the limit on the other side",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), REVERSE(5000, 22),
	  RENEW(7000, RULE_DRIVE, BACK, 22, 2, RETURNS), RENEW(8400, RULE_DRIVE, BACK, 22, 3, RETURNS),
	  TIME(9000, RETURNS)},
	 .change = estimate,
	 TWISTED(BACK)},
	{"R18 what went back may come again",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), REVERSE(5000, 22), TIME(6000, 0),
	  ASK(7000, RULE_DRIVE, AHEAD, 23, GOES), TIME(7999.999, GOES), TIME(8000, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 the other side is free",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), STEER_RIGHT(5000, 12), DRIVE(6000, 22),
	  TIME(7400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 back and to the other side adds too",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), STEER_RIGHT(5000, 12),
	  ASK(6000, RULE_DRIVE, BACK, 22, RETURNS)},
	 .change = estimate,
	 TWISTED(BACK)},
	{"R18 other axes are free",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0),
	  ASK(5000, RULE_BOOM, 1, 41, ON(RULE_BOOM, 1))},
	 .change = estimate,
	 FINE},
	{"R18 a machine without a cable is free",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, GOES)},
	 FINE},
	{"R18 all the time driven is doubt",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(3600, GOES)},
	 .change = doubtful,
	 TWISTED(AHEAD)},
	{"R18 a doubt that is not quite enough",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(3599.999, GOES)},
	 .change = doubtful,
	 FINE},

	/* not at a stop */
	{"R18 half way over it turns half as fast",
	 {STEER_LEFT(1000, 11), ASK(1800, RULE_WHEEL, RIGHT, 12, TO_RIGHT), TIME(1950, 0), DRIVE(2000, 21),
	  RENEW(4000, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(5400, RULE_DRIVE, AHEAD, 21, 3, GOES),
	  TIME(6001, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 half way over it is within the limit for twice as long",
	 {STEER_LEFT(1000, 11), ASK(1800, RULE_WHEEL, RIGHT, 12, TO_RIGHT), TIME(1950, 0), DRIVE(2000, 21),
	  RENEW(4000, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(5400, RULE_DRIVE, AHEAD, 21, 3, GOES),
	  TIME(5999, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 a quarter over by a way that takes longer",
	 {STEER_LEFT(1000, 11), ASK(1750, RULE_WHEEL, RIGHT, 12, TO_RIGHT), TIME(2050, 0), DRIVE(2100, 21),
	  RENEW(4100, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(5500, RULE_DRIVE, AHEAD, 21, 3, GOES),
	  TIME(6099, GOES), TIME(6101, GOES)},
	 .change = uneven,
	 TWISTED(AHEAD)},
	{"R18 where one end of the steering has a switch nobody can be certain",
	 {ASK(1000, RULE_BOOM, LEFT, 11, ON(RULE_BOOM, LEFT)), TIME(1600, 0), DRIVE(2000, 21),
	  TIME(3400, GOES), TIME(4000, GOES)},
	 .change = half_ended,
	 FINE},
	{"R18 in the middle nobody can tell the side",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ASK(5000, RULE_WHEEL, RIGHT, 12, TO_RIGHT),
	  TIME(5300, 0), DRIVE(6000, 22), TIME(7400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 where straight on turns too the middle is no way out",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ASK(5000, RULE_WHEEL, RIGHT, 12, TO_RIGHT),
	  TIME(5100, 0), ASK(6000, RULE_DRIVE, AHEAD, 22, GOES)},
	 .change = crooked,
	 TWISTED(AHEAD)},
	{"R18 steering over while it drives cancels out",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), ASK(3000, RULE_WHEEL, RIGHT, 12, GOES | TO_RIGHT),
	  RENEW(3599, RULE_DRIVE, AHEAD, 21, 2, GOES | TO_RIGHT), TIME(3600, GOES), TIME(4599, GOES),
	  TIME(4600, 0), STEER_LEFT(5000, 13), DRIVE(6000, 22), TIME(7400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 a wheel that was never at a stop is doubt to both sides",
	 {DRIVE(2000, 21), TIME(4000, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 ... up to the limit", {DRIVE(2000, 21), TIME(3999.999, GOES)}, .change = estimate, FINE},
	{"R18 ... and the way back is blocked as well",
	 {DRIVE(2000, 21), TIME(4000, 0), ASK(5000, RULE_DRIVE, BACK, 22, RETURNS)},
	 .change = estimate,
	 TWISTED(BACK)},
	{"R18 a stop that was perhaps not come to leaves it open",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), RELEASE(1600, RULE_WHEEL, 11, 0), DRIVE(2000, 21),
	  TIME(4000, GOES), TIME(4400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 ... on the way back as well, but for its doubt",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), RELEASE(1600, RULE_WHEEL, 11, 0), DRIVE(2000, 21),
	  TIME(4000, 0), REVERSE(5000, 22), TIME(6400, RETURNS)},
	 .change = estimate,
	 FINE},
	{"R18 a stroke given back may have left it nowhere",
	 {STEER_LEFT(1000, 11), ASK(3000, RULE_WHEEL, LEFT, 12, 0), DRIVE(4000, 21), TIME(6000, GOES)},
	 .change = restored,
	 FINE},
	{"R18 after lost lines it is nowhere",
	 {STEER_LEFT(1000, 11), ROW(LINES_LOST, 2000, 0, .axis = 0), LEVELS(2100, 0, 0),
	  KEEPER(2200, TD_ALL_AXES, 0), ROW(ARM, 2300, 0, .axis = 0), DRIVE(3000, 21), TIME(5000, 0),
	  ASK(6000, RULE_DRIVE, BACK, 22, RETURNS)},
	 .change = estimate,
	 TWISTED(BACK)},
	{"R18 where a steering has end switches nobody can be certain",
	 {ASK(1000, RULE_BOOM, 1, 11, ON(RULE_BOOM, 1)), RELEASE(2000, RULE_BOOM, 11, 0), DRIVE(2000, 21),
	  RENEW(4000, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(5400, RULE_DRIVE, AHEAD, 21, 3, GOES)},
	 .change = ended,
	 FINE},

	/* a steering that springs back */
	{"R18 sprung, held at its stop",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), ASK(1900, RULE_DRIVE, AHEAD, 21, TO_LEFT | GOES),
	  RENEW(2000, RULE_WHEEL, LEFT, 11, 1, TO_LEFT | GOES),
	  RENEW(3000, RULE_DRIVE, AHEAD, 21, 1, TO_LEFT | GOES),
	  RENEW(3400, RULE_WHEEL, LEFT, 11, 2, TO_LEFT | GOES), TIME(3900, TO_LEFT | GOES)},
	 .change = sprung,
	 TWISTED(AHEAD)},
	{"R18 sprung, held at its right stop, which is the left one here",
	 {ASK(1000, RULE_WHEEL, RIGHT, 11, TO_RIGHT), ASK(1900, RULE_DRIVE, AHEAD, 21, TO_RIGHT | GOES),
	  RENEW(2000, RULE_WHEEL, RIGHT, 11, 1, TO_RIGHT | GOES),
	  RENEW(3000, RULE_DRIVE, AHEAD, 21, 1, TO_RIGHT | GOES),
	  RENEW(3400, RULE_WHEEL, RIGHT, 11, 2, TO_RIGHT | GOES), TIME(3900, 0), STOP(4000, RULE_WHEEL, 0),
	  ASK(5000, RULE_WHEEL, RIGHT, 12, TO_RIGHT), TIME(5100, TO_RIGHT),
	  ASK(5100, RULE_DRIVE, BACK, 22, TO_RIGHT | RETURNS)},
	 .change = sprung_other_side,
	 FINE},
	{"R18 sprung, let go it is straight after its rest",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), RELEASE(1500, RULE_WHEEL, 11, 0), DRIVE(1600, 21),
	  RENEW(3000, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(4400, RULE_DRIVE, AHEAD, 21, 3, GOES),
	  TIME(5800, GOES)},
	 .change = sprung,
	 FINE},
	{"R18 sprung, while it swings it is doubt",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), ASK(1900, RULE_DRIVE, AHEAD, 21, TO_LEFT | GOES),
	  RENEW(2000, RULE_WHEEL, LEFT, 11, 1, TO_LEFT | GOES),
	  RENEW(3000, RULE_DRIVE, AHEAD, 21, 1, TO_LEFT | GOES), RELEASE(3000, RULE_WHEEL, 11, GOES),
	  TIME(3099, GOES), TIME(3100, GOES), TIME(4000, 0), ASK(4500, RULE_WHEEL, LEFT, 12, TO_LEFT),
	  TIME(4600, TO_LEFT), ASK(4600, RULE_DRIVE, AHEAD, 22, TO_LEFT | GOES), TIME(5400, TO_LEFT | GOES)},
	 .change = sprung,
	 TWISTED(AHEAD)},
	{"R18 sprung, at the limit it may not be asked over while it drives",
	 {ASK(1000, RULE_WHEEL, LEFT, 11, TO_LEFT), ASK(1900, RULE_DRIVE, AHEAD, 21, TO_LEFT | GOES),
	  RENEW(2000, RULE_WHEEL, LEFT, 11, 1, TO_LEFT | GOES),
	  RENEW(3000, RULE_DRIVE, AHEAD, 21, 1, TO_LEFT | GOES),
	  RENEW(3400, RULE_WHEEL, LEFT, 11, 2, TO_LEFT | GOES), TIME(3900, 0), DRIVE(5000, 22),
	  ASK(6100, RULE_WHEEL, LEFT, 12, TO_LEFT | GOES), TIME(6101, TO_LEFT | GOES)},
	 .change = sprung,
	 TWISTED(AHEAD)},

	/* by hand */
	{"R18 what the keeper has untwisted is free",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), KEEPER_UNTWISTS(5000), DRIVE(6000, 22),
	  TIME(7400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 ... as far as the limit",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), KEEPER_UNTWISTS(5000), DRIVE(6000, 22),
	  TIME(8000, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 what a visitor says counts for nothing",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ROW(UNTWISTED, 5000, 0, .axis = 0),
	  ASK(6000, RULE_DRIVE, AHEAD, 22, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 nothing is untwisted while the drive coasts",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), KEEPER_UNTWISTS(4299),
	  ASK(6000, RULE_DRIVE, AHEAD, 22, GOES)},
	 .change = estimate,
	 TWISTED(AHEAD)},
	{"R18 while somebody may wait for the drive it is open",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ASK(4300, RULE_DRIVE, AHEAD, 22, 0),
	  KEEPER_UNTWISTS(4400), ASK(6000, RULE_DRIVE, BACK, 23, RETURNS), TIME(7400, RETURNS)},
	 .change = estimate,
	 FINE},
	{"R18 ... to the other side too",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0), ASK(4300, RULE_DRIVE, AHEAD, 22, 0),
	  KEEPER_UNTWISTS(4400), DRIVE(6000, 23), TIME(7400, GOES)},
	 .change = estimate,
	 FINE},
	{"R18 what waited is over in the very step in which the keeper speaks",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, 0),
	  ASK_FOR(4300, RULE_DRIVE, AHEAD, 22, 100, 0, 0), KEEPER_UNTWISTS(4400), DRIVE(6000, 23),
	  TIME(7400, GOES)},
	 .change = estimate,
	 FINE},

	{"R7 a request heard before the keeper spoke is overtaken",
	 {STEER_LEFT(1000, 11), KEEPER_UNTWISTS(2000),
	  ASK_FOR(2100, RULE_DRIVE, AHEAD, 21, 1500, 1900, GOES)},
	 .change = estimate,
	 .breach = TD_BREACH_REQUEST_REFUSED,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R7 a request heard before that, of who holds already, changes nothing",
	 {STEER_LEFT(1000, 11), KEEPER_UNTWISTS(2000), DRIVE(2100, 21),
	  ASK_FOR(3110, RULE_DRIVE, BACK, 22, 1500, 1900, GOES), TIME(3200, GOES)},
	 .change = estimate,
	 FINE},
	{"R7 where somebody may wait, a request heard before that may be overtaken",
	 {STEER_LEFT(1000, 11), ASK(1900, RULE_DRIVE, AHEAD, 21, 0), KEEPER_UNTWISTS(2000),
	  ASK_FOR(2100, RULE_DRIVE, AHEAD, 22, 1500, 1950, GOES), TIME(2200, GOES)},
	 .change = estimate,
	 FINE},

	/* a sensor */
	{"R18 two counts are beyond the limit",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_OPEN), 0),
	  LEVELS(2100, AT(RULE_OPEN) | AT(RULE_STOP), 0), ASK(3000, RULE_DRIVE, AHEAD, 21, GOES)},
	 .change = sensor,
	 TWISTED(AHEAD)},
	{"R18 one count is not",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_OPEN), 0), ASK(3000, RULE_DRIVE, AHEAD, 21, GOES)},
	 .change = sensor,
	 FINE},
	{"R18 counts come back",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_OPEN), 0),
	  LEVELS(2100, AT(RULE_OPEN) | AT(RULE_STOP), 0), LEVELS(2200, AT(RULE_OPEN), 0),
	  ASK(3000, RULE_DRIVE, AHEAD, 21, GOES)},
	 .change = sensor,
	 FINE},
	{"R18 counts the other way block the other way",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_STOP), 0),
	  LEVELS(2100, AT(RULE_OPEN) | AT(RULE_STOP), 0), LEVELS(2200, AT(RULE_OPEN), 0), DRIVE(3000, 21),
	  RELEASE(4100, RULE_DRIVE, 21, 0), ASK(5000, RULE_DRIVE, BACK, 22, RETURNS)},
	 .change = sensor,
	 TWISTED(BACK)},
	{"R18 a sensor wired the other way round counts the other way",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_STOP), 0),
	  LEVELS(2100, AT(RULE_OPEN) | AT(RULE_STOP), 0), ASK(3000, RULE_DRIVE, AHEAD, 21, GOES)},
	 .change = turned_sensor,
	 TWISTED(AHEAD)},
	{"R18 both contacts at once are two counts of doubt",
	 {STEER_LEFT(1000, 11), LEVELS(2000, AT(RULE_OPEN) | AT(RULE_STOP), 0),
	  ASK(3000, RULE_DRIVE, AHEAD, 21, GOES)},
	 .change = sensor,
	 TWISTED(AHEAD)},
	{"R18 a sensor that stays silent is not believed",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), TIME(4000, GOES)},
	 .change = sensor,
	 TWISTED(AHEAD)},
	{"R18 one contact alone proves nothing",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), LEVELS(3100, AT(RULE_OPEN), GOES), LEVELS(3200, 0, GOES),
	  LEVELS(3300, AT(RULE_OPEN), GOES), LEVELS(3400, 0, GOES),
	  RENEW(4400, RULE_DRIVE, AHEAD, 21, 2, GOES), TIME(5000, GOES)},
	 .change = wide_sensor,
	 TWISTED(AHEAD)},
	{"R18 both contacts one after the other prove that it counts",
	 {STEER_LEFT(1000, 11), DRIVE(2000, 21), LEVELS(3100, AT(RULE_OPEN), GOES), LEVELS(3200, 0, GOES),
	  TIME(3201, GOES), LEVELS(3300, AT(RULE_STOP), GOES), LEVELS(3400, 0, GOES),
	  RENEW(4400, RULE_DRIVE, AHEAD, 21, 2, GOES), TIME(5000, GOES)},
	 .change = wide_sensor,
	 FINE},
	{"R18 between its stops nothing is expected of a sensor",
	 {STEER_LEFT(1000, 11), ASK(1800, RULE_WHEEL, RIGHT, 12, TO_RIGHT), TIME(1950, 0), DRIVE(2000, 21),
	  RENEW(4000, RULE_DRIVE, AHEAD, 21, 2, GOES), RENEW(5400, RULE_DRIVE, AHEAD, 21, 3, GOES)},
	 .change = sensor,
	 FINE},
	{"R18 at its right stop something is",
	 {STEER_RIGHT(1000, 11), DRIVE(2000, 21), TIME(4000, GOES)},
	 .change = sensor,
	 TWISTED(AHEAD)},
	{"R18 while nobody knows the levels nothing is counted",
	 {STEER_LEFT(1000, 11), ROW(LINES_LOST, 2000, 0, .axis = 0), TIME(2050, 0),
	  LEVELS(2100, AT(RULE_OPEN), 0), KEEPER(2200, TD_ALL_AXES, 0), ROW(ARM, 2300, 0, .axis = 0),
	  ASK(3000, RULE_DRIVE, AHEAD, 22, GOES)},
	 .change = sensor,
	 FINE},
};

int main(void)
{
	return monitor_cases_run("monitor_twist", cases, sizeof(cases) / sizeof(cases[0]));
}
