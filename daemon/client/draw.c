/* SPDX-License-Identifier: MIT */
#include "daemon/client/draw.h"

#include <string.h>

#include "core/cause.h"
#include "daemon/client/draw_bar.h"
#include "daemon/client/draw_twist.h"
#include "daemon/client/time.h"

/* Columns of the table, without the gap of two that follows each. */
struct layout {
	bool stacked; /* the bar has a line of its own */
	size_t name;
	size_t state;
	size_t way;
	size_t lease;
	size_t label[TD_WAYS];
	size_t bar;
};

enum { GAP = 2, GAPS = 4 * GAP, BAR_MIN = 11, BAR_MAX = 40, MARGIN = 1 };

static size_t clamp(size_t value, size_t low, size_t high)
{
	if (value < low)
		return low;
	return value > high ? high : value;
}

/* --- layout ----------------------------------------------------------------------------------------- */

/* The row of the cable needs its room too. */
static size_t room_for(const struct td_view *view, const char *word)
{
	return view->twist.counted ? strlen(word) : 0;
}

static size_t longest_name(const struct td_view *view)
{
	size_t longest = room_for(view, "cable");

	for (size_t i = 0; i < view->axes; i++)
		longest = clamp(td_pen_columns(view->axis[i].name), longest, SIZE_MAX);
	return longest;
}

static size_t longest_way(const struct td_view *view, int way)
{
	size_t longest = room_for(view, way == 0 ? "left" : "right");

	for (size_t i = 0; i < view->axes; i++)
		longest = clamp(td_pen_columns(view->axis[i].way_name[way]), longest, SIZE_MAX);
	return longest;
}

/* What is left for the bar once `taken` columns and both labels have theirs. */
static size_t room_for_bar(size_t width, size_t taken, const struct layout *layout)
{
	taken += layout->label[0] + layout->label[1] + 2;
	return taken < width ? width - taken : 0;
}

static struct layout lay_out(const struct td_view *view, size_t width)
{
	struct layout layout = {.state = 12, .lease = 6};
	size_t way = clamp(longest_way(view, 0), longest_way(view, 1), SIZE_MAX);

	layout.name = clamp(longest_name(view), 4, 14);
	layout.way = clamp(way + 2, 6, 14);
	for (int i = 0; i < TD_WAYS; i++)
		layout.label[i] = clamp(longest_way(view, i), 1, 12);
	layout.bar = room_for_bar(
		width, MARGIN + layout.name + layout.state + layout.way + layout.lease + GAPS, &layout);
	layout.stacked = layout.bar < BAR_MIN;
	if (layout.stacked) {
		layout.name = clamp(layout.name, 4, width / 3);
		for (int i = 0; i < TD_WAYS; i++)
			layout.label[i] = clamp(layout.label[i], 1, width / 4);
		layout.bar = room_for_bar(width, MARGIN + GAP, &layout);
	}
	layout.bar = clamp(layout.bar, 3, BAR_MAX);
	return layout;
}

/* --- one axis --------------------------------------------------------------------------------------- */

const char *td_draw_state_word(const char *state)
{
	static const char *const word[][2] = {{"tripped", "TRIPPED"},
					      {"still", "still"},
					      {"coast", "coasts"},
					      {"wait", "waits"},
					      {"run", "moves"}};

	for (size_t i = 0; i < sizeof(word) / sizeof(word[0]); i++)
		if (strcmp(state, word[i][0]) == 0)
			return word[i][1];
	return state;
}

static void state_text(const struct td_view_axis *axis, char *text, size_t size)
{
	const char *word = td_draw_state_word(axis->state);
	char left[24];

	td_cli_format_time(TD_MS(axis->wait_left_ms), left, sizeof(left));
	if (axis->wait_left_ms > 0 && strcmp(axis->state, "wait") == 0)
		(void)snprintf(text, size, "%s %s", word, left);
	else
		(void)snprintf(text, size, "%s", word);
}

static enum td_ink axis_ink(const struct td_view_axis *axis)
{
	if (axis->trip.cause[0] != '\0')
		return TD_INK_ALARM;
	return axis->moving ? TD_INK_STRONG : TD_INK_PLAIN;
}

