/* SPDX-License-Identifier: MIT */
#include "sim/plant_config.h"

#include <errno.h>
#include <ini.h>
#include <stdio.h>
#include <string.h>

#include "config/key_table.h"
#include "config/line_form.h"
#include "config/nearest.h"
#include "config/report.h"
#include "config/words.h"
#include "sim/plant_keys.h"

struct setting {
	int line; /* 0 = not in the file */
	int64_t number[TD_WAYS];
};

/* One heading and what stands under it. */
struct section {
	enum td_plant_section kind;
	int line; /* 0 = not in the file */
	struct setting setting[TD_PLANT_KEYS];
};

struct reading {
	const struct td_config *config;
	struct td_report *report;
	int line;
	struct section plant;
	struct section motor[TD_AXES_MAX];
	struct section *open; /* NULL: none yet, or a faulty one */
	bool passing_over;    /* a faulty one */
};

/* --- headings ---------------------------------------------------------------------------------------- */

static void report_unknown_axis(struct reading *r, const char *name)
{
	struct td_nearest nearest = td_nearest_to(name);

	for (uint8_t axis = 0; axis < r->config->axes; axis++)
		td_nearest_offer(&nearest, r->config->axis[axis].name);
	if (nearest.best)
		td_report_add(r->report, r->line, "the configuration has no axis '%s'; did you mean '%s'?",
			      name, nearest.best);
	else
		td_report_add(r->report, r->line,
			      "the configuration has no axis '%s'; rename the section or remove it", name);
}

/* The section a heading's words mean, or NULL after a report. */
static struct section *find_section(struct reading *r, const struct td_words *words)
{
	uint8_t axis;

	if (words->count == 1 && strcmp(words->word[0], "plant") == 0)
		return &r->plant;
	if (words->count != 2 || strcmp(words->word[0], "motor") != 0) {
		td_report_add(r->report, r->line, "unknown section; allowed: %s and %s; correct or remove it",
			      td_plant_section_shown(TD_PLANT_SECTION_PLANT),
			      td_plant_section_shown(TD_PLANT_SECTION_MOTOR));
		return NULL;
	}
	axis = td_config_axis(r->config, words->word[1]);
	if (axis == TD_NO_AXIS) {
		report_unknown_axis(r, words->word[1]);
		return NULL;
	}
	return &r->motor[axis];
}

static void take_heading(struct reading *r, const char *line)
{
	const char *end = strchr(line, ']');
	struct td_words words;

	r->open = NULL;
	r->passing_over = true;
	if (!end || end[1 + strspn(end + 1, " \t")] != '\0') {
		td_report_add(r->report, r->line,
			      "not a heading; write [plant] or [motor AXIS], nothing behind it");
		return;
	}
	td_words_split(line + 1, (size_t)(end - line) - 1, &words);
	struct section *section = find_section(r, &words);
	if (section && section->line) {
		td_report_add(r->report, r->line,
			      "the section stands twice, first in line %d; put all its keys into one",
			      section->line);
		return;
	}
	if (section)
		section->line = r->line;
	r->open = section;
}

/* --- keys -------------------------------------------------------------------------------------------- */

static void report_unknown_key(struct reading *r, const char *name)
{
	struct td_nearest nearest = td_nearest_to(name);
	const char *shown = td_plant_section_shown(r->open->kind);

	for (unsigned int key = 0; key < TD_PLANT_KEYS; key++)
		if (td_plant_key_info((enum td_plant_key)key)->section == r->open->kind)
			td_nearest_offer(&nearest, td_plant_key_info((enum td_plant_key)key)->name);
	if (nearest.best)
		td_report_add(r->report, r->line, "unknown key '%s' in %s; did you mean '%s'?", name, shown,
			      nearest.best);
	else
		td_report_add(
			r->report, r->line,
			"unknown key '%s' in %s; remove it (tripdog-sim plant --explain lists all keys)",
			name, shown);
}

