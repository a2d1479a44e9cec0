/* SPDX-License-Identifier: MIT */
#include "sim/draw_track.h"

#include <inttypes.h>
#include <string.h>

#include "core/axis.h"
#include "core/cause.h"
#include "trace/layout.h"

enum { WORDS = 512 };

const char *td_track_last_part(const char *path)
{
	const char *dot = strrchr(path, '.');

	return dot ? dot + 1 : path;
}

static bool is(const char *a, const char *b)
{
	return strcmp(a, b) == 0;
}

static enum td_track_role own_bit(const struct td_vcd_signal *signal)
{
	const char *scope = td_track_last_part(signal->scope);

	if (is(scope, TD_TRACE_SWITCHES) &&
	    strncmp(signal->name, TD_TRACE_ACTIVE, strlen(TD_TRACE_ACTIVE)) == 0)
		return TD_TRACK_ACTIVE;
	if (is(scope, TD_TRACE_SWITCHES) || is(scope, TD_TRACE_MACHINE) || is(scope, TD_TRACE_EVENT))
		return TD_TRACK_LEVEL;
	return strncmp(signal->name, TD_TRACE_ASK, strlen(TD_TRACE_ASK)) == 0 ? TD_TRACK_HOLD
									      : TD_TRACK_OUTPUT;
}

bool td_track_is_inner(const struct td_vcd_signal *signal)
{
	const char *scope = td_track_last_part(signal->scope);

	if (is(scope, TD_TRACE_MACHINE))
		return is(signal->name, TD_TRACE_LATCH);
	return (is(scope, TD_TRACE_EVENT) && !is(signal->name, TD_TRACE_LOST)) ||
	       (is(scope, TD_TRACE_CLIENTS) && !is(signal->name, TD_TRACE_REFUSED));
}

/* Vectors of our own. */
static enum td_track_role own_number(const struct td_vcd_signal *signal)
{
	const char *scope = td_track_last_part(signal->scope);

	if (is(scope, TD_TRACE_EVENT))
		return is(signal->name, TD_TRACE_LOST) ? TD_TRACK_LOST : TD_TRACK_NUMBER;
	if (is(scope, TD_TRACE_CLIENTS))
		return is(signal->name, TD_TRACE_REFUSED) ? TD_TRACK_CAUSE : TD_TRACK_NUMBER;
	if (is(signal->name, TD_TRACE_STATE))
		return TD_TRACK_STATE;
	if (is(signal->name, TD_TRACE_CAUSE))
		return TD_TRACK_CAUSE;
	return is(signal->name, TD_TRACE_POSITION) ? TD_TRACK_POSITION : TD_TRACK_NUMBER;
}

enum td_track_role td_track_role_of(const struct td_vcd_signal *signal, bool own)
{
	if (signal->kind == TD_VCD_REAL)
		return TD_TRACK_NOTHING;
	if (signal->kind == TD_VCD_EVENT)
		return TD_TRACK_MOMENT;
	if (!own)
		return signal->width == 1 ? TD_TRACK_LEVEL : TD_TRACK_NUMBER;
	if (signal->width == 1)
		return own_bit(signal);
	return own_number(signal);
}

void td_track_state(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns, uint64_t state,
		    const char *way, int trip)
{
	static const struct {
		enum td_look look;
		const char *words;
	} known[TD_AXIS_STATES] = {
		[TD_AXIS_TRIPPED] = {TD_LOOK_CROSSED, "tripped"}, [TD_AXIS_STILL] = {TD_LOOK_LINE, "still"},
		[TD_AXIS_COAST] = {TD_LOOK_DOTTED, "coasts"},     [TD_AXIS_WAIT] = {TD_LOOK_SLANTED, "waits"},
		[TD_AXIS_RUN] = {TD_LOOK_SOLID, "runs"},
	};
	char words[WORDS];

	if (to_ns <= from_ns)
		return;
	if (state >= TD_AXIS_STATES) {
		(void)snprintf(words, sizeof(words), "state %" PRIu64, state);
		td_drawing_add_span(drawing, row, from_ns, to_ns, TD_LOOK_PLAIN, words);
		return;
	}
	(void)snprintf(words, sizeof(words), "%s", known[state].words);
	if (state == TD_AXIS_RUN && way)
		(void)snprintf(words, sizeof(words), "%s", way);
	if (state == TD_AXIS_TRIPPED && trip)
		(void)snprintf(words, sizeof(words), "tripped: %s", td_cause_info((enum td_cause)trip)->name);
	td_drawing_add_span(drawing, row, from_ns, to_ns, known[state].look, words);
	td_drawing_explain(drawing, known[state].look, state == TD_AXIS_RUN ? "powered" : known[state].words);
}

void td_track_cause(struct td_drawing *drawing, td_ns at_ns, int row, const char *axis, int cause)
{
	const struct td_cause_info *info = td_cause_info((enum td_cause)cause);
	char words[WORDS];

	if (cause == TD_CAUSE_NONE || cause == TD_CAUSE_RENEWED || cause == TD_CAUSE_LEVELS_SEEN)
		return;
	if (td_cause_known(cause))
		(void)snprintf(words, sizeof(words), "%s: %s (%s%s%s)", axis, info->sentence, info->name,
			       info->rule[0] ? ", " : "", info->rule);
	else
		(void)snprintf(words, sizeof(words), "%s: cause %d, which this program does not know", axis,
			       cause);
	td_drawing_add_mark(drawing, at_ns, row, info->kind == TD_KIND_TRIP ? TD_MARK_GRAVE : TD_MARK_PLAIN,
			    words);
}

/* --- numbers -------------------------------------------------------------------------------------- */

static void number_words(struct td_vcd_value value, unsigned int width, char *out, size_t size)
{
	uint64_t number = width < 64 ? value.bits & ((UINT64_C(1) << width) - 1) : value.bits;
	char digits[TD_VCD_WIDTH_MAX + 1];

	if (td_vcd_same((struct td_vcd_value){0, value.odd}, td_vcd_number(0), width)) {
		(void)snprintf(out, size, "%" PRIu64, number);
		return;
	}
	td_vcd_digits(value, width, digits);
	(void)snprintf(out, size, "%s", digits);
}

static td_ns end_of(const struct td_track *track, size_t index, td_ns to_ns)
{
	return index + 1 < track->pasts ? track->past[index + 1].at_ns : to_ns;
}

void td_track_numbers(struct td_drawing *drawing, const struct td_track *track, td_ns window_ns, td_ns to_ns)
{
	const td_ns quick_ns = window_ns / 60;
	char first[WORDS / 4];
	char last[WORDS / 4];
	char words[WORDS];

	for (size_t i = 0; i < track->pasts; i++) {
		td_ns from_ns = track->past[i].at_ns;
		size_t begin = i;
		enum td_look look = TD_LOOK_PLAIN;

		while (i + 1 < track->pasts && end_of(track, i, to_ns) - track->past[i].at_ns < quick_ns)
			i++;
		if (i > begin && end_of(track, i, to_ns) - track->past[i].at_ns >= quick_ns)
			i--; /* the last one lasts: it gets a span of its own */
		number_words(track->past[begin].value, track->width, first, sizeof(first));
		number_words(track->past[i].value, track->width, last, sizeof(last));
		(void)snprintf(words, sizeof(words), begin < i ? "%s \xe2\x80\xa6 %s" : "%s", first, last);
		if (begin == i && td_vcd_same(track->past[i].value, td_vcd_number(0), track->width))
			look = TD_LOOK_LINE;
		td_drawing_add_span(drawing, track->row, from_ns, end_of(track, i, to_ns), look, words);
	}
}
