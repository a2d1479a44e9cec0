/* SPDX-License-Identifier: MIT */
#include "sim/demo/picture.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "core/switch.h"
#include "sim/draw.h"

struct canvas {
	struct td_drawing *drawing;
	const struct td_scene *scene;
	const struct td_record *record;
	td_ns zero_ns;
	td_ns end_ns;
	int state_row[TD_AXES_MAX];
};

static enum td_look look_of(const char *state)
{
	if (strcmp(state, "run") == 0)
		return TD_LOOK_SOLID;
	if (strcmp(state, "wait") == 0)
		return TD_LOOK_SLANTED;
	if (strcmp(state, "coast") == 0)
		return TD_LOOK_DOTTED;
	if (strcmp(state, "tripped") == 0)
		return TD_LOOK_CROSSED;
	return TD_LOOK_LINE;
}

static void explain(struct td_drawing *drawing)
{
	td_drawing_explain(drawing, TD_LOOK_SOLID, "powered");
	td_drawing_explain(drawing, TD_LOOK_SLANTED, "waits for dead time or rest");
	td_drawing_explain(drawing, TD_LOOK_DOTTED, "cut, may still roll");
	td_drawing_explain(drawing, TD_LOOK_CROSSED, "tripped");
	td_drawing_explain(drawing, TD_LOOK_LINE, "still");
	td_drawing_explain(drawing, TD_LOOK_PLAIN, "a person holds the way");
}

/* Times in the picture count from the beginning of the scene. */
static td_ns shown(const struct canvas *canvas, td_ns at_ns)
{
	return td_time_between(canvas->zero_ns, at_ns);
}

static bool same_wish(const struct td_act *a, const struct td_act *b)
{
	return b->kind == TD_ACT_HOLD && strcmp(a->axis, b->axis) == 0 && strcmp(a->way, b->way) == 0;
}

/* As long as the person held it, the scene lasts, or until the same way is asked for anew. */
static td_ns wish_end(const struct canvas *canvas, size_t index)
{
	const struct td_act *act = &canvas->scene->act[index];
	int end_ms = act->at_ms + act->for_ms;

	for (size_t i = index + 1; i < TD_ACTS_MAX && canvas->scene->act[i].kind != TD_ACT_NONE; i++)
		if (same_wish(act, &canvas->scene->act[i]))
			end_ms = canvas->scene->act[i].at_ms < end_ms ? canvas->scene->act[i].at_ms : end_ms;
	return TD_MS(end_ms < canvas->scene->length_ms ? end_ms : canvas->scene->length_ms);
}

/* What people asked for, of one axis. */
static void draw_wishes(struct canvas *canvas, uint8_t axis)
{
	const struct td_config *config = canvas->record->config;

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		int row = TD_NO_ROW;

		for (size_t i = 0; i < TD_ACTS_MAX && canvas->scene->act[i].kind != TD_ACT_NONE; i++) {
			const struct td_act *act = &canvas->scene->act[i];
			char label[80];

			if (act->kind != TD_ACT_HOLD || td_config_axis(config, act->axis) != axis ||
			    td_config_way(config, axis, act->way) != way)
				continue;
			snprintf(label, sizeof(label), "held: %s", act->way);
			if (row == TD_NO_ROW)
				row = td_drawing_add_row(canvas->drawing, TD_ROW_SPANS, label);
			td_drawing_add_span(canvas->drawing, row, TD_MS(act->at_ms), wish_end(canvas, i),
					    TD_LOOK_PLAIN, act->way);
		}
	}
}

static bool belongs(const struct canvas *canvas, const struct td_record_state *state, uint8_t axis)
{
	return state->axis == axis && state->at_ns < canvas->end_ns;
}

static void draw_states(struct canvas *canvas, uint8_t axis)
{
	const struct td_record *record = canvas->record;
	int row = td_drawing_add_row(canvas->drawing, TD_ROW_SPANS, "state");
	const struct td_record_state *open = NULL;
	td_ns since_ns = 0;

	canvas->state_row[axis] = row;
	for (size_t i = 0; i < record->states; i++) {
		const struct td_record_state *state = &record->state[i];

		if (!belongs(canvas, state, axis) || (open && strcmp(open->state, state->state) == 0))
			continue;
		if (open && shown(canvas, state->at_ns) > since_ns)
			td_drawing_add_span(canvas->drawing, row, since_ns, shown(canvas, state->at_ns),
					    look_of(open->state), open->state);
		since_ns = shown(canvas, state->at_ns);
		open = state;
	}
	if (open)
		td_drawing_add_span(canvas->drawing, row, since_ns, shown(canvas, canvas->end_ns),
				    look_of(open->state), open->state);
}

