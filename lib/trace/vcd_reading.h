/* SPDX-License-Identifier: MIT */
/* The state of one reading, shared by the two halves of the reader: declarations and values. */
#ifndef TD_TRACE_VCD_READING_H
#define TD_TRACE_VCD_READING_H

#include "trace/vcd_reader.h"
#include "trace/vcd_scan.h"

enum { TD_VCD_SLOTS = 2 * TD_VCD_SIGNALS_MAX }; /* of the table of codes; a power of two */

struct td_vcd_declared {
	uint64_t code;
	unsigned int width;
	enum td_vcd_kind kind;
	int next; /* next signal with the same code, -1 = none */
};

struct td_vcd_reading {
	struct td_vcd_scan scan;
	const char *shown_as;
	const struct td_vcd_sink *sink;
	struct td_vcd_summary *summary;
	struct td_error *err;
	int64_t step_num; /* a step is step_num / step_den ns; 0 = no $timescale yet */
	int64_t step_den;
	td_ns now_ns;
	bool in_dump;
	unsigned int depth;
	size_t scope_end[TD_VCD_DEPTH_MAX + 1]; /* length of `scope` at each depth */
	char scope[TD_VCD_PATH_MAX];
	unsigned int signals;
	struct td_vcd_declared signal[TD_VCD_SIGNALS_MAX];
	int slot[TD_VCD_SLOTS];         /* index of the first signal of a code + 1; 0 = free */
	char text[TD_VCD_TEXT_MAX + 8]; /* room for the " $end" behind the longest one */
};

/* What a step of the reading says; the first three are those of td_vcd_read(). */
enum td_vcd_step {
	TD_VCD_STEP_BAD = TD_VCD_BAD,
	TD_VCD_STEP_ON = 0,
	TD_VCD_STEP_STOPPED = TD_VCD_STOPPED,
	TD_VCD_STEP_CUT,  /* the end of the file is missing */
	TD_VCD_STEP_DONE, /* this part is complete */
};

/* Puts file, byte and line before the sentence, for the word last scanned. Returns TD_VCD_STEP_BAD. */
enum td_vcd_step td_vcd_fail(struct td_vcd_reading *reading, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

/* What a scan that gave no word means; never TD_VCD_STEP_ON. */
enum td_vcd_step td_vcd_no_word(struct td_vcd_reading *reading, enum td_vcd_scanned scanned);

/* Reads up to "$end" and hands the text to the sink. */
enum td_vcd_step td_vcd_take_text(struct td_vcd_reading *reading, enum td_vcd_text kind);

/* The next word; TD_VCD_STEP_ON if there is one. */
enum td_vcd_step td_vcd_take_word(struct td_vcd_reading *reading);

/* All declarations up to and with $enddefinitions; TD_VCD_STEP_DONE where that went well. */
enum td_vcd_step td_vcd_take_declarations(struct td_vcd_reading *reading);

/* Index of the first signal with this code, -1 = none. */
int td_vcd_find(const struct td_vcd_reading *reading, uint64_t code);

#endif
