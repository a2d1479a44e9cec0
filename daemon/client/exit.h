/* SPDX-License-Identifier: MIT */
/* The exit codes of tripdog: one table for the program, --help and the man page's test. */
#ifndef TD_DAEMON_CLIENT_EXIT_H
#define TD_DAEMON_CLIENT_EXIT_H

/* clang-format off */
/* X(IDENT, code, "meaning") */
#define TD_EXIT_TABLE(X) \
	X(DONE, 0, "done; hold: held to the end of its time, or the end switch of the way was reached") \
	X(INTERNAL, 1, "a failure in tripdog itself or of its output") \
	X(USAGE, 2, "the command line is wrong, or names an axis or way that there is not") \
	X(NO_CONNECTION, 3, "cannot connect to the daemon") \
	X(REFUSED, 4, "the daemon refused; sentence and remedy are on standard error") \
	X(HOLD_ENDED, 5, "the hold ended early: a stop, a limit, or a signal to tripdog") \
	X(HOLD_TRIPPED, 6, "the hold ended by a trip or the latched stop") \
	X(LOST, 7, "the connection was lost, or the daemon did not answer in time") \
	X(NOTHING, 8, "no such stop is recorded (retell)") \
	X(UNREADABLE, 9, "the trace cannot be read, is damaged, or is none of tripdog's (retell)")
/* clang-format on */

enum td_exit {
#define TD_X(ident, code, ...) TD_EXIT_##ident = (code),
	TD_EXIT_TABLE(TD_X)
#undef TD_X
};

#endif