static void draw_way(struct td_pen *pen, const struct td_view_axis *axis, size_t columns)
{
	size_t end = pen->column + columns;

	if (axis->way != TD_NO_WAY && columns > 2) {
		size_t length = clamp(td_pen_columns(axis->way_name[axis->way]), 0, columns - 2);

		td_pen_glyph(pen, axis->way == 0 ? TD_GLYPH_TO_FIRST : TD_GLYPH_TO_SECOND);
		td_pen_blanks(pen, 1);
		td_pen_field(pen, axis->way_name[axis->way], length);
	}
	td_pen_blanks(pen, end - pen->column);
}

static void draw_lease(struct td_pen *pen, const struct td_view_axis *axis)
{
	char left[24];

	if (axis->lease_left_ms <= 0)
		return;
	td_cli_format_time(TD_MS(axis->lease_left_ms), left, sizeof(left));
	td_pen_text(pen, left);
}

static void draw_labelled_bar(struct td_pen *pen, const struct td_view_axis *axis,
			      const struct layout *layout)
{
	td_pen_field_right(pen, axis->way_name[0], layout->label[0]);
	td_pen_blanks(pen, 1);
	td_draw_bar(pen, axis, layout->bar);
	td_pen_blanks(pen, 1);
	td_pen_field(pen, axis->way_name[1], layout->label[1]);
}

static void draw_axis(struct td_pen *pen, const struct td_view_axis *axis, const struct layout *layout)
{
	char state[32];

	state_text(axis, state, sizeof(state));
	td_pen_ink(pen, axis_ink(axis));
	td_pen_blanks(pen, MARGIN);
	td_pen_field(pen, axis->name, layout->name);
	td_pen_blanks(pen, GAP);
	if (layout->stacked) {
		td_pen_fold(pen, state, MARGIN + layout->name + GAP);
		if (pen->column + GAP < pen->width) {
			td_pen_blanks(pen, GAP);
			draw_way(pen, axis, clamp(pen->width - pen->column, 0, layout->way));
		}
		td_pen_newline(pen);
		td_pen_blanks(pen, MARGIN + GAP);
		draw_labelled_bar(pen, axis, layout);
	} else {
		td_pen_field(pen, state, layout->state);
		td_pen_blanks(pen, GAP);
		draw_way(pen, axis, layout->way);
		td_pen_blanks(pen, GAP);
		draw_labelled_bar(pen, axis, layout);
		td_pen_blanks(pen, GAP);
		draw_lease(pen, axis);
	}
	td_pen_newline(pen);
}

static void draw_cable(struct td_pen *pen, const struct td_view *view, const struct layout *layout)
{
	char state[TD_TWIST_STATE_MAX];
	const struct td_view_axis row = td_draw_twist_row(&view->twist, state);

	if (view->twist.counted)
		draw_axis(pen, &row, layout);
}

static void draw_heads(struct td_pen *pen, const struct layout *layout)
{
	td_pen_ink(pen, TD_INK_FAINT);
	td_pen_blanks(pen, MARGIN);
	td_pen_field(pen, "axis", layout->name + GAP);
	td_pen_field(pen, "state", layout->state + GAP);
	td_pen_field(pen, "way", layout->way + GAP);
	td_pen_field(pen, "", layout->label[0] + 1);
	td_pen_field(pen, "position", layout->bar + 1 + layout->label[1] + GAP);
	td_pen_text(pen, "lease");
	td_pen_newline(pen);
}

static void draw_legend(struct td_pen *pen)
{
	static const struct {
		enum td_glyph glyph;
		const char *text;
	} entry[] = {{TD_GLYPH_END_ACTIVE, " end switch active   "},
		     {TD_GLYPH_END_CLEAR, " clear   "},
		     {TD_GLYPH_END_NONE, " none fitted   "},
		     {TD_GLYPH_HERE, " estimated"}};

	if (pen->width < 66)
		return;
	td_pen_newline(pen);
	td_pen_ink(pen, TD_INK_FAINT);
	td_pen_blanks(pen, MARGIN);
	for (size_t i = 0; i < sizeof(entry) / sizeof(entry[0]); i++) {
		td_pen_glyph(pen, entry[i].glyph);
		td_pen_text(pen, entry[i].text);
	}
	td_pen_newline(pen);
}

/* --- the machine ------------------------------------------------------------------------------------ */

