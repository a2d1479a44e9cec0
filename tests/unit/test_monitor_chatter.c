/* SPDX-License-Identifier: MIT */
/* R8, R10, R17: the monitor counts the changes of a contact by itself. More than four in a second are chatter here. */
#include <stddef.h>

#include "tests/support/monitor_case.h"

enum { LOWER, RAISE };
enum { BACK, AHEAD };
enum { CLOSE, OPEN };

static void watch(struct td_rules *rules)
{
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		rules->sw[sw].chatter = (struct td_chatter_rules){4, TD_S(1)};
	rules->sw[RULE_STOP].confirm_ns = TD_MS(2);
}

static void watch_longer(struct td_rules *rules)
{
	watch(rules);
	rules->sw[RULE_TOP].chatter.window_ns = TD_MS(1001);
}

/* A pulse of half a millisecond; so short none is ever confirmed. */
#define PULSE(at, active, sw, out) LEVELS(at, (active) | AT(sw), out), LEVELS((at) + 0.5, active, out)

#define UP    ON(RULE_BOOM, RAISE)
#define RISES ASK(1000, RULE_BOOM, RAISE, 11, UP)
#define FOUR_PULSES(out)                                                                                     \
	PULSE(1100, 0, RULE_TOP, out), PULSE(1200, 0, RULE_TOP, out), PULSE(1300, 0, RULE_TOP, out),         \
		PULSE(1400, 0, RULE_TOP, out)
#define STOP_PULSES(at, out)   PULSE(at, 0, RULE_STOP, out), PULSE((at) + 30, 0, RULE_STOP, out)
#define DRIVES                 ON(RULE_DRIVE, AHEAD)
#define CLOSES                 ON(RULE_VENT, CLOSE)
#define BOTTOM_PULSES(at, out) PULSE(at, 0, RULE_BOTTOM, out), PULSE((at) + 30, 0, RULE_BOTTOM, out)

