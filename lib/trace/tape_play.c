/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "trace/tape_playing.h"

int td_tape_fail(struct td_tape_playing *playing, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	(void)vsnprintf(playing->why.text, sizeof(playing->why.text), format, args);
	va_end(args);
	playing->result = TD_TAPE_BAD;
	return 1;
}

static void sum_up(const struct td_tape_playing *playing, const struct td_vcd_summary *vcd,
		   struct td_tape_summary *summary)
{
	*summary = (struct td_tape_summary){
		.cut_off = !playing->ended,
		.steps = playing->steps,
		.changes = vcd->changes,
		.bytes = vcd->bytes,
		.last_ns = vcd->last_ns,
	};
}

static enum td_tape_result play(struct td_tape_playing *playing, FILE *in, const char *shown_as,
				struct td_tape_summary *summary, struct td_error *err)
{
	const struct td_vcd_sink sink = {
		.ctx = playing,
		.text = td_tape_on_text,
		.signal = td_tape_on_signal,
		.begin = td_tape_on_begin,
		.change = td_tape_on_change,
	};
	struct td_vcd_summary vcd;
	enum td_vcd_result result = td_vcd_read(in, shown_as, &sink, &vcd, err);

	sum_up(playing, &vcd, summary);
	if (result == TD_VCD_BAD)
		return TD_TAPE_BAD;
	if (result == TD_VCD_READ)
		return TD_TAPE_READ;
	if (playing->result == TD_TAPE_BAD)
		td_error_set(err, "%s: before byte %" PRId64 ": %s", shown_as, vcd.bytes, playing->why.text);
	if (playing->result == TD_TAPE_FOREIGN)
		td_error_set(err, "%s: %s", shown_as, playing->why.text);
	return playing->result;
}

enum td_tape_result td_tape_play(FILE *in, const char *shown_as, const struct td_config *config,
				 const struct td_tape_sink *sink, struct td_tape_summary *summary,
				 struct td_error *err)
{
	struct td_tape_playing *playing = calloc(1, sizeof(*playing));

	*summary = (struct td_tape_summary){.cut_off = true};
	if (!playing) {
		td_error_set(err, "%s: no memory to play a recording", shown_as);
		return TD_TAPE_BAD;
	}
	playing->sink = sink;
	playing->config = config;
	playing->stands_in = config != NULL;
	playing->result = TD_TAPE_STOPPED;
	enum td_tape_result result = play(playing, in, shown_as, summary, err);

	free(playing);
	return result;
}