/* A level over the whole picture: the last value before its beginning, then every change. */
static void draw_level(struct canvas *canvas, int row, enum td_change_kind kind, uint8_t index, bool inverted)
{
	const struct td_record *record = canvas->record;

	for (size_t i = 0; i < record->changes; i++) {
		const struct td_change *change = &record->change[i];

		if (change->kind != kind || change->index != index || change->at_ns >= canvas->end_ns)
			continue;
		bool high = (change->value != 0) != inverted;

		td_drawing_add_level(canvas->drawing, row, shown(canvas, change->at_ns),
				     high ? TD_LEVEL_HIGH : TD_LEVEL_LOW);
	}
}

static void draw_axis(struct canvas *canvas, uint8_t axis)
{
	const struct td_config *config = canvas->record->config;
	char name[64];

	td_drawing_group(canvas->drawing, config->axis[axis].name);
	draw_wishes(canvas, axis);
	draw_states(canvas, axis);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t sw = config->rules.axis[axis].way[way].end_switch;

		snprintf(name, sizeof(name), "input %s", config->axis[axis].way_name[way]);
		draw_level(canvas, td_drawing_add_row(canvas->drawing, TD_ROW_OUTPUT, name), TD_CHANGE_OUTPUT,
			   (uint8_t)(axis * TD_WAYS + way), false);
		if (sw == TD_NO_SWITCH)
			continue;
		bool inverted = !td_switch_reads_active(&config->rules.sw[sw], true);

		draw_level(canvas, td_drawing_add_row(canvas->drawing, TD_ROW_LEVEL, config->sw[sw].name),
			   TD_CHANGE_LEVEL, sw, inverted);
	}
}

static bool worth_a_mark(enum td_cause cause)
{
	return cause != TD_CAUSE_LEVELS_SEEN && cause != TD_CAUSE_ARMED && cause != TD_CAUSE_RENEWED;
}

static void draw_marks(struct canvas *canvas)
{
	const struct td_config *config = canvas->record->config;

	for (size_t i = 0; i < canvas->record->newses; i++) {
		const struct td_record_news *news = &canvas->record->news[i];
		const struct td_cause_info *info = td_cause_info(news->cause);
		bool axis = news->axis < config->axes;
		char sentence[256];

		if (!worth_a_mark(news->cause) || news->at_ns < canvas->zero_ns ||
		    news->at_ns >= canvas->end_ns)
			continue;
		snprintf(sentence, sizeof(sentence), "%s%s%s%s%s%s%s",
			 axis ? config->axis[news->axis].name : "machine",
			 axis && news->way < TD_WAYS ? " " : "",
			 axis && news->way < TD_WAYS ? config->axis[news->axis].way_name[news->way] : "",
			 ": ", info->sentence, info->rule[0] ? " - " : "", info->rule);
		td_drawing_add_mark(canvas->drawing, shown(canvas, news->at_ns),
				    axis ? canvas->state_row[news->axis] : TD_NO_ROW,
				    info->kind == TD_KIND_TRIP ? TD_MARK_GRAVE : TD_MARK_PLAIN, sentence);
	}
}

/* What happened to the machine and by the people, beside their holding. */
static void draw_acts(struct canvas *canvas)
{
	for (size_t i = 0; i < TD_ACTS_MAX && canvas->scene->act[i].kind != TD_ACT_NONE; i++) {
		const struct td_act *act = &canvas->scene->act[i];

		if (act->kind != TD_ACT_HOLD)
			td_drawing_add_mark(canvas->drawing, TD_MS(act->at_ms), TD_NO_ROW, TD_MARK_PLAIN,
					    act->says);
	}
}

static int write_file(struct td_drawing *drawing, const char *path, struct td_error *err)
{
	FILE *out = fopen(path, "w");

	if (!out)
		return td_error_set(err, "%s: %s", path, strerror(errno));
	int result = td_drawing_write_svg(drawing, out, err);

	if (fclose(out) != 0 && result == 0)
		result = td_error_set(err, "%s: %s", path, strerror(errno));
	return result;
}

int td_demo_picture(const struct td_scene *scene, const struct td_record *record, td_ns zero_ns,
		    const char *path, struct td_error *err)
{
	struct canvas canvas = {
		.drawing = td_drawing_new(scene->title,
					  "Glasshouse cart on the bench; every number is invented."),
		.scene = scene,
		.record = record,
		.zero_ns = zero_ns,
		.end_ns = zero_ns + TD_MS(scene->length_ms)};

	if (!canvas.drawing)
		return td_error_set(err, "no memory for a drawing");
	for (size_t i = 0; i < TD_AXES_MAX; i++)
		canvas.state_row[i] = TD_NO_ROW;
	td_drawing_window(canvas.drawing, 0, TD_MS(scene->length_ms));
	explain(canvas.drawing);
	for (size_t i = 0; i < sizeof(scene->axes) / sizeof(scene->axes[0]) && scene->axes[i]; i++)
		draw_axis(&canvas, td_config_axis(record->config, scene->axes[i]));
	draw_acts(&canvas);
	draw_marks(&canvas);
	int result = write_file(canvas.drawing, path, err);

	td_drawing_free(canvas.drawing);
	return result;
}
