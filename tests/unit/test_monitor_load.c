/* SPDX-License-Identifier: MIT */
/* The monitor finds breaches of duty and supply: R12, R13. */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LEFT, RIGHT };
enum { BACK, AHEAD };

#define BACKWARD ON(RULE_DRIVE, BACK)
#define FORWARD  ON(RULE_DRIVE, AHEAD)
#define TURN     ON(RULE_WHEEL, LEFT)

/* To 200 % with 1 s, so the limit comes after ln 2 = 693.147 ms, and as long it takes to halve. */
static void warm(struct td_rules *rules)
{
	struct td_duty_rules *duty = &rules->axis[RULE_DRIVE].duty;

	duty->inf_ppm = 2000000;
	duty->tau_on_ns = duty->tau_off_ns = TD_S(1);
	duty->restart_ppm = 500000;
}

static void warm_and_long(struct td_rules *rules)
{
	warm(rules);
	rules->axis[RULE_DRIVE].duty.least_ns = TD_MS(400);
}

static void a_second_a_minute(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_MINUTE] = TD_S(1);
}

static void two_seconds_in_ten_minutes(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_TEN_MINUTES] = TD_S(2);
}

static void two_seconds_a_day(struct td_rules *rules)
{
	rules->axis[RULE_DRIVE].duty.allowed_ns[TD_BUDGET_DAY] = TD_S(2);
}

static void small_supply(struct td_rules *rules)
{
	rules->supply.budget_ma = 3000;
	rules->supply.axis[RULE_DRIVE] = (struct td_supply_axis_rules){2000, 800, TD_MS(300)};
	rules->supply.axis[RULE_WHEEL] = (struct td_supply_axis_rules){1001, 500, TD_MS(300)};
}

static void large_supply(struct td_rules *rules)
{
	small_supply(rules);
	rules->supply.budget_ma = 5000;
}

static void gaps(struct td_rules *rules)
{
	large_supply(rules);
	rules->supply.budget_ma = 9000;
	rules->supply.gap_ns = TD_MS(500);
}

#define COOLED(at, which, who, out) ROW(COOLED, at, out, .axis = (which), .role = (who))
#define DRIVEN_UNTIL(at)            ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), RELEASE(at, RULE_DRIVE, 11, 0)

