/* SPDX-License-Identifier: MIT */
#include "sim/draw_trace.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "core/axis.h"
#include "sim/draw_head.h"
#include "sim/draw_track.h"
#include "trace/layout.h"

enum { CHANGES_MAX = 4000000 };

/* A position that stood still this long and then differs has jumped; it did not creep. */
#define STOOD_STILL_NS TD_MS(200)

struct reading {
	struct td_drawing *drawing;
	const struct td_trace_view *view;
	bool own;
	bool begun;
	bool started; /* the view has begun */
	bool failed;
	struct td_error failure;
	int64_t changes;
	td_ns seen_ns; /* last moment seen in the view */
	struct td_group *group;
	size_t groups;
	struct td_track *track;
	size_t tracks;
};

static int fail(struct reading *reading, const char *sentence)
{
	if (!reading->failed)
		td_error_set(&reading->failure, "%s", sentence);
	reading->failed = true;
	return -1;
}

static int no_memory(struct reading *reading)
{
	return fail(reading, "no memory for the drawing");
}

/* --- declarations --------------------------------------------------------------------------------- */

static size_t find_group(struct reading *reading, const char *path)
{
	size_t i = 0;

	while (i < reading->groups && strcmp(reading->group[i].path, path) != 0)
		i++;
	return i;
}

static int add_group(struct reading *reading, const char *path)
{
	struct td_group *grown = reallocarray(reading->group, reading->groups + 1, sizeof(*grown));

	if (!grown)
		return no_memory(reading);
	reading->group = grown;
	grown[reading->groups] = (struct td_group){
		.path = strdup(path), .hold_row = TD_NO_ROW, .state_row = TD_NO_ROW, .powered = -1};
	return grown[reading->groups++].path ? 0 : no_memory(reading);
}

static int on_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct reading *reading = ctx;
	size_t group = find_group(reading, signal->scope);

	if (group == reading->groups && add_group(reading, signal->scope))
		return -1;
	struct td_track *grown = reallocarray(reading->track, reading->tracks + 1, sizeof(*grown));
	enum td_track_role role = td_track_role_of(signal, reading->own);

	if (!grown)
		return no_memory(reading);
	if (reading->own && !reading->view->all && td_track_is_inner(signal))
		role = TD_TRACK_NOTHING;
	reading->track = grown;
	grown[reading->tracks] = (struct td_track){.role = role,
						   .row = TD_NO_ROW,
						   .group = group,
						   .name = strdup(signal->name),
						   .width = signal->width};
	return grown[reading->tracks++].name ? 0 : no_memory(reading);
}

/* The outputs of a group are its axis's two ways, in their order. */
static int add_position_row(struct reading *reading, size_t group)
{
	const char *way[2] = {"0 %", "100 %"};
	int found = 0;

	for (size_t i = 0; i < reading->tracks && found < 2; i++)
		if (reading->track[i].group == group && reading->track[i].role == TD_TRACK_OUTPUT)
			way[found++] = reading->track[i].name;
	return td_drawing_add_curve(reading->drawing, "position", way[0], way[1]);
}

static bool has_numbers(const struct reading *reading)
{
	for (size_t i = 0; i < reading->tracks; i++)
		if (reading->track[i].role == TD_TRACK_NUMBER)
			return true;
	return false;
}

