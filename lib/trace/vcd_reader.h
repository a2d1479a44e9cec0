/* SPDX-License-Identifier: MIT */
/*
 * Reads a trace, ours or another program's, from front to back in bounded memory and hands what it
 * finds to callbacks in the order of the file.
 *
 * What is accepted: the four-state format of IEEE 1364-2005 clause 18 within the limits of vcd.h; several
 * signals sharing one identifier code (each gets the change); values before the first time (they count
 * as time 0); a scalar value for a vector. What is refused, with byte and line: everything else, among
 * it times that run backwards, codes nobody declared, a missing $timescale.
 *
 * A file whose end is missing is no error: a last word without its line end, or a block without its $end, is left
 * out and `cut_off` is set. A zero byte ends the file, too: a power cut leaves zeros where bytes were promised, and
 * perhaps later ones behind them, which nobody can tell from when they are. A file that ends before
 * $enddefinitions is an error, for it holds no values.
 */
#ifndef TD_TRACE_VCD_READER_H
#define TD_TRACE_VCD_READER_H

#include <stdio.h>

#include "core/time.h"
#include "error.h"
#include "trace/vcd.h"

enum td_vcd_kind {
	TD_VCD_LOGIC = 0, /* has a value at any time */
	TD_VCD_EVENT,     /* happens; each change is one */
	TD_VCD_REAL,
};

struct td_vcd_signal {
	unsigned int index; /* 0, 1, 2 ... in the order of the file */
	unsigned int width; /* 1 for TD_VCD_EVENT */
	enum td_vcd_kind kind;
	const char *scope; /* enclosing scopes joined by '.'; "" = none */
	const char *name;  /* without a range "[3:0]", with a single bit's "[3]" */
};

enum td_vcd_text { TD_VCD_DATE, TD_VCD_VERSION, TD_VCD_COMMENT };

/* What the reader calls; any may be NULL. Strings live until the callback returns. 0 = go on, anything
 * else stops the reading. Times are nanoseconds since the file's time 0, rounded down. */
struct td_vcd_sink {
	void *ctx;
	int (*text)(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text);
	int (*signal)(void *ctx, const struct td_vcd_signal *signal);
	int (*begin)(void *ctx);             /* the declarations have ended */
	int (*time)(void *ctx, td_ns at_ns); /* a time was named; changes at it follow */
	int (*change)(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value);
	int (*real)(void *ctx, td_ns at_ns, unsigned int signal, double value);
};

struct td_vcd_summary {
	bool cut_off; /* the end of the file is missing */
	unsigned int signals;
	int64_t changes; /* value changes read */
	int64_t bytes;
	td_ns last_ns; /* last time named; 0 if none */
};

enum td_vcd_result { TD_VCD_READ = 0, TD_VCD_STOPPED = 1, TD_VCD_BAD = -1 };

/* Reads `in` to its end. `shown_as` stands for the file in messages. TD_VCD_BAD comes with a sentence in
 * *err; *summary is filled in every case. Blocks as long as reading does. `in` stays the caller's. */
enum td_vcd_result td_vcd_read(FILE *in, const char *shown_as, const struct td_vcd_sink *sink,
			       struct td_vcd_summary *summary, struct td_error *err);

#endif
