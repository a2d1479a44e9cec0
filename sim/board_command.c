/* SPDX-License-Identifier: MIT */
/* The commands of the board: one table. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "config/nearest.h"
#include "sim/board_parts.h"

enum { WORDS_MAX = 3 };

struct order {
	struct td_board *board;
	const char *rest;            /* the line behind the command's word */
	const char *word[WORDS_MAX]; /* the command and its arguments */
};

enum target { TARGET_NONE = 0, TARGET_SWITCH, TARGET_AXIS, TARGET_TEXT };

struct command {
	const char *name;
	enum target target;
	const char *more; /* a second argument, as documentation shows it, or NULL */
	const char *help;
	/* `index` is that of the target. NULL: done; else the answer. */
	json_t *(*run)(const struct order *order, uint8_t index);
};

static json_t *failure(const char *sentence)
{
	return json_pack("{s:b, s:s}", "ok", 0, "error", sentence);
}

static json_t *success(void)
{
	return json_pack("{s:b}", "ok", 1);
}

/* --- what each does ---------------------------------------------------------------------------------- */

static json_t *run_report(const struct order *order, uint8_t index)
{
	(void)index;
	return td_board_report(order->board);
}

static json_t *run_log(const struct order *order, uint8_t index)
{
	const struct td_board_setup *setup = &order->board->setup;
	struct td_error err = {""};

	(void)index;
	if (!setup->flush)
		return failure("no log is written; start the board with --log");
	return setup->flush(setup->flush_ctx, order->board->plant.now_ns, &err) < 0 ? failure(err.text)
										    : success();
}

static json_t *run_break(const struct order *order, uint8_t sw)
{
	td_plant_wire(&order->board->plant, sw, TD_WIRE_BROKEN);
	return NULL;
}

static json_t *run_short(const struct order *order, uint8_t sw)
{
	td_plant_wire(&order->board->plant, sw, TD_WIRE_SHORTED);
	return NULL;
}

static json_t *run_mend(const struct order *order, uint8_t sw)
{
	td_plant_wire(&order->board->plant, sw, TD_WIRE_SOUND);
	return NULL;
}

static json_t *run_press(const struct order *order, uint8_t sw)
{
	td_plant_press(&order->board->plant, sw, true);
	return NULL;
}

static json_t *run_unpress(const struct order *order, uint8_t sw)
{
	td_plant_press(&order->board->plant, sw, false);
	return NULL;
}

static json_t *run_jam(const struct order *order, uint8_t axis)
{
	td_plant_jam(&order->board->plant, axis, true);
	return NULL;
}

static json_t *run_free(const struct order *order, uint8_t axis)
{
	td_plant_jam(&order->board->plant, axis, false);
	return NULL;
}

static json_t *run_push(const struct order *order, uint8_t axis)
{
	static const double FARTHEST = 1e6;
	bool ends = order->board->plant.model.motor[axis].ends;
	char *end;
	double percent = strtod(order->word[2], &end);

	if (*end != '\0' || end == order->word[2] || !isfinite(percent))
		return failure("push AXIS PERCENT: the last word is not a number");
	if (ends ? percent < 0 || percent > 100 : fabs(percent) > FARTHEST)
		return failure("push AXIS PERCENT: an axis with ends can be pushed to 0 to 100 percent of "
			       "its travel, "
			       "one without to -1000000 to 1000000");
	td_plant_push(&order->board->plant, axis, percent / 100);
	return NULL;
}

static json_t *run_mark(const struct order *order, uint8_t index)
{
	(void)index;
	td_watch_mark(&order->board->watch, order->rest);
	return success();
}

static json_t *run_help(const struct order *order, uint8_t index);

static const struct command commands[] = {
	{"report", TARGET_NONE, NULL, "everything about the plant and its lines", run_report},
	{"break", TARGET_SWITCH, NULL, "the switch's wire is broken", run_break},
	{"short", TARGET_SWITCH, NULL, "the switch's line is shorted to ground", run_short},
	{"mend", TARGET_SWITCH, NULL, "its wire is sound again", run_mend},
	{"press", TARGET_SWITCH, NULL, "a finger presses the switch", run_press},
	{"unpress", TARGET_SWITCH, NULL, "the finger is gone", run_unpress},
	{"jam", TARGET_AXIS, NULL, "the axis is held where it is", run_jam},
	{"free", TARGET_AXIS, NULL, "it is let go", run_free},
	{"push", TARGET_AXIS, "PERCENT", "a hand puts the axis at this share of its travel", run_push},
	{"mark", TARGET_TEXT, NULL, "a remark in the log", run_mark},
	{"log", TARGET_NONE, NULL, "the log file is complete up to now", run_log},
	{"help", TARGET_NONE, NULL, "this list", run_help},
};