static void add_row(struct reading *reading, struct td_track *track)
{
	struct td_group *group = &reading->group[track->group];
	struct td_drawing *drawing = reading->drawing;

	switch (track->role) {
	case TD_TRACK_HOLD:
		if (group->hold_row == TD_NO_ROW)
			group->hold_row = td_drawing_add_row(drawing, TD_ROW_SPANS, "request");
		track->row = group->hold_row;
		td_drawing_explain(drawing, TD_LOOK_PLAIN,
				   has_numbers(reading) ? "held by a request, or a number"
							: "held by a request");
		break;
	case TD_TRACK_STATE:
		track->row = group->state_row = td_drawing_add_row(drawing, TD_ROW_SPANS, track->name);
		break;
	case TD_TRACK_OUTPUT: track->row = td_drawing_add_row(drawing, TD_ROW_OUTPUT, track->name); break;
	case TD_TRACK_POSITION: track->row = add_position_row(reading, track->group); break;
	case TD_TRACK_NUMBER: track->row = td_drawing_add_row(drawing, TD_ROW_SPANS, track->name); break;
	case TD_TRACK_LEVEL: track->row = td_drawing_add_row(drawing, TD_ROW_LEVEL, track->name); break;
	case TD_TRACK_ACTIVE:
	case TD_TRACK_CAUSE:
	case TD_TRACK_MOMENT:
	case TD_TRACK_LOST:
	case TD_TRACK_NOTHING:
	case TD_TRACK_ROLES: break;
	}
}

/* What is active hatches the row of the switch's level; without one it cannot be drawn. */
static void join_level(struct reading *reading, struct td_track *active)
{
	const char *name = active->name + strlen(TD_TRACE_ACTIVE);

	for (size_t i = 0; i < reading->tracks; i++) {
		const struct td_track *level = &reading->track[i];

		if (level->group != active->group || level->role != TD_TRACK_LEVEL ||
		    strcmp(level->name, name) != 0)
			continue;
		active->row = level->row;
		td_drawing_hatch(reading->drawing, active->row, "switch active");
		return;
	}
	active->role = TD_TRACK_NOTHING;
}

static void add_rows(struct reading *reading, size_t group)
{
	bool headed = reading->group[group].path[0] == '\0';

	for (int role = 0; role <= TD_TRACK_LEVEL; role++) {
		for (size_t i = 0; i < reading->tracks; i++) {
			if (reading->track[i].group != group || (int)reading->track[i].role != role)
				continue;
			if (!headed)
				td_drawing_group(reading->drawing,
						 td_track_last_part(reading->group[group].path));
			headed = true;
			add_row(reading, &reading->track[i]);
		}
	}
}

static int on_begin(void *ctx)
{
	struct reading *reading = ctx;

	for (size_t group = 0; group < reading->groups; group++)
		add_rows(reading, group);
	for (size_t i = 0; i < reading->tracks; i++)
		if (reading->track[i].role == TD_TRACK_ACTIVE)
			join_level(reading, &reading->track[i]);
	reading->begun = true;
	return 0;
}

/* --- values --------------------------------------------------------------------------------------- */

static bool is_high(const struct td_track *track)
{
	return track->known && td_vcd_same(track->value, td_vcd_number(1), 1);
}

static void put_level(struct reading *reading, const struct td_track *track)
{
	enum td_level level = track->value.odd & 1U    ? TD_LEVEL_UNKNOWN
			      : track->value.bits & 1U ? TD_LEVEL_HIGH
						       : TD_LEVEL_LOW;

	td_drawing_add_level(reading->drawing, track->row, track->since_ns, level);
}

static int32_t share_of(struct td_vcd_value value)
{
	return (uint32_t)value.odd ? -1 : (int32_t)(uint32_t)value.bits;
}

static void put_number(struct reading *reading, struct td_track *track)
{
	if (track->pasts == track->past_room) {
		size_t room = track->past_room ? track->past_room * 2 : 16;
		struct td_past *grown = reallocarray(track->past, room, sizeof(*grown));

		if (!grown) {
			(void)no_memory(reading);
			return;
		}
		track->past = grown;
		track->past_room = room;
	}
	track->past[track->pasts++] = (struct td_past){track->since_ns, track->value};
}