static void draw_header(struct td_pen *pen, const struct td_view *view)
{
	const char *armed = view->armed ? "armed" : "NOT ARMED";
	size_t right = td_pen_columns(armed) + MARGIN;

	td_pen_ink(pen, TD_INK_STRONG);
	td_pen_blanks(pen, MARGIN);
	td_pen_field(pen, view->machine[0] ? view->machine : "machine", pen->width - MARGIN - right - 1);
	td_pen_blanks(pen, 1);
	td_pen_ink(pen, view->armed ? TD_INK_STRONG : TD_INK_ALARM);
	td_pen_text(pen, armed);
	td_pen_newline(pen);
	td_pen_repeat(pen, TD_GLYPH_RULE, pen->width);
	td_pen_newline(pen);
	td_pen_ink(pen, view->latches ? TD_INK_ALARM : TD_INK_PLAIN);
	td_pen_blanks(pen, MARGIN);
	td_pen_text(pen, view->latches ? "latched stop ON" : "latched stop off");
	td_pen_newline(pen);
}

/* "! who: sentence (R4)" */
static void draw_sentence(struct td_pen *pen, enum td_ink ink, const char *who, const char *sentence,
			  const char *rule)
{
	char text[TD_ERROR_MAX + 128];

	td_pen_newline(pen);
	td_pen_ink(pen, ink);
	td_pen_text(pen, " ! ");
	(void)snprintf(text, sizeof(text), "%s: %s%s%s%s", who, sentence, rule[0] ? " (" : "", rule,
		       rule[0] ? ")" : "");
	td_pen_fold(pen, text, 3);
	td_pen_newline(pen);
}

/* The sentence, what to do, and the command for it; NULL: no command helps. */
static void draw_note(struct td_pen *pen, const char *who, const struct td_view_reason *why,
		      const char *command)
{
	char text[512];

	draw_sentence(pen, TD_INK_ALARM, who, why->sentence, why->rule);
	td_pen_blanks(pen, 3);
	(void)snprintf(text, sizeof(text), "%s%s", why->remedy, command ? ":" : "");
	td_pen_fold(pen, text, 3);
	td_pen_newline(pen);
	if (command) {
		td_pen_blanks(pen, 3);
		td_pen_fold(pen, command, 5);
		td_pen_newline(pen);
	}
}

/* The daemon's own reasons; where it gives none, what the cause says. */
static void draw_arming(struct td_pen *pen, const struct td_view *view)
{
	const struct td_cause_info *unarmed = td_cause_info(TD_CAUSE_NOT_ARMED);
	const struct td_view_reason reason = {unarmed->name, unarmed->rule, unarmed->sentence,
					      unarmed->remedy};

	for (size_t i = 0; i < view->why_not.count; i++)
		draw_sentence(pen, TD_INK_ALARM, "not armed", view->why_not.text[i], unarmed->rule);
	if (!view->armed && view->why_not.count == 0)
		draw_note(pen, "not armed", &reason, NULL);
	for (size_t i = 0; i < view->accepted.count; i++)
		draw_sentence(pen, TD_INK_STRONG, "risk accepted", view->accepted.text[i], unarmed->rule);
}

static void draw_configuration(struct td_pen *pen, const struct td_view *view)
{
	const struct td_view_reason refused = {.rule = "R14",
					       .sentence = TD_CONFIG_REFUSED_TEXT,
					       .remedy = "mend it, see tripdogd --check-config, and reload"};

	if (view->config_refused)
		draw_note(pen, "configuration", &refused, NULL);
}

/* "! boom raise, 23 %: this way takes longer than it used to" */
static void draw_slower(struct td_pen *pen, const struct td_view_axis *axis, int way)
{
	const struct td_cause_info *slower = td_cause_info(TD_CAUSE_WAY_SLOWER);
	char who[128];
	char share[24] = "";

	if (axis->slower_ppm[way] != TD_NO_TREND)
		(void)snprintf(share, sizeof(share), ", %d %%", axis->slower_ppm[way] / 10000);
	(void)snprintf(who, sizeof(who), "%s %s%s", axis->name, axis->way_name[way], share);
	draw_sentence(pen, TD_INK_STRONG, who, slower->sentence, slower->rule);
	td_pen_blanks(pen, 3);
	td_pen_fold(pen, slower->remedy, 3);
	td_pen_newline(pen);
}