static void take_value(struct reading *r, enum td_plant_key key, const char *text)
{
	struct setting *setting = &r->open->setting[key];
	char allowed[TD_PLANT_ALLOWED_MAX];

	if (setting->line) {
		td_report_add(r->report, r->line,
			      "key '%s' stands twice in this section, first in line %d; keep one of them",
			      td_plant_key_info(key)->name, setting->line);
		return;
	}
	setting->line = r->line;
	if (td_plant_key_value(key, text, setting->number))
		return;
	if (td_plant_key_info(key)->fallback) /* no second fault that only follows from this one */
		(void)td_plant_key_value(key, td_plant_key_info(key)->fallback, setting->number);
	td_report_add(r->report, r->line, "'%.60s' is no value for %s; allowed: %s; correct it", text,
		      td_plant_key_info(key)->name, td_plant_key_allowed(key, allowed));
}

/* inih's callback; every line is parsed alone, so the section is ours. */
static int take_pair(void *user, const char *section, const char *name, const char *value)
{
	struct reading *r = user;

	(void)section;
	if (!r->open) {
		if (!r->passing_over)
			td_report_add(r->report, r->line,
				      "key '%s' stands before the first section; put a heading before it",
				      name);
		return 1;
	}
	enum td_plant_key key = td_plant_key_find(r->open->kind, name);
	if (key == TD_PLANT_KEYS)
		report_unknown_key(r, name);
	else
		take_value(r, key, value);
	return 1;
}

/* --- lines ------------------------------------------------------------------------------------------- */

static void take_line(struct reading *r, const char *line, size_t length)
{
	char copy[TD_CONFIG_LINE_MAX + 1];
	const struct td_value_fault *fault = td_line_form(line, length);

	if (fault) {
		td_report_add(r->report, r->line, "%s; allowed: UTF-8 text, at most %d bytes in a line; %s",
			      fault->what, TD_CONFIG_LINE_MAX, fault->mend);
		return;
	}
	/* inih would take an indented line for the continuation of the one before */
	for (; length > 0 && (*line == ' ' || *line == '\t'); length--)
		line++;
	memcpy(copy, line, length);
	copy[length] = '\0';
	if (copy[0] == '[')
		take_heading(r, copy);
	else if (ini_parse_string(copy, take_pair, r) != 0)
		td_report_add(r->report, r->line,
			      "neither a heading nor a key with its value; write 'key = value', or begin a "
			      "comment with '#'");
}

static void take_lines(struct reading *r, const char *text, size_t length)
{
	size_t at = length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;

	while (at < length) {
		const char *end = memchr(text + at, '\n', length - at);
		size_t whole = end ? (size_t)(end - text) - at : length - at;
		size_t bare = whole > 0 && text[at + whole - 1] == '\r' ? whole - 1 : whole;

		r->line++;
		take_line(r, text + at, bare);
		at += whole + 1;
	}
}

/* --- the model --------------------------------------------------------------------------------------- */

static void fill_defaults(struct reading *r, struct section *section, const char *name)
{
	for (unsigned int i = 0; i < TD_PLANT_KEYS; i++) {
		enum td_plant_key key = (enum td_plant_key)i;
		const struct td_plant_key_info *info = td_plant_key_info(key);

		if (info->section != section->kind || section->setting[key].line)
			continue;
		if (info->fallback)
			(void)td_plant_key_value(key, info->fallback, section->setting[key].number);
		else if (section->line)
			td_report_add(r->report, section->line, "[motor %s] lacks the key '%s'; add it", name,
				      info->name);
	}
}

static void check_motor(struct reading *r, uint8_t axis)
{
	struct section *section = &r->motor[axis];
	const struct td_way_rules *way = r->config->rules.axis[axis].way;
	const char *name = r->config->axis[axis].name;
	bool switches = way[0].end_switch != TD_NO_SWITCH || way[1].end_switch != TD_NO_SWITCH;

	if (!section->line)
		td_report_add(r->report, 0, "axis '%s' of the configuration has no motor; add [motor %s]",
			      name, name);
	fill_defaults(r, section, name);
	if (section->line && !section->setting[TD_PLANT_KEY_ENDS].number[0] && switches)
		td_report_add(r->report, section->setting[TD_PLANT_KEY_ENDS].line,
			      "axis '%s' has end switches, so its travel has ends; write ends = hard", name);
}