/* A value begins to count: what can be drawn at once is. */
static void open_value(struct reading *reading, struct td_track *track)
{
	if (track->role == TD_TRACK_LEVEL || track->role == TD_TRACK_OUTPUT)
		put_level(reading, track);
	if (track->role == TD_TRACK_OUTPUT && is_high(track))
		reading->group[track->group].powered = (int)(track - reading->track);
	if (track->role == TD_TRACK_POSITION)
		td_drawing_add_point(reading->drawing, track->row, track->since_ns, share_of(track->value));
	if (track->role == TD_TRACK_NUMBER)
		put_number(reading, track);
}

static void close_hold(struct reading *reading, const struct td_track *track, td_ns at_ns)
{
	struct td_group *group = &reading->group[track->group];
	td_ns from_ns = track->since_ns > group->hold_end_ns ? track->since_ns : group->hold_end_ns;

	if (!is_high(track) || at_ns <= from_ns)
		return;
	group->hold_end_ns = at_ns;
	td_drawing_add_span(reading->drawing, track->row, from_ns, at_ns, TD_LOOK_PLAIN,
			    track->name + strlen(TD_TRACE_ASK));
}

/* A value stops to count: what needs both ends is drawn. */
static void close_value(struct reading *reading, const struct td_track *track, td_ns at_ns)
{
	const struct td_group *group = &reading->group[track->group];

	if (track->role == TD_TRACK_HOLD)
		close_hold(reading, track, at_ns);
	if (track->role == TD_TRACK_ACTIVE && is_high(track))
		td_drawing_add_hatch(reading->drawing, track->row, track->since_ns, at_ns);
	if (track->role == TD_TRACK_STATE)
		td_track_state(reading->drawing, track->row, track->since_ns, at_ns,
			       track->value.odd & 7U ? UINT64_MAX : track->value.bits & 7U,
			       group->powered < 0 ? NULL : reading->track[group->powered].name, group->trip);
	if (track->role == TD_TRACK_POSITION && at_ns - track->since_ns > STOOD_STILL_NS)
		td_drawing_add_point(reading->drawing, track->row, at_ns, share_of(track->value));
}

/* The values that hold where the view begins. */
static void start(struct reading *reading)
{
	reading->started = true;
	for (size_t i = 0; i < reading->tracks; i++) {
		if (!reading->track[i].known)
			continue;
		reading->track[i].since_ns = reading->view->from_ns;
		open_value(reading, &reading->track[i]);
	}
}

/* 0 = inside the view or before it. */
static int come_to(struct reading *reading, td_ns at_ns)
{
	if (at_ns > reading->view->to_ns)
		return 1;
	if (!reading->started && at_ns >= reading->view->from_ns)
		start(reading);
	reading->seen_ns = at_ns;
	return 0;
}

static void put_moment(struct reading *reading, const struct td_track *track, td_ns at_ns)
{
	struct td_group *group = &reading->group[track->group];
	int cause = td_trace_cause_of(track->value.bits);
	char words[96];

	if (track->role == TD_TRACK_MOMENT || track->role == TD_TRACK_LOST) {
		(void)snprintf(words, sizeof(words),
			       "%" PRIu64 " entries are missing in the recording before this",
			       track->value.bits);
		td_drawing_add_mark(reading->drawing, at_ns, TD_NO_ROW, TD_MARK_PLAIN,
				    track->role == TD_TRACK_LOST ? words : track->name);
		return;
	}
	if (td_cause_kind((enum td_cause)cause) == TD_KIND_TRIP)
		group->trip = cause;
	td_track_cause(reading->drawing, at_ns, group->state_row, td_track_last_part(group->path), cause);
}

static int on_time(void *ctx, td_ns at_ns)
{
	return come_to(ctx, at_ns);
}

/* Something happens when this signal takes the value that it has. */
static bool is_moment(const struct td_track *track, bool first)
{
	if (track->role == TD_TRACK_LOST)
		return track->value.odd == 0;
	return track->role == TD_TRACK_MOMENT || (track->role == TD_TRACK_CAUSE && !first);
}

