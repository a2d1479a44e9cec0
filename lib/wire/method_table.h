/* SPDX-License-Identifier: MIT */
/*
 * The methods of the socket and their parameters: feeds the parser, `describe`, the documentation's check
 * and the tests.
 *
 * X(IDENT, "name", ROLE, WITHOUT_ID, "help")
 *	ROLE: who may. VISITOR means everybody.
 *	WITHOUT_ID: what becomes of a notification. IGNORED: nothing, since a refusal could not be
 *	told. DONE: it is carried out all the same, since it can only end motion.
 *
 * Y(METHOD, member, TYPE, least, most, NEED, "help")
 *	member: its name on the wire, and the field of struct td_args it is read into.
 *	TYPE: NAME (string, least ... most bytes) or NUMBER (whole, least ... most).
 */
#ifndef TD_WIRE_METHOD_TABLE_H
#define TD_WIRE_METHOD_TABLE_H

/* clang-format off */
#define TD_METHOD_TABLE(X) \
	X(HELLO, "hello", VISITOR, IGNORED, \
	  "agree on the version of the protocol, learn the limits, and get a token for requests") \
	X(DESCRIBE, "describe", VISITOR, IGNORED, \
	  "names, ways, switches, methods, lease and cautions of this machine") \
	X(STATUS, "status", VISITOR, IGNORED, \
	  "the whole machine as it is now") \
	X(FOLLOW, "follow", VISITOR, IGNORED, \
	  "the whole machine as it is now, then every change as a notification") \
	X(REQUEST, "request", VISITOR, IGNORED, \
	  "start a hold (seq 0) or renew it (seq rising); the axis moves only while it is renewed") \
	X(RELEASE, "release", VISITOR, DONE, \
	  "let go of a hold") \
	X(STOP, "stop", VISITOR, DONE, \
	  "end motion now, of one axis or of all") \
	X(LATCH, "latch", VISITOR, DONE, \
	  "make the latched stop: everything off until a reset, over restarts and power loss") \
	X(RESET, "reset", VISITOR, IGNORED, \
	  "clear the trip of one axis (and, as keeper, its locks), or latched stop and all trips; never moves anything") \
	X(COOLED, "cooled", KEEPER, IGNORED, \
	  "vouch that a motor is cold and rested: its winding model and budgets begin anew; never moves anything") \
	X(UNTWISTED, "untwisted", KEEPER, IGNORED, \
	  "the cable was looked at and is straight: count its turns from zero; never moves anything") \
	X(JOIN, "join", VISITOR, IGNORED, \
	  "take a place in the line of visitors; only a visitor whose turn has come moves anything") \
	X(LEAVE, "leave", VISITOR, DONE, \
	  "give up the place in line, or the turn and every hold with it") \
	X(NEXT, "next", KEEPER, IGNORED, \
	  "end the turn of the visitor who has it; the next in line follows after the pause") \
	X(CLOSE, "close", KEEPER, IGNORED, \
	  "close the machine to visitors: the turn ends, the line stays") \
	X(OPEN, "open", KEEPER, IGNORED, \
	  "open the machine to visitors again") \
	X(METRICS, "metrics", VISITOR, IGNORED, \
	  "what was counted and measured since the start, as text for programs that watch machines; not in a batch")

#define TD_PARAM_TABLE(Y) \
	Y(HELLO, protocol, NUMBER, 1, UINT32_MAX, REQUIRED, "newest version of the protocol that the client speaks") \
	Y(HELLO, protocol_least, NUMBER, 1, UINT32_MAX, OPTIONAL, \
	  "oldest version that it speaks as well; without it, only the newest") \
	Y(FOLLOW, since, NUMBER, 0, TD_WHOLE_MAX, OPTIONAL, \
	  "number of the last news you know: first come those after it, as far as they are kept") \
	Y(FOLLOW, instance, NAME, 1, TD_NAME_MAX - 1, OPTIONAL, \
	  "which life of the daemon that number is of, as `events` of its answer said") \
	Y(REQUEST, axis, NAME, 1, TD_NAME_MAX - 1, REQUIRED, "name of the axis") \
	Y(REQUEST, way, NAME, 1, TD_NAME_MAX - 1, REQUIRED, "name of one of its two ways") \
	Y(REQUEST, hold, NUMBER, 1, UINT32_MAX, REQUIRED, \
	  "number of the hold; each new hold of a connection has a higher one") \
	Y(REQUEST, seq, NUMBER, 0, UINT32_MAX, REQUIRED, "0 starts the hold, then higher with each renewal") \
	Y(REQUEST, lease_ms, NUMBER, TD_LEASE_MIN_NS / 1000000, TD_LEASE_MAX_NS / 1000000, OPTIONAL, \
	  "how long this request lasts unless renewed; without it, the configured lease") \
	Y(REQUEST, token, NAME, TD_TOKEN_CHARS, TD_TOKEN_CHARS, REQUIRED, \
	  "newest token this connection was given, by hello or by the answer to a request") \
	Y(RELEASE, axis, NAME, 1, TD_NAME_MAX - 1, REQUIRED, "name of the axis") \
	Y(RELEASE, hold, NUMBER, 1, UINT32_MAX, REQUIRED, "number of the hold") \
	Y(STOP, axis, NAME, 1, TD_NAME_MAX - 1, OPTIONAL, "name of the axis; without it, all axes") \
	Y(RESET, axis, NAME, 1, TD_NAME_MAX - 1, OPTIONAL, \
	  "name of the axis; without it, the latched stop and all axes, which is the keeper's alone") \
	Y(COOLED, axis, NAME, 1, TD_NAME_MAX - 1, OPTIONAL, "name of the axis; without it, all axes") \
	Y(METRICS, form, NAME, 1, TD_NAME_MAX - 1, OPTIONAL, "openmetrics (so without it) or text")
/* clang-format on */

#endif
