/* SPDX-License-Identifier: MIT */
/*
 * The one table of what may stand in a configuration file. It feeds the parser, the checks, the
 * defaults, the messages, --explain-config, the man page and the tests; nothing repeats it.
 *
 * Ranges that belong to the rules come from core/limits.h.
 */
#ifndef TD_CONFIG_KEY_TABLE_H
#define TD_CONFIG_KEY_TABLE_H

#include "config/config.h"
#include "core/limits.h"

#define TD_IN_MS(ns) ((ns) / TD_MS(1))
#define TD_IN_S(ns)  ((ns) / TD_S(1))

/* clang-format off */

/* X(IDENT, "first word of the heading", names that follow it, "names in the heading", "help") */
#define TD_SECTION_TABLE(X) \
	X(MACHINE, "machine", 0, "", \
	  "The machine as a whole. May be left out.") \
	X(KEEPER, "keeper", 0, "", \
	  "The socket of the keeper, who owns the machine. May be left out.") \
	X(VISITOR, "visitor", 0, "", \
	  "The socket of visitors, who may drive but not configure. May be left out.") \
	X(TURNS, "turns", 0, "", \
	  "How visitors share the machine. May be left out: then whoever asks first moves what is free.") \
	X(TWIST, "twist", 0, "", \
	  "The cable of a machine that drives on one: how far it may turn the same way. May be left out.") \
	X(TRACE, "trace", 0, "", \
	  "What is kept of everything that happens, in the directory traces of state_dir. May be left out.") \
	X(AXIS, "axis", 1, " NAME", \
	  "One reversible motor behind one bridge. One section for each axis; their order numbers the axes.") \
	X(WAY, "way", 2, " AXIS WAY", \
	  "One way of an axis. Every axis has two such sections.") \
	X(SWITCH, "switch", 1, " NAME", \
	  "One contact: an end switch, the emergency-stop input or a contact of the swivel. Their order numbers the switches.")

/* X(IDENT, "placeholder"): the types of values; value.c has one check for each. */
#define TD_TYPE_TABLE(X) \
	X(TEXT, "text") \
	X(PATH, "path") \
	X(NAME, "name") \
	X(GROUP, "group") \
	X(PLACE, "place") \
	X(NUMBER, "number") \
	X(MODE, "digits") \
	X(CHOICE, "choice") \
	X(WAYS, "name name") \
	X(PAIR, "name name") \
	X(BARS, "conditions") \
	X(QUIET, "spans")

/* X(IDENT, "when the key must, may and must not be given") */
#define TD_NEED_TABLE(X) \
	X(REQUIRED, "required") \
	X(OPTIONAL, "may be left out") \
	X(BENCH, "required with backend = bench, refused otherwise") \
	X(GPIO, "refused with backend = bench, whose board has no such line") \
	X(TRAVEL, "required with end_switch, refused without") \
	X(END, "refused without end_switch") \
	X(HOLD, "required without end_switch, refused with one") \
	X(SHORT_TIME, "required with duty = short-time, refused otherwise") \
	X(INTERMITTENT, "required with duty = intermittent, refused otherwise") \
	X(INTERMITTENT_MAY, "refused without duty = intermittent") \
	X(RATED, "refused with duty = continuous") \
	X(CABLE, "required with source = estimate or sensor, refused otherwise") \
	X(ESTIMATE, "refused without source = estimate") \
	X(SENSOR, "required with source = sensor, refused otherwise") \
	X(OTHER_END, "refused where the other way of the axis has no end_switch")

/* X(SECTION, IDENT, "key", TYPE, "unit", min, max, NEED, "default" or NULL, "help")
 *
 * min and max count what the unit says: of a text its bytes, of ways and pairs the names, of bars the conditions, of quiet hours the spans,
 * of a place the offset. A mode sets at least the bits of min and at most those of max. A choice has its
 * words in the unit column, in the order of the enum they stand for, whose first and last value are
 * min and max. */
