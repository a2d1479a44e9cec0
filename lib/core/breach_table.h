/* SPDX-License-Identifier: MIT */
/*
 * What the monitor can find: the closed list of ways in which power can break the rule book.
 *
 * X(IDENT, RULE, "sentence for people")
 *
 * The order is the order of weight: of several breaches at once the first in this list is named.
 */
#ifndef TD_CORE_BREACH_TABLE_H
#define TD_CORE_BREACH_TABLE_H

/* clang-format off */
#define TD_BREACH_TABLE(X) \
	X(NONE, 0, "every rule held") \
	X(NO_SUCH_OUTPUT, 1, "an output that belongs to no axis is high") \
	X(BOTH_INPUTS, 1, "both inputs of the bridge are high") \
	X(LEVELS_UNKNOWN, 14, "powered before the levels of the switches are known") \
	X(NOT_ARMED, 14, "powered while the machine is not armed") \
	X(LATCHED, 10, "powered while the latched stop is on") \
	X(BOTH_ENDS, 8, "powered although both end switches are active") \
	X(CHATTER, 8, "powered although an end switch of the axis chatters") \
	X(WRONG_END, 8, "powered on although the end switch of the other way became active") \
	X(EARLY_END, 8, "powered on although its end switch became active long before it can have come there") \
	X(TRIPPED, 11, "powered between a trip and its reset") \
	X(RESETS_SPENT, 11, "powered after more resets by visitors than there may be within an hour") \
	X(WAY_LOCKED, 11, "powered although the way is locked") \
	X(INTO_END, 2, "powered toward an end that is confirmed as active") \
	X(START_INTO_END, 2, "started toward an end that is or may be active") \
	X(LEAVE_TIME, 5, "powered away from an end that has not cleared in time") \
	X(TRAVEL_TIME, 4, "powered beyond the travel limit of the way") \
	X(STROKE_TIME, 6, "powered beyond the stroke of the way") \
	X(HEAT, 12, "powered although the winding has passed its limit") \
	X(BUDGET, 12, "powered longer than allowed within a minute, ten minutes or a day") \
	X(WARM_START, 12, "started before the winding had cooled down") \
	X(SPENT_START, 12, "started although too little time is left within a minute, ten minutes or a day") \
	X(BARRED, 17, "powered although another axis forbids the way") \
	X(DISTURBS, 17, "started although an axis that moves needs this one to stand still") \
	X(TWISTED, 18, "powered although driving so twists the cable beyond its limit") \
	X(REVERSED, 3, "started within the dead time of the opposite way") \
	X(RESTARTED, 3, "started within the rest time of the same way") \
	X(NOT_ASKED, 7, "powered although no request covers it now") \
	X(REQUEST_REFUSED, 7, "powered by a request that came too late, out of order or out of range") \
	X(HOLD_ENDED, 11, "powered by a hold that had ended, or was refused, and was not made again") \
	X(OVERLOAD, 13, "started although the supply cannot bear it") \
	X(START_GAP, 13, "started too soon after another start")
/* clang-format on */

#endif
