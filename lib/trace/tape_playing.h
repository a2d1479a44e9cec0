/* SPDX-License-Identifier: MIT */
/* The state of one playing, shared by what comes before the first value and the values. */
#ifndef TD_TRACE_TAPE_PLAYING_H
#define TD_TRACE_TAPE_PLAYING_H

#include "trace/tape_parts.h"
#include "trace/vcd_reader.h"

/* The comments before the first value, in their order. */
enum td_tape_part {
	TD_TAPE_NO_PART = 0, /* none of ours so far */
	TD_TAPE_HEAD,
	TD_TAPE_CONFIG,
	TD_TAPE_CORE,
	TD_TAPE_RECORD, /* all have been there */
};

struct td_tape_playing {
	const struct td_tape_sink *sink;
	const struct td_config *config; /* the one in use */
	bool stands_in;                 /* it is the caller's */
	enum td_tape_result result;     /* once a callback has stopped the reading: why */
	struct td_error why;
	enum td_tape_part part; /* the last that was there */
	struct td_tape_opening opening;
	bool has_core;
	struct td_snapshot snapshot;
	struct td_keep keep;
	unsigned int signals; /* declared */
	bool lost;            /* entries are missing before the next one */
	bool ended;           /* the mark of the end was there */
	int64_t steps;
	uint64_t next_number;
	td_ns now_ns; /* of the core */
	uint64_t value[TD_TAPE_SIGNALS_MAX];
	struct td_config own; /* the embedded one */
	struct td_config_faults faults;
	char text[TD_VCD_TEXT_MAX];
	uint8_t bytes[TD_TAPE_IMAGE_MAX];
};

/* Stops the playing: damaged, and why. Returns 1, as a callback does. */
int td_tape_fail(struct td_tape_playing *playing, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

/* --- tape_open.c --- */

/* The callbacks up to the first value. */
int td_tape_on_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text);
int td_tape_on_signal(void *ctx, const struct td_vcd_signal *signal);
int td_tape_on_begin(void *ctx);

/* --- tape_values.c --- */

int td_tape_on_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value);

#endif