static void fill_motor(const struct reading *r, uint8_t axis, struct td_plant_motor *motor)
{
	const struct setting *setting = r->motor[axis].setting;
	const struct td_way_rules *way = r->config->rules.axis[axis].way;

	*motor = (struct td_plant_motor){
		.ends = setting[TD_PLANT_KEY_ENDS].number[0] != 0,
		.travel_ns = {TD_MS(setting[TD_PLANT_KEY_TRAVEL].number[0]),
			      TD_MS(setting[TD_PLANT_KEY_TRAVEL].number[1])},
		.speed_up_ns = TD_MS(setting[TD_PLANT_KEY_SPEED_UP].number[0]),
		.coast_ns = TD_MS(setting[TD_PLANT_KEY_COAST].number[0]),
		.brake_ns = TD_MS(setting[TD_PLANT_KEY_BRAKE].number[0]),
		.switch_share = (double)setting[TD_PLANT_KEY_SWITCH].number[0] / 100,
		.teeth_per_s = (double)setting[TD_PLANT_KEY_TEETH].number[0],
		.jam_teeth_per_s = (double)setting[TD_PLANT_KEY_JAM_TEETH].number[0],
		.start = (double)setting[TD_PLANT_KEY_START].number[0] / 100,
		.end_switch = {way[0].end_switch, way[1].end_switch},
	};
}

static void fill_model(const struct reading *r, struct td_plant_model *model)
{
	model->motors = r->config->axes;
	model->switches = r->config->switches;
	model->bounce_ns = TD_US(r->plant.setting[TD_PLANT_KEY_BOUNCE].number[0]);
	model->seed = (uint64_t)r->plant.setting[TD_PLANT_KEY_SEED].number[0];
	for (uint8_t axis = 0; axis < r->config->axes; axis++)
		fill_motor(r, axis, &model->motor[axis]);
	memcpy(model->sw, r->config->rules.sw, sizeof(model->sw));
}

bool td_plant_config_read_text(const char *text, size_t length, const char *shown_as,
			       const struct td_config *config, struct td_plant_model *model,
			       struct td_config_faults *faults)
{
	struct td_report report;
	struct reading r = {.config = config, .report = &report};

	td_report_start(&report, shown_as, faults);
	memset(model, 0, sizeof(*model));
	for (unsigned int axis = 0; axis < TD_AXES_MAX; axis++)
		r.motor[axis].kind = TD_PLANT_SECTION_MOTOR;
	if (length > TD_CONFIG_FILE_MAX)
		td_report_add(&report, 0, "the file is too large; at most %d bytes; shorten it",
			      TD_CONFIG_FILE_MAX);
	else
		take_lines(&r, text, length);
	fill_defaults(&r, &r.plant, "");
	for (uint8_t axis = 0; axis < config->axes; axis++)
		check_motor(&r, axis);
	if (faults->count == 0)
		fill_model(&r, model);
	return faults->count == 0;
}

bool td_plant_config_read(const char *path, const struct td_config *config, struct td_plant_model *model,
			  struct td_config_faults *faults)
{
	static char text[TD_CONFIG_FILE_MAX + 1];
	struct td_report report;
	FILE *file = fopen(path, "re");
	size_t length = file ? fread(text, 1, sizeof(text), file) : 0;

	if (file && !ferror(file)) {
		(void)fclose(file);
		return td_plant_config_read_text(text, length, path, config, model, faults);
	}
	memset(model, 0, sizeof(*model));
	td_report_start(&report, path, faults);
	td_report_add(&report, 0, "cannot be read: %s; name an existing plant file", strerror(errno));
	if (file)
		(void)fclose(file);
	return false;
}