#define TD_KEY_TABLE(X) \
	X(MACHINE, NAME, "name", TEXT, "bytes", 1, 63, OPTIONAL, "unnamed machine", \
	  "What people call the machine.") \
	X(MACHINE, BACKEND, "backend", CHOICE, "gpio|bench", TD_BACKEND_GPIO, TD_BACKEND_BENCH, OPTIONAL, "gpio", \
	  "Where the lines are: gpio for real ones, bench for a simulated board.") \
	X(MACHINE, BOARD, "board", PATH, "bytes", 1, TD_PATH_MAX - 1, BENCH, NULL, \
	  "Socket of the simulated board.") \
	X(MACHINE, STATE_DIR, "state_dir", PATH, "bytes", 1, TD_PATH_MAX - 1, OPTIONAL, "/var/lib/tripdog", \
	  "Directory for what survives restarts, such as the latched stop. It must exist.") \
	X(MACHINE, EMERGENCY_STOP, "emergency_stop", NAME, "bytes", 1, TD_NAME_MAX - 1, OPTIONAL, NULL, \
	  "Switch section of the emergency-stop input: the auxiliary contact of a wired emergency stop that cuts " \
	  "the motor power by itself. This program is no substitute for one.") \
	X(MACHINE, OUTLIVING_OUTPUTS, "outliving_outputs", CHOICE, "refuse|accept", TD_OUTLIVING_REFUSE, \
	  TD_OUTLIVING_ACCEPT, OPTIONAL, "refuse", \
	  "Where the kernel lets outputs stay as they were when their process ends, a motor may run on after a " \
	  "crash: the machine is not armed, unless this says accept. Better is dtparam=strict_gpiod in " \
	  "config.txt of a Raspberry Pi, and pull-down resistors at the bridge inputs in any case.") \
	X(MACHINE, HEARTBEAT, "heartbeat", PLACE, "offset", 0, TD_OFFSET_MAX, GPIO, NULL, \
	  "Line of a heartbeat for an external dead-man circuit that cuts the motor power: while the machine is " \
	  "armed it changes at least every 10 ms, and only after a whole cycle of the program.") \
	X(MACHINE, SUPPLY_MA, "supply_ma", NUMBER, "mA", 1, TD_SUPPLY_WEIGHT_MAX_MA, OPTIONAL, "1000000", \
	  "What the motor supply bears. The sum of start_ma and run_ma of all powered axes stays within it: who " \
	  "does not fit waits in line.") \
	X(MACHINE, START_GAP_MS, "start_gap_ms", NUMBER, "ms", 0, TD_IN_MS(TD_SUPPLY_GAP_MAX_NS), OPTIONAL, "0", \
	  "Between the starts of two axes that draw on the supply. A reversal counts as two starts.") \
	X(MACHINE, LEASE_MS, "lease_ms", NUMBER, "ms", TD_IN_MS(TD_LEASE_MIN_NS), TD_IN_MS(TD_LEASE_MAX_NS), \
	  OPTIONAL, "300", \
	  "How long a request lasts unless it is renewed, where the request itself does not say.") \
	X(MACHINE, POLL_MS, "poll_ms", NUMBER, "ms", 1, 50, OPTIONAL, "5", \
	  "How often all switches are read again while anything moves, beside their edges.") \
	X(MACHINE, QUIET_HOURS, "quiet_hours", QUIET, "spans", 1, TD_QUIET_SPANS_MAX, OPTIONAL, NULL, \
	  "Local time in which no axis moves that is loud, whoever asks: 22:00-06:30 for every night, sat 23:00-08:00 or " \
	  "mon-fri 22:00-06:30 for the nights that begin on these days. Separated by commas.") \
	X(MACHINE, VISITOR_RESETS_PER_HOUR, "visitor_resets_per_hour", NUMBER, "resets", 0, TD_VISITOR_RESETS_MAX, \
	  OPTIONAL, "6", \
	  "How often visitors, all together, may reset a trip within any hour; 0 means never. Only a trip at the travel " \
	  "limit is theirs to reset, and a way that trips twice in a row is locked until the keeper resets it.") \
	\
	X(KEEPER, SOCKET, "socket", PATH, "bytes", 1, TD_PATH_MAX - 1, OPTIONAL, "/run/tripdog/keeper.sock", \
	  "Where the keeper's clients connect.") \
	X(KEEPER, MODE, "mode", MODE, "octal", 0600, 0660, OPTIONAL, "0600", \
	  "Permission bits of the socket: who may connect is the keeper.") \
	X(KEEPER, GROUP, "group", GROUP, "bytes", 1, TD_NAME_MAX - 1, OPTIONAL, NULL, \
	  "Group of the system that the socket is given to, for a mode that lets a group in. The daemon's user must be a " \
	  "member. Left out: the daemon's own.") \
	\
	X(VISITOR, SOCKET, "socket", PATH, "bytes", 1, TD_PATH_MAX - 1, OPTIONAL, "/run/tripdog/visitor.sock", \
	  "Where the visitors' clients connect.") \
	X(VISITOR, MODE, "mode", MODE, "octal", 0600, 0666, OPTIONAL, "0660", \
	  "Permission bits of the socket: who may connect is a visitor.") \
	X(VISITOR, GROUP, "group", GROUP, "bytes", 1, TD_NAME_MAX - 1, OPTIONAL, NULL, \
	  "Group of the system that the socket is given to, as for the keeper's.") \
	X(VISITOR, CONNECTIONS, "connections", NUMBER, "connections", 1, TD_VISITORS_MAX, OPTIONAL, "64", \
	  "How many visitors may be connected at one time; one more is told so and turned away. Keepers have places of " \
	  "their own.") \
	X(VISITOR, PER_USER, "per_user", NUMBER, "connections", 0, TD_VISITORS_MAX, OPTIONAL, "16", \
	  "How many of these one user of the system may have, so that no user takes the places of all. How fast a user connects " \
	  "and sends is limited as well, over all of its connections. 0 means that nobody is limited so.") \
	X(VISITOR, GATEWAY, "gateway", TEXT, "bytes", 1, 31, OPTIONAL, NULL, \
	  "Name or number of a user of the system that speaks for many visitors, such as that of a web server: per_user does not " \
	  "hold for it. A name that the system does not know is warned of at the start.") \
	\
	X(TURNS, LENGTH_S, "length_s", NUMBER, "s", 0, 3600, OPTIONAL, "0", \
	  "How long a visitor's turn lasts while others wait. Without a turn a visitor moves nothing; the keeper needs " \
	  "none. 0 means no turns: every visitor may ask at any time.") \
	X(TURNS, IDLE_S, "idle_s", NUMBER, "s", 0, 3600, OPTIONAL, "30", \
	  "A visitor who has asked for no motion for so long loses the turn to whoever waits. 0 means never.") \
	X(TURNS, PAUSE_S, "pause_s", NUMBER, "s", 0, 600, OPTIONAL, "3", \
	  "Between two turns no visitor moves anything for so long.") \
	X(TURNS, PER_USER, "per_user", NUMBER, "places", 0, TD_TURN_PLACES_MAX, OPTIONAL, "0", \
	  "Places in line that one user of the system may have. 0 means as many as there are: right where all " \
	  "visitors come through one gateway.") \
	\
	X(TWIST, SOURCE, "source", CHOICE, "estimate|sensor|none", TD_TWIST_ESTIMATE, TD_TWIST_UNLIMITED, OPTIONAL, \
	  "none", \
	  "How the machine's net turns are known: by a swivel sensor at the cable, by an estimate from the time it " \
	  "was driven which way, or not at all. An estimate drifts: look at the cable often, and say 'untwisted'.") \
	X(TWIST, LIMIT_DEGREES, "limit_degrees", NUMBER, "degrees", 1, TD_DEGREES_MAX, CABLE, NULL, \
	  "Net turn to either side that the cable bears, 360 for each whole turn. The way that would add to it is " \
	  "refused then, the way back is not.") \
	X(TWIST, AHEAD, "ahead", PAIR, "names", 2, 2, CABLE, NULL, \
	  "Axis that drives the machine, and its way ahead.") \
	X(TWIST, LEFT, "left", PAIR, "names", 2, 2, CABLE, NULL, \
	  "Axis that steers it, and the way that turns it left when it drives ahead.") \
	X(TWIST, STEERING, "steering", CHOICE, "stays|springs", 0, 1, OPTIONAL, "stays", \
	  "Let go, the steering stays where it is, or springs back to straight within its rest_ms. One that stays is " \
	  "only known after it was driven to its stop once; a start of the program forgets it.") \
	X(TWIST, CIRCLE_LEFT_MS, "circle_left_ms", NUMBER, "ms", TD_CIRCLE_MIN_MS, TD_CIRCLE_MAX_MS, CABLE, NULL, \
	  "Measured time of one whole circle ahead with the steering at its left stop and a fresh battery: the " \
	  "circumference of its turning circle divided by its speed.") \
	X(TWIST, CIRCLE_RIGHT_MS, "circle_right_ms", NUMBER, "ms", TD_CIRCLE_MIN_MS, TD_CIRCLE_MAX_MS, CABLE, NULL, \
	  "The same at its right stop.") \
	X(TWIST, DOUBT_PERCENT, "doubt_percent", NUMBER, "percent", 0, 100, ESTIMATE, "10", \
	  "What the estimate can be wrong by: all the time it is driven the limit shrinks by this share of what the " \
	  "smaller circle would have turned, until somebody looks at the cable and says 'untwisted'.") \
	X(TWIST, CONTACTS, "contacts", PAIR, "names", 2, 2, SENSOR, NULL, \
	  "Switch sections of the two contacts of the swivel. To the left the first one leads; exchange the two where " \
	  "it counts the wrong way.") \
	X(TWIST, STEPS_PER_TURN, "steps_per_turn", NUMBER, "steps", 1, TD_TWIST_STEPS_MAX, SENSOR, NULL, \
	  "Changes of the two contacts together in one turn of the swivel: four for each time that one of them " \
	  "closes.") \
	\
	X(TRACE, SIZE_KB, "size_kb", NUMBER, "KiB", 0, TD_TRACE_KB_MAX, OPTIONAL, "32768", \
	  "Room for the files that record all the time, together; the oldest go. 0: none are written, only those of " \
	  "trips, of which the newest hundred stay.") \
	X(TRACE, DAILY_KB, "daily_kb", NUMBER, "KiB", 0, TD_TRACE_KB_MAX, OPTIONAL, "5120", \
	  "What may be written in a day (UTC), to spare flash memory. A quarter is kept for trips; when the rest is " \
	  "spent, recording pauses until the day is over. 0: nothing is written.") \
	\
	X(AXIS, WAYS, "ways", WAYS, "names", 2, 2, REQUIRED, NULL, \
	  "Names of the two ways, separated by a blank. Position 0 is the end of the first one.") \
	X(AXIS, DEAD_TIME_MS, "dead_time_ms", NUMBER, "ms", TD_IN_MS(TD_DEAD_TIME_MIN_NS), \
	  TD_IN_MS(TD_DEAD_TIME_MAX_NS), OPTIONAL, "250", \
	  "Both bridge inputs stay low this long between opposite ways. Long enough for the motor to lose its " \
	  "speed.") \
	X(AXIS, REST_MS, "rest_ms", NUMBER, "ms", TD_IN_MS(TD_REST_MIN_NS), TD_IN_MS(TD_REST_MAX_NS), OPTIONAL, \
	  "250", \
	  "Time off before the same way starts again. So long after a cut the axis counts as moving.") \
	X(AXIS, RESTORED_MS, "restored_ms", NUMBER, "ms", 0, TD_IN_MS(TD_RESTORED_MAX_NS), OPTIONAL, "0", \
	  "Of an axis without end switches: standing still this long gives its hold limit back. 0 means never: " \
	  "only the opposite way does. Not above 0 where the axis has an end switch.") \
	X(AXIS, LOUD, "loud", CHOICE, "no|yes", 0, 1, OPTIONAL, "no", \
	  "Loud: it stands still in quiet_hours.") \
	X(AXIS, START_MA, "start_ma", NUMBER, "mA", 0, TD_SUPPLY_WEIGHT_MAX_MA, OPTIONAL, "0", \
	  "What the motor draws while it starts: at most its stall current. Not below run_ma. 0 for both: the " \
	  "axis neither waits for the supply nor makes others wait.") \
	X(AXIS, RUN_MA, "run_ma", NUMBER, "mA", 0, TD_SUPPLY_WEIGHT_MAX_MA, OPTIONAL, "0", \
	  "What the motor draws while it runs.") \
	X(AXIS, START_WINDOW_MS, "start_window_ms", NUMBER, "ms", 0, TD_IN_MS(TD_SUPPLY_START_MAX_NS), OPTIONAL, \
	  "300", \
	  "So long after it was powered the axis counts with start_ma.") \
	X(AXIS, DUTY, "duty", CHOICE, "continuous|short-time|intermittent", TD_DUTY_S1, TD_DUTY_S3, OPTIONAL, \
	  "continuous", \
	  "What the motor is rated for (duty types S1, S2, S3 of IEC 60034-1). A model of its winding cuts it " \
	  "when it has been powered for longer than that, and lets it rest.") \
	X(AXIS, DUTY_TIME_S, "duty_time_s", NUMBER, "s", 1, TD_IN_S(TD_RATING_CYCLE_MAX_NS), SHORT_TIME, NULL, \
	  "Operating time from cold.") \
	X(AXIS, DUTY_PERCENT, "duty_percent", NUMBER, "percent", 1, 99, INTERMITTENT, NULL, \
	  "Share of each cycle that the motor may be powered.") \
	X(AXIS, DUTY_CYCLE_S, "duty_cycle_s", NUMBER, "s", 10, TD_IN_S(TD_RATING_CYCLE_MAX_NS), INTERMITTENT_MAY, \
	  "600", \
	  "Length of a cycle.") \
	X(AXIS, HEATING_S, "heating_s", NUMBER, "s", TD_IN_S(TD_RATING_TAU_MIN_NS), \
	  TD_IN_S(TD_RATING_TAU_MAX_NS), RATED, "600", \
	  "Time constant of the winding while powered: after so long it has made 63 % of its rise.") \
	X(AXIS, COOLING_S, "cooling_s", NUMBER, "s", TD_IN_S(TD_RATING_TAU_MIN_NS), \
	  TD_IN_S(TD_RATING_TAU_MAX_NS), RATED, "1200", \
	  "The same while resting; longer, because nothing fans it.") \
	X(AXIS, RESTART_PERCENT, "restart_percent", NUMBER, "percent", 1, 100, RATED, "80", \
	  "Once cut for its temperature the motor starts again when the model is below this.") \
	X(AXIS, MINUTE_S, "minute_s", NUMBER, "s", 1, 60, OPTIONAL, "60", \
	  "Powered time allowed within any minute.") \
	X(AXIS, TEN_MINUTES_S, "ten_minutes_s", NUMBER, "s", 1, 600, OPTIONAL, "600", \
	  "Powered time allowed within any ten minutes.") \
	X(AXIS, DAY_S, "day_s", NUMBER, "s", 1, 86400, OPTIONAL, "86400", \
	  "Powered time allowed within any 24 hours.") \
	\
	X(WAY, INPUT, "input", PLACE, "offset", 0, TD_OFFSET_MAX, REQUIRED, NULL, \
	  "Line of the bridge input that drives this way.") \
	X(WAY, ACCEPT_RISKY_LINE, "accept_risky_line", CHOICE, "no|yes", 0, 1, OPTIONAL, "no", \
	  "Some lines of a Raspberry Pi are pulled up or used by the serial console before any program runs: " \
	  "with a bridge input on one of them the machine is not armed, unless this says yes.") \
	X(WAY, END_SWITCH, "end_switch", NAME, "bytes", 1, TD_NAME_MAX - 1, OPTIONAL, NULL, \
	  "Switch section of the end switch that this way runs into. Each switch serves one way.") \
	X(WAY, TRAVEL_MS, "travel_ms", NUMBER, "ms", TD_IN_MS(TD_REACH_MIN_NS), TD_IN_MS(TD_REACH_MAX_NS), \
	  TRAVEL, NULL, \
	  "Measured time from the other end to this one.") \
	X(WAY, MARGIN_PERCENT, "margin_percent", NUMBER, "percent", 100, 1000, END, "130", \
	  "This end not reached within this percentage of travel_ms is a trip.") \
	X(WAY, EARLY_PERCENT, "early_percent", NUMBER, "percent", 0, 95, END, "50", \
	  "From the other end, this end reached in less than this percentage of travel_ms is a trip. 0 switches the " \
	  "check off.") \
	X(WAY, LEAVE_MS, "leave_ms", NUMBER, "ms", TD_IN_MS(TD_LEAVE_MIN_NS), TD_IN_MS(TD_LEAVE_MAX_NS), \
	  OTHER_END, "500", \
	  "Driving this way, the end switch of the other way must clear within this time, or it is a trip.") \
	X(WAY, SLOWER_WARN_PERCENT, "slower_warn_percent", NUMBER, "percent", 0, TD_TREND_SLOWER_MAX_PPM / 10000, \
	  END, "20", \
	  "A way that takes so much longer than it did at first is warned of, after three travels in a row and until " \
	  "it is back within half of it. Only travels from the other end to this one without a stop count; the first " \
	  "ten are learned. Nothing stops for it. 0 switches the warning off.") \
	X(WAY, HOLD_LIMIT_MS, "hold_limit_ms", NUMBER, "ms", TD_IN_MS(TD_REACH_MIN_NS), \
	  TD_IN_MS(TD_REACH_MAX_NS), HOLD, NULL, \
	  "Without an end switch the way is cut after this much powered time. For a motor that runs against a " \
	  "stop, its stroke time.") \
	X(WAY, BARS, "bars", BARS, "conditions", 1, TD_BARS_MAX, OPTIONAL, NULL, \
	  "The way is not powered while one of these holds for another axis. Separated by commas: " \
	  "moving AXIS (it moves or coasts), at-end AXIS WAY (it is at that end), off-end AXIS WAY (it is not).") \
	\
	X(SWITCH, LINE, "line", PLACE, "offset", 0, TD_OFFSET_MAX, REQUIRED, NULL, \
	  "Line the contact is wired to.") \
	X(SWITCH, CONTACT, "contact", CHOICE, "normally-closed|normally-open", TD_CONTACT_NC, TD_CONTACT_NO, \
	  OPTIONAL, "normally-closed", \
	  "Kind of contact. Of a normally-closed one a broken wire reads as active.") \
	X(SWITCH, PULL, "pull", CHOICE, "up|down", TD_PULL_UP, TD_PULL_DOWN, OPTIONAL, "up", \
	  "Where the line goes while the contact is open: up for a contact to ground, down for one to the supply " \
	  "of the logic.") \
	X(SWITCH, CONFIRM_MS, "confirm_ms", NUMBER, "ms", 0, TD_IN_MS(TD_CONFIRM_MAX_NS), OPTIONAL, "2", \
	  "The contact counts as active after this long without a break. 0 means at once.") \
	X(SWITCH, CLEAR_MS, "clear_ms", NUMBER, "ms", TD_IN_MS(TD_CLEAR_MIN_NS), TD_IN_MS(TD_CLEAR_MAX_NS), OPTIONAL, "50", \
	  "The contact counts as clear after this long without a break.") \
	X(SWITCH, CHATTER_CHANGES, "chatter_changes", NUMBER, "changes", 0, TD_CHATTER_CHANGES_MAX, OPTIONAL, "6", \
	  "A contact that changes more often than this within chatter_window_ms trips its axis; the emergency-stop " \
	  "input makes the latched stop. Pulses too short to be confirmed count, changes within 20 ms of a counted " \
	  "one do not. 0 switches the check off; 1 to 3 are refused. Contacts of [twist] are not watched.") \
	X(SWITCH, CHATTER_WINDOW_MS, "chatter_window_ms", NUMBER, "ms", TD_IN_MS(TD_CHATTER_WINDOW_MIN_NS), \
	  TD_IN_MS(TD_CHATTER_WINDOW_MAX_NS), OPTIONAL, "1000", \
	  "See chatter_changes. A trip for it can be reset once the contact has been quiet for as long.")