static int on_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct reading *reading = ctx;
	struct td_track *track = &reading->track[signal];
	bool first = !track->known;

	if (come_to(reading, at_ns))
		return 1;
	if (track->known && track->role != TD_TRACK_MOMENT && td_vcd_same(track->value, value, track->width))
		return 0;
	if (reading->started && ++reading->changes > CHANGES_MAX)
		return fail(reading, "more changes than can be drawn; choose a shorter window");
	if (reading->started && track->known)
		close_value(reading, track, at_ns);
	track->known = true;
	track->value = value;
	track->since_ns = at_ns;
	if (!reading->started)
		return 0;
	open_value(reading, track);
	if (is_moment(track, first))
		put_moment(reading, track, at_ns);
	return reading->failed ? -1 : 0;
}

static int on_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	struct reading *reading = ctx;

	if (kind == TD_VCD_VERSION)
		reading->own = strncmp(text, TD_TRACE_VERSION, strlen(TD_TRACE_VERSION)) == 0;
	if (kind == TD_VCD_COMMENT && !reading->begun && reading->own)
		td_draw_head(reading->drawing, reading->view, text);
	if (kind == TD_VCD_COMMENT && reading->begun && reading->started)
		td_drawing_add_mark(reading->drawing, at_ns, TD_NO_ROW, TD_MARK_PLAIN, text);
	return 0;
}

/* --- the whole ------------------------------------------------------------------------------------ */

static int finish(struct reading *reading, const char *shown_as, struct td_error *err)
{
	const struct td_trace_view *view = reading->view;
	td_ns to_ns = view->to_ns == TD_NEVER ? reading->seen_ns : view->to_ns;

	if (reading->failed)
		return td_error_set(err, "%s: %s", shown_as, reading->failure.text);
	if (!reading->started || to_ns <= view->from_ns)
		return td_error_set(err,
				    "%s: nothing to draw: the trace ends %" PRId64 ".%06" PRId64
				    " s after its beginning",
				    shown_as, reading->seen_ns / TD_S(1), reading->seen_ns % TD_S(1) / 1000);
	for (size_t i = 0; i < reading->tracks; i++) {
		if (!reading->track[i].known)
			continue;
		close_value(reading, &reading->track[i], to_ns);
		if (reading->track[i].role == TD_TRACK_NUMBER)
			td_track_numbers(reading->drawing, &reading->track[i], to_ns - view->from_ns, to_ns);
	}
	td_drawing_window(reading->drawing, view->from_ns, to_ns);
	if (view->changed_only)
		td_drawing_drop_still(reading->drawing);
	return 0;
}

static void free_reading(struct reading *reading)
{
	for (size_t i = 0; i < reading->groups; i++)
		free(reading->group[i].path);
	for (size_t i = 0; i < reading->tracks; i++) {
		free(reading->track[i].name);
		free(reading->track[i].past);
	}
	free(reading->group);
	free(reading->track);
}

static const char *last_name(const char *path)
{
	const char *slash = strrchr(path, '/');

	return slash && slash[1] ? slash + 1 : path;
}

struct td_drawing *td_drawing_of_trace(FILE *in, const char *shown_as, const struct td_trace_view *view,
				       struct td_error *err)
{
	struct reading reading = {.view = view};
	const struct td_vcd_sink sink = {&reading, on_text, on_signal, on_begin, on_time, on_change, NULL};
	struct td_vcd_summary summary;

	reading.drawing = td_drawing_new(view->title ? view->title : last_name(shown_as),
					 view->description ? view->description : "");
	if (!reading.drawing) {
		td_error_set(err, "%s: no memory for the drawing", shown_as);
		return NULL;
	}
	if (td_vcd_read(in, shown_as, &sink, &summary, err) == TD_VCD_BAD ||
	    finish(&reading, shown_as, err)) {
		td_drawing_free(reading.drawing);
		reading.drawing = NULL;
	}
	free_reading(&reading);
	return reading.drawing;
}
