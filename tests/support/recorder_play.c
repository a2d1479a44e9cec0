/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "tests/support/recorder.h"

struct player {
	struct recorder_file *file;
	struct td_config config;
	struct td_core core;
	struct td_result result;
};

static int take_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		     const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		     uint32_t outputs)
{
	struct player *player = ctx;

	(void)keep;
	(void)levels;
	(void)outputs;
	player->file->head = *head;
	player->config = *config;
	if (!snapshot)
		return 1;
	player->core = snapshot->core;
	return 0;
}

static void compare_step(struct player *player, const struct td_entry *entry)
{
	const struct td_entry_step *step = &entry->as.step;
	struct recorder_file *file = player->file;

	td_core_step(&player->core, &player->config.rules, &step->event, &player->result);
	if (player->core.now_ns != entry->at_ns || player->result.outputs != step->outputs ||
	    player->result.answer != step->answer || player->result.news_count != step->news ||
	    player->core.armed != step->armed || player->core.latch != step->latch)
		file->different++;
	file->last_number = entry->number;
	file->last_ns = entry->at_ns;
}

static int take_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	struct player *player = ctx;
	struct recorder_file *file = player->file;

	(void)file_ns;
	file->entries++;
	if (entry->kind == TD_ENTRY_STEP && file->lost == 0)
		compare_step(player, entry);
	if (entry->kind == TD_ENTRY_NEWS && td_cause_kind(entry->as.news.cause) == TD_KIND_TRIP &&
	    file->trips++ == 0)
		file->trip_ns = entry->at_ns;
	return 0;
}

static int take_check(void *ctx, td_ns file_ns, uint32_t check)
{
	struct player *player = ctx;

	(void)file_ns;
	player->file->checks++;
	if (player->file->lost == 0 && td_tape_check_of(&player->core, &player->config.rules) != check)
		player->file->different++;
	return 0;
}

static int take_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	struct player *player = ctx;

	(void)file_ns;
	player->file->lost += lost;
	return 0;
}

struct recorder_file recorder_play(const char *path)
{
	static struct player player;
	struct recorder_file file = {.result = TD_TAPE_BAD};
	const struct td_tape_sink sink = {
		.ctx = &player,
		.head = take_head,
		.entry = take_entry,
		.check = take_check,
		.lost = take_lost,
	};
	FILE *in = fopen(path, "r");

	if (!in)
		return file;
	player = (struct player){.file = &file};
	file.result = td_tape_play(in, path, NULL, &sink, &file.summary, &file.err);
	(void)fclose(in);
	return file;
}
