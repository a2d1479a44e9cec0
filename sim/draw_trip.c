/* SPDX-License-Identifier: MIT */
#include "sim/draw_trip.h"

#include <stdbool.h>
#include <string.h>

#include "core/cause.h"
#include "sim/draw_track.h"
#include "trace/layout.h"

struct search {
	bool own;
	bool cause[TD_VCD_SIGNALS_MAX]; /* these signals tell causes, */
	bool known[TD_VCD_SIGNALS_MAX]; /* and have had a value, so that another one is news */
	bool found;
	td_ns at_ns;
};

static int on_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	struct search *search = ctx;

	(void)at_ns;
	if (kind == TD_VCD_VERSION)
		search->own = strncmp(text, TD_TRACE_VERSION, strlen(TD_TRACE_VERSION)) == 0;
	return 0;
}

static int on_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct search *search = ctx;

	if (signal->index < TD_VCD_SIGNALS_MAX)
		search->cause[signal->index] = td_track_role_of(signal, search->own) == TD_TRACK_CAUSE;
	return 0;
}

static int on_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct search *search = ctx;

	if (signal >= TD_VCD_SIGNALS_MAX || !search->cause[signal])
		return 0;
	if (search->known[signal] &&
	    td_cause_kind((enum td_cause)td_trace_cause_of(value.bits)) == TD_KIND_TRIP) {
		search->found = true;
		search->at_ns = at_ns;
	}
	search->known[signal] = true;
	return 0;
}

int td_draw_last_trip(FILE *in, const char *shown_as, td_ns *at_ns, struct td_error *err)
{
	struct search search = {.own = false};
	const struct td_vcd_sink sink = {
		.ctx = &search, .text = on_text, .signal = on_signal, .change = on_change};
	struct td_vcd_summary summary;

	if (td_vcd_read(in, shown_as, &sink, &summary, err) == TD_VCD_BAD)
		return -1;
	if (!search.found)
		return td_error_set(err, "%s: no trip is recorded in it; leave out --trip to see the whole",
				    shown_as);
	*at_ns = search.at_ns;
	return 0;
}
