/* SPDX-License-Identifier: MIT */
/*
 * What the daemon sends unasked to a connection that follows: feeds what is sent, the documentation and the tests.
 *
 * X(IDENT, "name", "help")
 */
#ifndef TD_WIRE_NOTICE_TABLE_H
#define TD_WIRE_NOTICE_TABLE_H

/* clang-format off */
#define TD_NOTICE_TABLE(X) \
	X(NEWS, "news", \
	  "something happened: its number `n`, the time, its cause with `kind`, and whom and what it concerns") \
	X(AXIS, "axis", \
	  "one axis of `status`, as it is now") \
	X(TURN, "turn", \
	  "the member `turn` of `status`, as it is now for this connection") \
	X(MACHINE, "machine", \
	  "the rest of `status` that changes, as it is now")
/* clang-format on */

#endif
