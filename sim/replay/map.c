/* SPDX-License-Identifier: MIT */
#include "sim/replay/map.h"

#include <errno.h>
#include <ini.h>
#include <stdio.h>
#include <string.h>

#include "config/nearest.h"
#include "config/words.h"

struct reading {
	const char *path;
	const struct td_config *config;
	struct td_replay_map *map;
	FILE *file;
	int line;
	bool failed;
	struct td_error *err;
};

/* The same sentence for each kind of name; `best` is NULL where nothing is near. */
static int no_such(struct reading *r, const char *what, const char *name, const char *best)
{
	return td_error_set(r->err, "%s:%d: the configuration has no %s '%.40s'%s%s%s", r->path, r->line,
			    what, name, best ? "; did you mean '" : "; see its sections", best ? best : "",
			    best ? "'?" : "");
}

static int switch_row(struct reading *r, const struct td_words *words, struct td_replay_map_row *row)
{
	struct td_nearest nearest = td_nearest_to(words->word[0]);

	if (words->count < 1 || words->count > 2 ||
	    (words->count == 2 && strcmp(words->word[1], "inverted") != 0))
		return td_error_set(r->err, "%s:%d: write SIGNAL = SWITCH, or SIGNAL = SWITCH inverted",
				    r->path, r->line);
	row->sw = td_config_switch(r->config, words->word[0]);
	row->inverted = words->count == 2;
	if (row->sw != TD_NO_SWITCH)
		return 0;
	for (uint8_t sw = 0; sw < r->config->switches; sw++)
		td_nearest_offer(&nearest, r->config->sw[sw].name);
	return no_such(r, "switch", words->word[0], nearest.best);
}

static int hold_row(struct reading *r, const struct td_words *words, struct td_replay_map_row *row)
{
	struct td_nearest nearest = td_nearest_to(words->word[0]);

	if (words->count != 2)
		return td_error_set(r->err, "%s:%d: write SIGNAL = AXIS WAY", r->path, r->line);
	row->sw = TD_NO_SWITCH;
	row->axis = td_config_axis(r->config, words->word[0]);
	if (row->axis == TD_NO_AXIS) {
		for (uint8_t axis = 0; axis < r->config->axes; axis++)
			td_nearest_offer(&nearest, r->config->axis[axis].name);
		return no_such(r, "axis", words->word[0], nearest.best);
	}
	row->way = td_config_way(r->config, row->axis, words->word[1]);
	if (row->way != TD_NO_WAY)
		return 0;
	nearest = td_nearest_to(words->word[1]);
	for (uint8_t way = 0; way < TD_WAYS; way++)
		td_nearest_offer(&nearest, r->config->axis[row->axis].way_name[way]);
	return no_such(r, "such way:", words->word[1], nearest.best);
}

/* A signal, or a switch, that stands twice would have two levels. */
static int check_twice(struct reading *r, const struct td_replay_map_row *row)
{
	for (unsigned int i = 0; i < r->map->rows; i++) {
		const struct td_replay_map_row *other = &r->map->row[i];

		if (strcmp(other->signal, row->signal) == 0)
			return td_error_set(r->err, "%s:%d: signal '%.60s' stands twice, first in line %d",
					    r->path, r->line, row->signal, other->line);
		if (row->sw != TD_NO_SWITCH && other->sw == row->sw)
			return td_error_set(r->err, "%s:%d: switch '%s' has a signal already, in line %d",
					    r->path, r->line, r->config->sw[row->sw].name, other->line);
	}
	return 0;
}

static int take_row(struct reading *r, const char *section, const char *name, const char *value)
{
	struct td_replay_map_row row = {.line = r->line};
	struct td_words words;
	bool holds = strcmp(section, "holds") == 0;

	td_words_split(value, strlen(value), &words);
	if (!holds && strcmp(section, "switches") != 0)
		return td_error_set(
			r->err,
			"%s:%d: this line stands under [%.40s]; it belongs under [switches] or [holds]",
			r->path, r->line, section);
	if (r->map->rows == TD_REPLAY_MAP_MAX || strlen(name) >= sizeof(row.signal))
		return td_error_set(r->err, "%s:%d: too many signals (at most %d), or too long a name",
				    r->path, r->line, TD_REPLAY_MAP_MAX);
	(void)snprintf(row.signal, sizeof(row.signal), "%s", name);
	if ((holds ? hold_row : switch_row)(r, &words, &row) != 0 || check_twice(r, &row) != 0)
		return -1;
	r->map->row[r->map->rows++] = row;
	return 0;
}

/* inih's callback: 0 is a failure. */
static int take_pair(void *user, const char *section, const char *name, const char *value)
{
	struct reading *r = user;

	if (!r->failed)
		r->failed = take_row(r, section, name, value ? value : "") != 0;
	return !r->failed;
}

/* inih reads through this, so the number of the line is known. */
static char *next_line(char *text, int size, void *stream)
{
	struct reading *r = stream;
	char *line = r->failed ? NULL : fgets(text, size, r->file);

	r->line++;
	if (!line || strchr(line, '\n') || feof(r->file))
		return line;
	r->failed = true;
	(void)td_error_set(r->err, "%s:%d: a line of more than %d bytes; shorten it", r->path, r->line,
			   size - 2);
	return NULL;
}

int td_replay_map_read(const char *path, const struct td_config *config, struct td_replay_map *map,
		       struct td_error *err)
{
	struct reading r = {.path = path, .config = config, .map = map, .err = err};

	*map = (struct td_replay_map){0};
	r.file = fopen(path, "re");
	if (!r.file)
		return td_error_set(err, "%s: cannot be read: %s", path, strerror(errno));
	int result = ini_parse_stream(next_line, &r, take_pair, &r);
	bool unreadable = ferror(r.file) != 0;

	(void)fclose(r.file);
	if (r.failed)
		return -1;
	if (unreadable)
		return td_error_set(err, "%s: cannot be read", path);
	if (result > 0)
		return td_error_set(err, "%s:%d: no heading and no SIGNAL = NAME; correct it", path, result);
	if (result < 0)
		return td_error_set(err, "%s: there is no memory left", path);
	return map->rows > 0
		       ? 0
		       : td_error_set(err, "%s: no signal is named; write [switches] and [holds]", path);
}
