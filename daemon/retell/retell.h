/* SPDX-License-Identifier: MIT */
/*
 * The account of a stop (trace/account.h) in sentences for the owner of the machine: when, who asked for what, what
 * moved and for how long, what the switches said, why it stopped and by which rule, what to do, what came after.
 */
#ifndef TD_DAEMON_RETELL_RETELL_H
#define TD_DAEMON_RETELL_RETELL_H

#include "trace/account.h"

enum { TD_TALE_LINES_MAX = 72, TD_TALE_TEXT_MAX = 480 };

/* X(IDENT, "label") in the order they are told. */
#define TD_TALE_TABLE(X)                                                                                     \
	X(WHEN, "when")                                                                                      \
	X(ASKED, "asked for")                                                                                \
	X(MOTION, "motion")                                                                                  \
	X(WHY, "why")                                                                                        \
	X(RULE, "rule")                                                                                      \
	X(SWITCHES, "switches")                                                                              \
	X(REMEDY, "what to do")                                                                              \
	X(AFTER, "afterwards")                                                                               \
	X(TRACE, "trace")

enum td_tale_part {
#define TD_X(ident, label) TD_TALE_##ident,
	TD_TALE_TABLE(TD_X)
#undef TD_X
};

struct td_tale_line {
	enum td_tale_part part; /* several lines in a row may belong to one */
	char text[TD_TALE_TEXT_MAX];
};

struct td_tale {
	char headline[TD_TALE_TEXT_MAX];
	bool grave; /* a trip or the latched stop */
	size_t lines;
	struct td_tale_line line[TD_TALE_LINES_MAX];
};

const char *td_tale_label(enum td_tale_part part);

/* Tells an account that was found. `config` is that of its trace, `now_ns` the wall clock (nanoseconds since 1970, 0 =
 * leave out how long ago it was), `shown_as` the file. Times of day are those of the local time zone. Never fails; what
 * is too long is cut. */
void td_tale_tell(struct td_tale *tale, const struct td_account *account, const struct td_config *config,
		  int64_t now_ns, const char *shown_as);

#endif