static struct monitor_case cases[] = {
	{"R8 power on with as many changes as are allowed is fine",
	 {RISES, FOUR_PULSES(UP), TIME(1600, UP)},
	 .change = watch,
	 FINE},
	{"R8 power on after one change more",
	 {RISES, FOUR_PULSES(UP), LEVELS(2099, AT(RULE_TOP), UP)},
	 .change = watch,
	 .breach = TD_BREACH_CHATTER,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R8 one change more, but a window later, is fine",
	 {RISES, FOUR_PULSES(UP), LEVELS(2100, AT(RULE_TOP), UP)},
	 .change = watch,
	 FINE},
	{"R8 a window that is longer by a millisecond",
	 {RISES, FOUR_PULSES(UP), LEVELS(2100, AT(RULE_TOP), UP)},
	 .change = watch_longer,
	 .breach = TD_BREACH_CHATTER,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R8 changes that follow within 20 ms are the bounce of one",
	 {RISES, FOUR_PULSES(UP), LEVELS(1419.9, AT(RULE_TOP), UP), LEVELS(1419.95, 0, UP)},
	 .change = watch,
	 FINE},
	{"R8 20 ms later is another one",
	 {RISES, FOUR_PULSES(UP), LEVELS(1420, AT(RULE_TOP), UP)},
	 .change = watch,
	 .breach = TD_BREACH_CHATTER,
	 .axis = RULE_BOOM,
	 .way = RAISE},
	{"R8 a contact that is not watched",
	 {RISES, FOUR_PULSES(UP), LEVELS(1420, AT(RULE_TOP), UP), LEVELS(1421, 0, UP)},
	 FINE},
	{"R8 a start after an end of the axis chattered",
	 {FOUR_PULSES(0), LEVELS(1500, AT(RULE_TOP), 0), LEVELS(1501, 0, 0),
	  ASK(3000, RULE_BOOM, LOWER, 12, ON(RULE_BOOM, LOWER))},
	 .change = watch,
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = LOWER},
	{"R8 a reset while the contact has not been quiet changes nothing",
	 {FOUR_PULSES(0), LEVELS(1500, AT(RULE_TOP), 0), LEVELS(1501, 0, 0), KEEPER(2499, RULE_BOOM, 0),
	  ASK(3000, RULE_BOOM, LOWER, 12, ON(RULE_BOOM, LOWER))},
	 .change = watch,
	 .breach = TD_BREACH_TRIPPED,
	 .axis = RULE_BOOM,
	 .way = LOWER},
	{"R8 a start after a reset that waited for a quiet contact is fine",
	 {FOUR_PULSES(0), LEVELS(1500, AT(RULE_TOP), 0), LEVELS(1501, 0, 0), KEEPER(2500, RULE_BOOM, 0),
	  ASK(3000, RULE_BOOM, LOWER, 12, ON(RULE_BOOM, LOWER))},
	 .change = watch,
	 FINE},
	{"R8 another axis may go on",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, DRIVES), PULSE(1100, 0, RULE_TOP, DRIVES),
	  PULSE(1200, 0, RULE_TOP, DRIVES), PULSE(1300, 0, RULE_TOP, DRIVES),
	  PULSE(1400, 0, RULE_TOP, DRIVES), PULSE(1500, 0, RULE_TOP, DRIVES)},
	 .change = watch,
	 FINE},
	{"R10 power on after the emergency-stop input chattered",
	 {ASK(1000, RULE_DRIVE, AHEAD, 11, DRIVES), STOP_PULSES(1100, DRIVES), STOP_PULSES(1200, DRIVES),
	  LEVELS(1300, AT(RULE_STOP), DRIVES)},
	 .change = watch,
	 .breach = TD_BREACH_LATCHED,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R10 a reset while the emergency-stop input has not been quiet changes nothing",
	 {STOP_PULSES(1100, 0), STOP_PULSES(1200, 0), PULSE(1300, 0, RULE_STOP, 0),
	  KEEPER(2299, TD_ALL_AXES, 0), ASK(3000, RULE_DRIVE, AHEAD, 11, DRIVES)},
	 .change = watch,
	 .breach = TD_BREACH_LATCHED,
	 .axis = RULE_DRIVE,
	 .way = AHEAD},
	{"R10 a start after a reset that waited for a quiet emergency-stop input is fine",
	 {STOP_PULSES(1100, 0), STOP_PULSES(1200, 0), PULSE(1300, 0, RULE_STOP, 0),
	  KEEPER(2300, TD_ALL_AXES, 0), ASK(3000, RULE_DRIVE, AHEAD, 11, DRIVES)},
	 .change = watch,
	 FINE},
	{"R17 power on although the end that is needed is in doubt",
	 {LEVELS(500, AT(RULE_BOTTOM), 0), ASK(2000, RULE_VENT, CLOSE, 11, CLOSES), LEVELS(2100, 0, CLOSES),
	  LEVELS(2120, AT(RULE_BOTTOM), CLOSES), LEVELS(2140, 0, CLOSES),
	  LEVELS(2160, AT(RULE_BOTTOM), CLOSES), LEVELS(2180, 0, CLOSES)},
	 .change = watch,
	 .breach = TD_BREACH_BARRED,
	 .axis = RULE_VENT,
	 .way = CLOSE},
	{"R17 an end that is left before it is in doubt",
	 {LEVELS(500, AT(RULE_BOTTOM), 0), ASK(2000, RULE_VENT, CLOSE, 11, CLOSES), LEVELS(2100, 0, CLOSES),
	  LEVELS(2120, AT(RULE_BOTTOM), CLOSES), LEVELS(2140, 0, CLOSES),
	  LEVELS(2160, AT(RULE_BOTTOM), CLOSES), TIME(3000, CLOSES)},
	 .change = watch,
	 FINE},
	{"R15 levels that are seen anew are no changes",
	 {FOUR_PULSES(0), ROW(LINES_LOST, 1450, 0, .seq = 0), LEVELS(1460, 0, 0),
	  KEEPER(1461, TD_ALL_AXES, 0), ROW(ARM, 1470, 0, .seq = 0), LEVELS(1500, AT(RULE_TOP), 0),
	  LEVELS(1500.5, 0, 0), ASK(1600, RULE_BOOM, RAISE, 12, UP)},
	 .change = watch,
	 FINE},
};

int main(void)
{
	return monitor_cases_run("monitor_chatter", cases, sizeof(cases) / sizeof(cases[0]));
}
