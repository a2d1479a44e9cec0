/* SPDX-License-Identifier: MIT */
/* The exit codes of tripdogd: one table feeds --help, the man page's test and the code.
 * X(IDENT, CODE, "meaning") */
#ifndef TD_DAEMON_EXIT_CODES_H
#define TD_DAEMON_EXIT_CODES_H

#define TD_EXIT_TABLE(X)                                                                                     \
	X(OK, 0, "ended because it was asked to, or nothing to complain about")                              \
	X(INTERNAL, 1, "an error of the program itself")                                                     \
	X(USAGE, 2, "wrong options")                                                                         \
	X(CONFIG, 3, "the configuration file has faults")                                                    \
	X(START, 4, "could not start: sockets, state directory or processes")                                \
	X(LINES, 5, "the lines could not be had, or were lost while running")                                \
	X(FRONT, 6, "the front process ended by itself")                                                     \
	X(GUARD, 7, "the guard process ended by itself")                                                     \
	X(NOT_CLEARED, 8, "--clear-lines could not bring every output low")                                  \
	X(SCRIBE, 9, "the scribe process ended by itself")

enum td_exit {
#define TD_X(ident, code, meaning) TD_EXIT_##ident = (code),
	TD_EXIT_TABLE(TD_X)
#undef TD_X
};

#endif
