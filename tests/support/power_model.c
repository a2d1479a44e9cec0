/* SPDX-License-Identifier: MIT */
#include "tests/support/power_model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- bytes ---------------------------------------------------------------------------------------- */

static void set_size(struct power_bytes *bytes, size_t size)
{
	if (size > bytes->room) {
		bytes->room = 2 * size;
		bytes->bytes = realloc(bytes->bytes, bytes->room);
		if (!bytes->bytes)
			abort();
	}
	if (size > bytes->size)
		memset(bytes->bytes + bytes->size, 0, size - bytes->size);
	bytes->size = size;
}

static void write_piece(struct power_bytes *to, const struct power_piece *piece)
{
	const struct power_call *call = piece->call;
	size_t count = piece->fate == POWER_CUT ? piece->cut : call->count;

	if (piece->fate == POWER_LOST)
		return;
	if (call->kind == POWER_EMPTY) {
		to->size = 0;
		return;
	}
	if (count > 0 && call->offset + count > to->size)
		set_size(to, call->offset + count);
	if (piece->fate != POWER_ZEROS && count > 0)
		memcpy(to->bytes + call->offset, call->bytes, count);
}

static bool is_of_file(const struct power_piece *piece, int file)
{
	return (piece->call->kind == POWER_WRITE || piece->call->kind == POWER_EMPTY) &&
	       piece->call->file == file;
}

const struct power_bytes *power_model_bytes(const struct power_model *model, int file)
{
	static struct power_bytes made;
	const struct power_bytes *sure = &model->sure[file];

	made.size = 0;
	set_size(&made, sure->size);
	if (sure->size > 0)
		memcpy(made.bytes, sure->bytes, sure->size);
	for (unsigned int i = 0; i < model->pieces; i++)
		if (is_of_file(&model->piece[i], file))
			write_piece(&made, &model->piece[i]);
	return &made;
}

static uint64_t content_of(const struct power_model *model, int file)
{
	uint64_t content = power_mix(power_mix(1, (uint64_t)file), model->sure[file].version);

	for (unsigned int i = 0; i < model->pieces; i++) {
		const struct power_piece *piece = &model->piece[i];

		if (piece->fate == POWER_LOST || !is_of_file(piece, file))
			continue;
		content = power_mix(content, (uint64_t)(uintptr_t)piece->call);
		content =
			power_mix(content, piece->fate == POWER_CUT ? 8 + piece->cut : (uint64_t)piece->fate);
	}
	return content;
}

/* --- names ---------------------------------------------------------------------------------------- */

struct names {
	unsigned int *count;
	struct power_name *name;
	bool *has_inner;
};

static void drop(struct names *names, int dir, const char *name)
{
	for (unsigned int i = 0; i < *names->count; i++)
		if (names->name[i].dir == dir && strcmp(names->name[i].name, name) == 0) {
			names->name[i] = names->name[--*names->count];
			return;
		}
}

static void give(struct names *names, int dir, const char *name, int file)
{
	drop(names, dir, name);
	if (*names->count == POWER_NAMES)
		abort();
	struct power_name *next = &names->name[(*names->count)++];

	*next = (struct power_name){.dir = dir, .file = file};
	(void)snprintf(next->name, sizeof(next->name), "%s", name);
}

static void apply(struct names *names, const struct power_log *log, const struct power_call *call)
{
	if (call->kind == POWER_MAKE && call->dir == 0 && strcmp(call->name, log->inner) == 0)
		*names->has_inner = true;
	else if (call->kind == POWER_MAKE)
		give(names, call->dir, call->name, call->file);
	else if (call->kind == POWER_REMOVE)
		drop(names, call->dir, call->name);
	else {
		drop(names, call->dir, call->name);
		give(names, call->dir, call->to, call->file);
	}
}

static bool is_of_dir(const struct power_piece *piece, int dir)
{
	enum power_kind kind = piece->call->kind;

	return (kind == POWER_MAKE || kind == POWER_RENAME || kind == POWER_REMOVE) &&
	       piece->call->dir == dir;
}

void power_model_state(const struct power_model *model, const struct power_log *log,
		       struct power_state *state)
{
	struct names names = {.count = &state->names, .name = state->name, .has_inner = &state->has_inner};
	unsigned int left = 0;

	state->names = model->names;
	state->has_inner = model->has_inner;
	memcpy(state->name, model->name, model->names * sizeof(model->name[0]));
	for (unsigned int i = 0; i < model->pieces; i++)
		if (model->piece[i].fate == POWER_KEPT &&
		    (is_of_dir(&model->piece[i], 0) || is_of_dir(&model->piece[i], 1)))
			apply(&names, log, model->piece[i].call);
	for (unsigned int i = 0; i < state->names; i++)
		if (state->name[i].dir == 0 || state->has_inner)
			state->name[left++] = state->name[i];
	state->names = left;
	for (unsigned int i = 0; i < state->names; i++)
		state->name[i].content = content_of(model, state->name[i].file);
}

/* --- what becomes certain ------------------------------------------------------------------------- */

static void settle_file(struct power_model *model, int file)
{
	unsigned int left = 0;

	for (unsigned int i = 0; i < model->pieces; i++) {
		struct power_piece *piece = &model->piece[i];

		piece->fate = POWER_KEPT;
		if (is_of_file(piece, file))
			write_piece(&model->sure[file], piece);
		else
			model->piece[left++] = *piece;
	}
	model->pieces = left;
	model->sure[file].version++;
}

static void settle_dir(struct power_model *model, const struct power_log *log, int dir)
{
	struct names names = {.count = &model->names, .name = model->name, .has_inner = &model->has_inner};
	unsigned int left = 0;

	for (unsigned int i = 0; i < model->pieces; i++) {
		if (is_of_dir(&model->piece[i], dir))
			apply(&names, log, model->piece[i].call);
		else
			model->piece[left++] = model->piece[i];
	}
	model->pieces = left;
}

void power_model_call(struct power_model *model, const struct power_log *log, const struct power_call *call)
{
	if (call->kind == POWER_SYNC) {
		settle_file(model, call->file);
		return;
	}
	if (call->kind == POWER_SYNC_DIR) {
		settle_dir(model, log, call->dir);
		return;
	}
	if (model->pieces == POWER_PENDING)
		abort();
	model->piece[model->pieces++] = (struct power_piece){.call = call};
}

void power_model_free(struct power_model *model)
{
	for (int i = 0; i < POWER_FILES; i++)
		free(model->sure[i].bytes);
	memset(model, 0, sizeof(*model));
}