enum { COMMANDS = sizeof(commands) / sizeof(commands[0]) };

static const char *target_shown(enum target target)
{
	static const char *const shown[] = {[TARGET_NONE] = "",
					    [TARGET_SWITCH] = " SWITCH",
					    [TARGET_AXIS] = " AXIS",
					    [TARGET_TEXT] = " TEXT"};

	return shown[target];
}

static void show_form(const struct command *command, char *out, size_t size)
{
	(void)snprintf(out, size, "%s%s%s%s", command->name, target_shown(command->target),
		       command->more ? " " : "", command->more ? command->more : "");
}

static json_t *run_help(const struct order *order, uint8_t index)
{
	json_t *list = json_array();

	(void)order;
	(void)index;
	for (size_t i = 0; i < COMMANDS; i++) {
		char form[64];

		show_form(&commands[i], form, sizeof(form));
		(void)json_array_append_new(
			list, json_pack("{s:s, s:s}", "command", form, "does", commands[i].help));
	}
	return json_pack("{s:b, s:o}", "ok", 1, "commands", list);
}

/* --- from a line to a command ------------------------------------------------------------------------ */

static json_t *unknown_command(const char *word)
{
	struct td_nearest nearest = td_nearest_to(word);
	char sentence[128];

	for (size_t i = 0; i < COMMANDS; i++)
		td_nearest_offer(&nearest, commands[i].name);
	if (nearest.best)
		(void)snprintf(sentence, sizeof(sentence), "unknown command; did you mean %s?", nearest.best);
	else
		(void)snprintf(sentence, sizeof(sentence), "unknown command; 'help' lists them all");
	return failure(sentence);
}

static json_t *wrong_form(const struct command *command)
{
	char form[64];
	char sentence[128];

	show_form(command, form, sizeof(form));
	(void)snprintf(sentence, sizeof(sentence), "the form of this command is: %s", form);
	return failure(sentence);
}

/* Index of the switch or axis the command names, or -1. */
static int find_target(const struct order *order, enum target target)
{
	const struct td_config *config = order->board->setup.config;

	if (target == TARGET_SWITCH) {
		uint8_t sw = td_config_switch(config, order->word[1]);
		return sw == TD_NO_SWITCH ? -1 : sw;
	}
	uint8_t axis = td_config_axis(config, order->word[1]);
	return axis == TD_NO_AXIS ? -1 : axis;
}

static json_t *run_on_target(const struct command *command, const struct order *order, const char *line)
{
	int index = find_target(order, command->target);

	if (index < 0)
		return failure(command->target == TARGET_SWITCH
				       ? "the configuration has no switch of that name"
				       : "the configuration has no axis of that name");
	json_t *answer = command->run(order, (uint8_t)index);
	if (answer)
		return answer;
	td_watch_mark(&order->board->watch, line);
	td_watch_look(&order->board->watch);
	return success();
}

static json_t *run(const struct command *command, const struct order *order, size_t words, const char *line)
{
	switch (command->target) {
	case TARGET_NONE: return words == 1 ? command->run(order, 0) : wrong_form(command);
	case TARGET_TEXT: return words > 1 ? command->run(order, 0) : wrong_form(command);
	case TARGET_SWITCH:
	case TARGET_AXIS: break;
	}
	return words == (command->more ? 3U : 2U) ? run_on_target(command, order, line) : wrong_form(command);
}

json_t *td_board_command(struct td_board *board, const char *line)
{
	struct order order = {.board = board};
	char copy[TD_BOARD_LINE_MAX];
	char *rest = copy;
	size_t words = 0;

	line += strspn(line, " \t");
	(void)snprintf(copy, sizeof(copy), "%s", line);
	for (char *word = strtok_r(rest, " \t", &rest); word; word = strtok_r(NULL, " \t", &rest)) {
		if (words < WORDS_MAX)
			order.word[words] = word;
		words++;
	}
	if (words == 0)
		return failure("an empty line; 'help' lists the commands");
	order.rest = line + strlen(order.word[0]);
	order.rest += strspn(order.rest, " \t");
	for (size_t i = 0; i < COMMANDS; i++)
		if (strcmp(commands[i].name, order.word[0]) == 0)
			return run(&commands[i], &order, words, line);
	return unknown_command(order.word[0]);
}
