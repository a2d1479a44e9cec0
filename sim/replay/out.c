/* SPDX-License-Identifier: MIT */
#include "sim/replay/out.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int td_replay_out_open(struct td_replay_out *out, const char *path, const struct td_config *config,
		       const char *config_text, size_t config_length, const struct td_tape_head *head,
		       const struct td_snapshot *snapshot, struct td_error *err)
{
	struct td_tape_head own = *head;

	*out = (struct td_replay_out){.path = path, .config = config, .last_ns = snapshot->core.now_ns};
	(void)snprintf(own.kind, sizeof(own.kind), "replay");
	(void)snprintf(own.version, sizeof(own.version), "%s", TD_VERSION);
	own.config_hash = config->hash;
	out->file = fopen(path, "we");
	if (!out->file)
		return td_error_set(err, "%s: cannot be written: %s; choose another path", path,
				    strerror(errno));
	out->tape = td_tape_new(out->file, config, config_text, config_length, &own, snapshot, &out->err);
	if (out->tape)
		return 0;
	return td_error_set(err, "%s: could not be written: %s", path, out->err.text);
}

static int take_entry(void *ctx, const struct td_entry *entry)
{
	struct td_replay_out *out = ctx;

	out->last_ns = entry->at_ns > out->last_ns ? entry->at_ns : out->last_ns;
	return td_tape_put(out->tape, entry, &out->err);
}

static int take_check(void *ctx, const struct td_core *core, uint64_t number)
{
	struct td_replay_out *out = ctx;
	struct td_snapshot snapshot = {.number = number, .core = *core};

	return td_tape_check(out->tape, &snapshot, &out->err);
}

struct td_replay_tap td_replay_out_tap(struct td_replay_out *out)
{
	return (struct td_replay_tap){.ctx = out, .entry = take_entry, .check = take_check};
}

/* A device or pipe stays. */
static void take_away(const char *path)
{
	struct stat about;

	if (lstat(path, &about) == 0 && S_ISREG(about.st_mode))
		(void)unlink(path);
}

int td_replay_out_close(struct td_replay_out *out, td_ns at_ns, struct td_error *err)
{
	int result = out->err.text[0] || (out->file && !out->tape) ? -1 : 0;

	if (!out->file)
		return 0;
	if (result == 0)
		result = td_tape_finish(out->tape, at_ns > out->last_ns ? at_ns : out->last_ns, &out->err);
	if (fclose(out->file) != 0 && result == 0)
		result = td_error_set(&out->err, "%s", strerror(errno));
	td_tape_free(out->tape);
	out->file = NULL;
	if (result == 0)
		return 0;
	take_away(out->path);
	if (out->err.text[0])
		(void)td_error_set(err, "%s: could not be written: %s", out->path, out->err.text);
	return -1;
}