static struct monitor_case cases[] = {
	/* R12: the winding */
	{"R12 powered beyond the limit of the winding",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693.147, FORWARD), TIME(1693.148, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_HEAT,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 the heat of one way is that of the other", /* 0.659, then 0.442: 443.4 ms are left */
	 {DRIVEN_UNTIL(1400), ASK(1800, RULE_DRIVE, BACK, 12, BACKWARD), TIME(2243.3, BACKWARD),
	  TIME(2243.6, BACKWARD)},
	 .change = warm,
	 .breach = TD_BREACH_HEAT,
	 .axis = RULE_DRIVE,
	 .way = BACK},
	{"R12 after a cut for heat a start before it has cooled down",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  ASK(2385, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_WARM_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 after a cut for heat a start once it has cooled down is fine",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  ASK(2387, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm},
	{"R12 one that was let go need not cool down so far",
	 {DRIVEN_UNTIL(1692.9), ASK(2000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(2234, FORWARD)},
	 .change = warm},
	{"R12 a start is the end of having been too hot",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0), ASK(2387, RULE_DRIVE, AHEAD, 12, FORWARD),
	  RELEASE(2700, RULE_DRIVE, 12, 0), ASK(3000, RULE_DRIVE, AHEAD, 13, FORWARD)},
	 .change = warm},
	{"R12 a start so warm that the shortest run does not fit", /* 0.708, and 1.134 after 400 ms */
	 {DRIVEN_UNTIL(1650), ASK(1950, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm_and_long,
	 .breach = TD_BREACH_WARM_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 once started a run may be as short as it likes",
	 {DRIVEN_UNTIL(1650), ASK(3000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(3560, FORWARD)},
	 .change = warm_and_long},
	{"R12 power that ended late is judged no more, but it must cool down for longer",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(2400, 0), /* 1.507, which takes 1103 ms */
	  ASK(3500, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_WARM_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 what was too much counts for the next run too", /* 1.507, then 0.496 after 1111 ms: 408.1 ms are left */
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(2400, 0), ASK(3511, RULE_DRIVE, AHEAD, 12, FORWARD),
	  TIME(3918, FORWARD), TIME(3920, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_HEAT,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},

	/* R12: the keeper's word */
	{"R12 where the keeper vouches for it an axis is cold",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  COOLED(2000, RULE_DRIVE, TD_ROLE_KEEPER, 0), ASK(2001, RULE_DRIVE, AHEAD, 12, FORWARD),
	  TIME(2694.1, FORWARD)},
	 .change = warm},
	{"R12 ... and heats up again",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  COOLED(2000, TD_ALL_AXES, TD_ROLE_KEEPER, 0), ASK(2001, RULE_DRIVE, AHEAD, 12, FORWARD),
	  TIME(2694.2, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_HEAT,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 a visitor's word makes nothing cold",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  COOLED(2000, RULE_DRIVE, TD_ROLE_VISITOR, 0), ASK(2001, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_WARM_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 another axis that is cold is another axis",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(1693, 0),
	  COOLED(2000, RULE_WHEEL, TD_ROLE_KEEPER, 0), ASK(2001, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_WARM_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 nothing that is powered is believed to be cold",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), COOLED(1500, TD_ALL_AXES, TD_ROLE_KEEPER, FORWARD),
	  TIME(1694, FORWARD)},
	 .change = warm,
	 .breach = TD_BREACH_HEAT,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},

	/* R12: the budgets */
	{"R12 short runs add up within a minute",
	 {DRIVEN_UNTIL(1600), ASK(2000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(2400, FORWARD),
	  TIME(2400.000001, FORWARD)},
	 .change = a_second_a_minute,
	 .breach = TD_BREACH_BUDGET,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 a start with less time left than the shortest run takes",
	 {DRIVEN_UNTIL(1990.1), ASK(3000, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = a_second_a_minute,
	 .breach = TD_BREACH_SPENT_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 a start with just the time left that the shortest run takes is fine",
	 {DRIVEN_UNTIL(1990), ASK(3000, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = a_second_a_minute},
	{"R12 a start before enough time has left the window",
	 {ASK(2000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(3000, 0),
	  ASK(61999, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = a_second_a_minute,
	 .breach = TD_BREACH_SPENT_START,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 what leaves the window makes room for what runs",
	 {ASK(2000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(3000, 0),
	  ASK(62000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(63000, FORWARD)},
	 .change = a_second_a_minute},
	{"R12 ... and no more than that",
	 {ASK(2000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(3000, 0),
	  ASK(62000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(63000.1, FORWARD)},
	 .change = a_second_a_minute,
	 .breach = TD_BREACH_BUDGET,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 powered beyond the budget of ten minutes",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(2000, 0),
	  ASK(300000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(301000, FORWARD), TIME(301000.1, FORWARD)},
	 .change = two_seconds_in_ten_minutes,
	 .breach = TD_BREACH_BUDGET,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R12 after ten minutes it is forgotten",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(2000, 0),
	  ASK(660000, RULE_DRIVE, AHEAD, 12, FORWARD), RENEW(661400, RULE_DRIVE, AHEAD, 12, 1, FORWARD),
	  TIME(662000, FORWARD)},
	 .change = two_seconds_in_ten_minutes},
	{"R12 powered beyond the budget of a day",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), TIME(2000, 0),
	  ASK(80000000, RULE_DRIVE, AHEAD, 12, FORWARD), TIME(80001000, FORWARD), TIME(80001000.1, FORWARD)},
	 .change = two_seconds_a_day,
	 .breach = TD_BREACH_BUDGET,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},

	/* R13: the sum of the weights */
	{"R13 a start that is too much beside a starting axis",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), ASK(1299, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = small_supply,
	 .breach = TD_BREACH_OVERLOAD,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 a start once the other axis runs is fine",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), ASK(1300, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = small_supply},
	{"R13 a start once the other axis is off is fine",
	 {DRIVEN_UNTIL(1100), ASK(1101, RULE_WHEEL, LEFT, 12, TURN)},
	 .change = small_supply},
	{"R13 two starts at once that are too much together",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, 0), ASK(1001, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = small_supply,
	 .breach = TD_BREACH_OVERLOAD,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 a reversal weighs two starts",
	 {DRIVEN_UNTIL(1500), ASK(2199, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2250, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = large_supply,
	 .breach = TD_BREACH_OVERLOAD,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 after its start window a reversal weighs what any running axis does",
	 {DRIVEN_UNTIL(1500), ASK(2199, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2499, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = large_supply},
	{"R13 one that has come to rest is no reversal",
	 {DRIVEN_UNTIL(1500), ASK(2200, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2250, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = large_supply},
	{"R13 whether it has come to rest counts from the write",
	 {DRIVEN_UNTIL(1500), WRITTEN(1510, 0), ASK(2205, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2250, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = large_supply,
	 .breach = TD_BREACH_OVERLOAD,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 the same way again is no reversal",
	 {DRIVEN_UNTIL(1500), ASK(1900, RULE_DRIVE, AHEAD, 12, FORWARD),
	  ASK(1950, RULE_WHEEL, LEFT, 13, FORWARD | TURN)},
	 .change = large_supply},
	{"R13 a reversal heavier than the budget may have the supply to itself",
	 {DRIVEN_UNTIL(1500), ASK(1900, RULE_DRIVE, BACK, 12, BACKWARD)},
	 .change = small_supply},
	{"R13 ... to itself",
	 {DRIVEN_UNTIL(1500), ASK(1550, RULE_WHEEL, LEFT, 13, TURN),
	  ASK(1900, RULE_DRIVE, BACK, 12, BACKWARD | TURN)},
	 .change = small_supply,
	 .breach = TD_BREACH_OVERLOAD,
	 .axis = RULE_DRIVE,
	 .way = BACK},
	{"R13 an axis without weight may start in any case",
	 {DRIVEN_UNTIL(1500), ASK(1900, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(1900, RULE_BOOM, LEFT, 13, BACKWARD | ON(RULE_BOOM, LEFT))},
	 .change = small_supply},

	/* R13: the gap */
	{"R13 a start within the gap",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), ASK(1499.999999, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = gaps,
	 .breach = TD_BREACH_START_GAP,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 a start after the gap is fine",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD), ASK(1500, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = gaps},
	{"R13 two starts at once are within the gap",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, 0), ASK(1001, RULE_WHEEL, LEFT, 12, FORWARD | TURN)},
	 .change = gaps,
	 .breach = TD_BREACH_START_GAP,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R13 the gap counts for the same axis too",
	 {DRIVEN_UNTIL(1100), ASK(1450, RULE_DRIVE, AHEAD, 12, FORWARD)},
	 .change = gaps,
	 .breach = TD_BREACH_START_GAP,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R13 after a reversal the gap is twice as long",
	 {DRIVEN_UNTIL(1500), ASK(1900, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2899, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = gaps,
	 .breach = TD_BREACH_START_GAP,
	 .axis = RULE_WHEEL,
	 .way = LEFT},
	{"R13 ... but no longer",
	 {DRIVEN_UNTIL(1500), ASK(1900, RULE_DRIVE, BACK, 12, BACKWARD),
	  ASK(2900, RULE_WHEEL, LEFT, 13, BACKWARD | TURN)},
	 .change = gaps},
	{"R13 an axis without weight neither keeps a gap nor asks for one",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, FORWARD),
	  ASK(1400, RULE_BOOM, LEFT, 12, FORWARD | ON(RULE_BOOM, LEFT)),
	  ASK(1500, RULE_WHEEL, LEFT, 13, FORWARD | ON(RULE_BOOM, LEFT) | TURN)},
	 .change = gaps},
};

int main(void)
{
	return monitor_cases_run("monitor_load", cases, sizeof(cases) / sizeof(cases[0]));
}