/* A trip and the locked ways of one axis, each with the command that ends it; ways that became slower. */
static void draw_axis_notes(struct td_pen *pen, const struct td_view_axis *axis)
{
	const struct td_cause_info *made = td_cause_info(TD_CAUSE_LOCK_MADE);
	const struct td_view_reason lock = {made->name, made->rule, made->sentence, made->remedy};
	char command[96];
	char who[96];

	(void)snprintf(command, sizeof(command), "tripdog %sreset %s",
		       axis->visitor_resets ? "" : "--keeper ", axis->name);
	if (axis->trip.cause[0] != '\0')
		draw_note(pen, axis->name, &axis->trip, command);
	(void)snprintf(command, sizeof(command), "tripdog --keeper reset %s", axis->name);
	for (int way = 0; way < TD_WAYS; way++) {
		(void)snprintf(who, sizeof(who), "%s %s", axis->name, axis->way_name[way]);
		if (axis->locked[way])
			draw_note(pen, who, &lock, command);
		if (axis->slower[way])
			draw_slower(pen, axis, way);
	}
}

static void draw_notes(struct td_pen *pen, const struct td_view *view)
{
	draw_arming(pen, view);
	draw_configuration(pen, view);
	for (size_t i = 0; i < view->latches; i++)
		draw_note(pen, "latched stop", &view->latch[i], "tripdog --keeper reset");
	for (size_t i = 0; i < view->axes; i++)
		draw_axis_notes(pen, &view->axis[i]);
}

/* What one that chatters reads means little. */
static const char *switch_word(const struct td_view_switch *sw)
{
	if (sw->chatters)
		return "CHATTERS";
	return sw->active ? "ACTIVE" : "clear";
}

/* R18: how far the cable is twisted, and what is blocked for it. */
static void draw_twist(struct td_pen *pen, const struct td_view *view)
{
	const struct td_cause_info *limit = td_cause_info(TD_CAUSE_TWIST_LIMIT);
	const struct td_view_reason why = {limit->name, limit->rule, limit->sentence, limit->remedy};
	char text[TD_TWIST_SENTENCE_MAX + 8];

	if (!view->twist.counted)
		return;
	for (size_t i = 0; i < view->twist.blocks; i++)
		draw_note(pen, view->twist.blocked[i], &why, "tripdog --keeper untwisted");
	(void)snprintf(text, sizeof(text), "cable: ");
	td_draw_twist_sentence(&view->twist, text + strlen(text));
	td_pen_newline(pen);
	td_pen_blanks(pen, MARGIN);
	td_pen_fold(pen, text, 3);
	td_pen_newline(pen);
}

/* Who shares the machine; nothing where there is nothing to share. */
static void draw_turn(struct td_pen *pen, const struct td_view *view)
{
	char text[TD_TURN_SENTENCE_MAX + 16] = "visitors: ";
	size_t start = strlen(text);

	td_turn_sentence(&view->turn, text + start);
	if (text[start] == '\0')
		return;
	td_pen_newline(pen);
	td_pen_blanks(pen, MARGIN);
	td_pen_fold(pen, text, 3);
	td_pen_newline(pen);
}

static void draw_quiet(struct td_pen *pen, const struct td_view *view)
{
	if (!view->quiet)
		return;
	td_pen_newline(pen);
	td_pen_blanks(pen, MARGIN);
	td_pen_fold(pen, "quiet hours: what is loud stands still", 3);
	td_pen_newline(pen);
}

static void draw_switches(struct td_pen *pen, const struct td_view *view)
{
	if (view->switches == 0)
		return;
	td_pen_newline(pen);
	td_pen_text(pen, " switches: ");
	for (size_t i = 0; i < view->switches; i++) {
		char text[96];
		const char *comma = i + 1 < view->switches ? ", " : "";

		(void)snprintf(text, sizeof(text), "%s %s", view->sw[i].name, switch_word(&view->sw[i]));
		if (pen->column + td_pen_columns(text) + 1 > pen->width) {
			td_pen_newline(pen);
			td_pen_blanks(pen, 3);
		}
		td_pen_text(pen, text);
		td_pen_text(pen, comma);
	}
	td_pen_newline(pen);
}

void td_draw_status(struct td_pen *pen, const struct td_view *view)
{
	pen->width = clamp(pen->width, TD_DRAW_WIDTH_MIN, SIZE_MAX);
	struct layout layout = lay_out(view, pen->width);

	draw_header(pen, view);
	td_pen_newline(pen);
	if (!layout.stacked)
		draw_heads(pen, &layout);
	for (size_t i = 0; i < view->axes; i++)
		draw_axis(pen, &view->axis[i], &layout);
	draw_cable(pen, view, &layout);
	draw_legend(pen);
	draw_notes(pen, view);
	draw_twist(pen, view);
	draw_turn(pen, view);
	draw_quiet(pen, view);
	draw_switches(pen, view);
}