/* X(IDENT, "word", names that follow it): the conditions of `bars`. */
#define TD_BAR_TABLE(X) \
	X(MOVING, "moving", 1) \
	X(AT_END, "at-end", 2) \
	X(OFF_END, "off-end", 2)

/* clang-format on */

enum {
	TD_OFFSET_MAX = 65535,      /* the kernel counts the lines of a chip in 16 bits (from memory) */
	TD_PLACE_PART_MAX = 31,     /* bytes of a label or line name: GPIO_MAX_NAME_SIZE - 1, linux/gpio.h */
	TD_CONFIG_FILE_MAX = 65536, /* bytes of a file */
	TD_CONFIG_LINE_MAX = 190,   /* bytes of a line, without its end; inih would cut at 200 */
	TD_SECTIONS_MAX = 128,      /* more than any valid file has: 6 + 16 axes * 3 + 32 switches */
	TD_DEGREES_MAX = TD_TWIST_LIMIT_MAX_UTURN / 1000000 * 360,
	TD_CIRCLE_MIN_MS = 1000000000 / TD_TWIST_RATE_MAX_PPM_S, /* as fast as can be counted */
	TD_CIRCLE_MAX_MS = 600000,
	TD_TRACE_KB_MAX = 1024 * 1024 * 1024, /* 1 TiB */
};

#endif
