/* SPDX-License-Identifier: MIT */
#include "sim/replay/file.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "sim/replay/out.h"
#include "sim/replay/tell.h"

struct player {
	const struct td_replay_order *order;
	struct td_config config;
	char *config_text; /* the embedded one, ours */
	size_t config_length;
	bool begun;
	bool failed; /* with a sentence in err */
	struct td_replay replay;
	struct td_replay_out out;
	struct td_replay_account account;
	struct td_error *err;
};

static int take_configuration(void *ctx, const char *text, size_t length)
{
	struct player *player = ctx;

	player->config_text = malloc(length + 1);
	if (player->config_text) {
		memcpy(player->config_text, text, length);
		player->config_text[length] = '\0';
		player->config_length = length;
		return 0;
	}
	player->failed = true;
	return td_error_set(player->err, "there is no memory left; end other programs");
}

static int open_out(struct player *player, const struct td_tape_head *head)
{
	const struct td_replay_order *order = player->order;
	const char *text = order->config_text ? order->config_text : player->config_text;
	size_t length = order->config_text ? order->config_length : player->config_length;
	struct td_snapshot snapshot = {
		.number = head->first_number,
		.levels = player->replay.levels,
		.outputs = player->replay.outputs,
		.core = player->replay.core,
	};

	if (td_replay_out_open(&player->out, order->out_path, &player->config, text ? text : "", length, head,
			       &snapshot, player->err) == 0) {
		player->replay.tap = td_replay_out_tap(&player->out);
		return 0;
	}
	player->failed = true;
	return -1;
}

static int take_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		     const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		     uint32_t outputs)
{
	struct player *player = ctx;
	bool other_settings = config->hash != head->config_hash;

	(void)outputs;
	player->config = *config;
	player->account.head = *head;
	player->account.other_settings = other_settings;
	player->account.other_build = !snapshot;
	td_replay_begin(&player->replay, &(struct td_replay_setup){
						 .config = &player->config,
						 .snapshot = player->order->from_record ? NULL : snapshot,
						 .keep = keep,
						 .begin_ns = head->begin_ns,
						 .first_number = head->first_number,
						 .levels = levels,
						 .other_rules = other_settings,
					 });
	player->begun = true;
	return player->order->out_path ? open_out(player, head) : 0;
}

static int take_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	return td_replay_entry(&((struct player *)ctx)->replay, file_ns, entry);
}

static int take_check(void *ctx, td_ns file_ns, uint32_t check)
{
	return td_replay_check(&((struct player *)ctx)->replay, file_ns, check);
}

static int take_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	return td_replay_lost(&((struct player *)ctx)->replay, file_ns, lost);
}

/* Proves nothing: nothing was compared, although there were steps. */
static bool in_vain(const struct td_replay_tally *tally)
{
	return tally->steps > 0 && tally->compared == 0;
}

static enum td_replay_verdict judge(const struct player *player)
{
	const struct td_replay_tally *tally = &player->replay.tally;

	if (tally->differ > 0)
		return TD_REPLAY_DIFFERENT;
	if (!in_vain(tally))
		return TD_REPLAY_SAME;
	(void)td_error_set(player->err, "%s: no step could be compared; take a longer trace",
			   player->order->shown_as);
	return TD_REPLAY_UNUSABLE;
}

/* What was read before damage is told too, but counts for nothing. */
static void tell(struct player *player, FILE *told)
{
	player->account.replay = &player->replay;
	player->account.shown_as = player->order->shown_as;
	player->account.config_path = player->order->config_path;
	player->account.config_text = player->order->config_text;
	player->account.trace_text = player->config_text;
	if (player->begun && !player->failed)
		td_replay_tell(told, &player->account);
}

static enum td_replay_verdict finish(struct player *player, enum td_tape_result result, FILE *told)
{
	struct td_tape_summary *summary = &player->account.summary;
	struct td_error ignored = {""};
	bool usable = result == TD_TAPE_READ && player->begun;

	if (player->begun)
		(void)td_replay_end(&player->replay, !usable || summary->cut_off);
	if (td_replay_out_close(&player->out, player->replay.begin_ns + summary->last_ns,
				usable ? player->err : &ignored) != 0)
		return TD_REPLAY_UNUSABLE;
	if (result == TD_TAPE_FOREIGN)
		return TD_REPLAY_FOREIGN;
	tell(player, told);
	return usable ? judge(player) : TD_REPLAY_UNUSABLE;
}

enum td_replay_verdict td_replay_file(FILE *in, const struct td_replay_order *order, FILE *told,
				      struct td_error *err)
{
	struct player *player = calloc(1, sizeof(*player));

	if (!player) {
		(void)td_error_set(err, "there is no memory left; end other programs");
		return TD_REPLAY_UNUSABLE;
	}
	player->order = order;
	player->err = err;
	const struct td_tape_sink sink = {.ctx = player,
					  .configuration = take_configuration,
					  .head = take_head,
					  .entry = take_entry,
					  .check = take_check,
					  .lost = take_lost};
	enum td_tape_result result =
		td_tape_play(in, order->shown_as, order->config, &sink, &player->account.summary, err);
	enum td_replay_verdict verdict = finish(player, result, told);

	free(player->config_text);
	free(player);
	return verdict;
}
