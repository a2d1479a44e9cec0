/* SPDX-License-Identifier: MIT */
/*
 * The tables for people: what `tripdogd --explain-SUBJECT` prints, and what the manual pages are built around.
 *
 * X(IDENT, "subject", "meaning")
 */
#ifndef TD_DAEMON_EXPLAIN_H
#define TD_DAEMON_EXPLAIN_H

#include <stdbool.h>
#include <stdio.h>

/* clang-format off */
#define TD_SUBJECT_TABLE(X) \
	X(CONFIG, "config", "every key with unit, range, default and meaning") \
	X(PROTOCOL, "protocol", "every method, parameter, notification and error code of the socket") \
	X(CAUSES, "causes", "every cause of a stop, trip or refusal, and what to do")
/* clang-format on */

enum td_subject {
#define TD_X(ident, ...) TD_SUBJECT_##ident,
	TD_SUBJECT_TABLE(TD_X)
#undef TD_X
		TD_SUBJECTS
};

/* Plain text in 78 columns, or mdoc(7) to stand in place of the line @TABLE@ of a page's frame in docs/. Errors stay in
 * the stream (ferror). */
void td_explain(enum td_subject subject, bool mdoc, FILE *out);

void td_explain_protocol(bool mdoc, FILE *out);
void td_explain_causes(bool mdoc, FILE *out);

#endif
