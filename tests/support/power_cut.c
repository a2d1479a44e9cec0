/* SPDX-License-Identifier: MIT */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/support/power_model.h"

enum { ALL_SUBSETS_UP_TO = 8, SEEN = 1 << 14 };

struct cutter {
	struct power_model model;
	const struct power_log *log;
	const char *dir;
	struct dice *dice;
	bool (*look)(void *ctx, const struct power_state *state);
	void *ctx;
	struct power_count count;
	struct power_state state;
	unsigned int there; /* names on the disk */
	struct power_name on_disk[POWER_NAMES];
	bool has_inner;
	uint64_t seen[SEEN];
	bool stopped;
};

/* --- the real directory -------------------------------------------------------------------------- */

static const char *path_of(const struct cutter *self, const struct power_name *name)
{
	static char path[TEST_DISK_PATH_MAX + 2 * POWER_NAME_MAX];

	(void)snprintf(path, sizeof(path), "%s/%s%s%s", self->dir, name->dir ? self->log->inner : "",
		       name->dir ? "/" : "", name->name);
	return path;
}

static void must(bool fine, const char *what)
{
	if (fine)
		return;
	perror(what);
	abort();
}

static void write_file(const struct cutter *self, const struct power_name *name)
{
	const struct power_bytes *bytes = power_model_bytes(&self->model, name->file);
	const char *path = path_of(self, name);
	int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);

	must(fd >= 0, path);
	must(write(fd, bytes->bytes, bytes->size) == (ssize_t)bytes->size, path);
	must(close(fd) == 0, path);
}

static const struct power_name *find(const struct power_name *names, unsigned int count,
				     const struct power_name *name)
{
	for (unsigned int i = 0; i < count; i++)
		if (names[i].dir == name->dir && strcmp(names[i].name, name->name) == 0)
			return &names[i];
	return NULL;
}

static void set_inner(struct cutter *self, bool wanted)
{
	const struct power_name inner = {.dir = 0};
	char path[TEST_DISK_PATH_MAX + 2 * POWER_NAME_MAX];

	(void)snprintf(path, sizeof(path), "%s%s", path_of(self, &inner), self->log->inner);
	if (wanted && access(path, F_OK) != 0)
		must(mkdir(path, 0700) == 0, path);
	if (!wanted && access(path, F_OK) == 0)
		must(rmdir(path) == 0, path);
}

static void make_it_so(struct cutter *self, const struct power_state *state)
{
	unsigned int left = 0;

	for (unsigned int i = 0; i < self->there; i++) {
		if (find(state->name, state->names, &self->on_disk[i]))
			self->on_disk[left++] = self->on_disk[i];
		else
			must(unlink(path_of(self, &self->on_disk[i])) == 0, "unlink");
	}
	self->there = left;
	set_inner(self, state->has_inner);
	for (unsigned int i = 0; i < state->names; i++) {
		const struct power_name *old = find(self->on_disk, self->there, &state->name[i]);

		if (!old || old->content != state->name[i].content)
			write_file(self, &state->name[i]);
	}
	self->there = state->names;
	memcpy(self->on_disk, state->name, state->names * sizeof(state->name[0]));
}

/* Whoever looked may have removed some. */
static void see_what_is_left(struct cutter *self)
{
	unsigned int left = 0;

	for (unsigned int i = 0; i < self->there; i++)
		if (access(path_of(self, &self->on_disk[i]), F_OK) == 0)
			self->on_disk[left++] = self->on_disk[i];
	self->there = left;
}

/* --- one state ------------------------------------------------------------------------------------ */

static uint64_t hash_of(const struct power_state *state)
{
	uint64_t sum = power_mix(1, state->has_inner);

	for (unsigned int i = 0; i < state->names; i++) {
		uint64_t one = power_mix(state->name[i].content, (uint64_t)state->name[i].dir);

		for (const char *c = state->name[i].name; *c; c++)
			one = power_mix(one, (uint64_t)*c);
		sum += one; /* the order does not count */
	}
	return sum | 1;
}

static bool is_new(struct cutter *self, uint64_t hash)
{
	for (unsigned int i = 0; i < SEEN; i++) {
		uint64_t *slot = &self->seen[(hash + i) % SEEN];

		if (*slot == hash)
			return false;
		if (*slot == 0) {
			*slot = hash;
			return true;
		}
	}
	return true;
}

static void try_it(struct cutter *self)
{
	if (self->stopped)
		return;
	power_model_state(&self->model, self->log, &self->state);
	self->count.states++;
	if (!is_new(self, hash_of(&self->state)))
		return;
	self->count.distinct++;
	make_it_so(self, &self->state);
	self->stopped = !self->look(self->ctx, &self->state);
	see_what_is_left(self);
}

/* --- which ones ----------------------------------------------------------------------------------- */

static void set_all(struct cutter *self, enum power_fate fate)
{
	for (unsigned int i = 0; i < self->model.pieces; i++)
		self->model.piece[i].fate = fate;
}

static void try_parts_of(struct cutter *self, struct power_piece *piece)
{
	const size_t cuts[] = {1, piece->call->count / 2, piece->call->count - 1};

	for (unsigned int i = 0; i < sizeof(cuts) / sizeof(cuts[0]); i++) {
		piece->fate = POWER_CUT;
		piece->cut = cuts[i];
		try_it(self);
	}
	piece->fate = POWER_ZEROS;
	try_it(self);
}

/* Each one another than the rest, which is as `rest` says. */
static void try_each(struct cutter *self, enum power_fate rest)
{
	set_all(self, rest);
	try_it(self);
	for (unsigned int i = 0; i < self->model.pieces; i++) {
		struct power_piece *piece = &self->model.piece[i];

		piece->fate = rest == POWER_KEPT ? POWER_LOST : POWER_KEPT;
		try_it(self);
		if (piece->call->kind == POWER_WRITE)
			try_parts_of(self, piece);
		piece->fate = rest;
	}
}

static void try_subsets(struct cutter *self)
{
	for (unsigned int set = 0; set < 1U << self->model.pieces; set++) {
		for (unsigned int i = 0; i < self->model.pieces; i++)
			self->model.piece[i].fate = set >> i & 1 ? POWER_KEPT : POWER_LOST;
		try_it(self);
	}
}

static void throw_fate(struct cutter *self, struct power_piece *piece)
{
	static const enum power_fate fates[] = {POWER_LOST, POWER_LOST, POWER_LOST, POWER_KEPT,
						POWER_KEPT, POWER_KEPT, POWER_CUT,  POWER_ZEROS};
	bool is_write = piece->call->kind == POWER_WRITE;

	piece->fate = fates[dice_below(self->dice, is_write ? 8 : 6)];
	piece->cut = is_write ? dice_below(self->dice, piece->call->count) : 0;
}

static void try_moment(struct cutter *self, unsigned int random)
{
	memset(self->seen, 0, sizeof(self->seen));
	try_each(self, POWER_LOST);
	try_each(self, POWER_KEPT);
	if (self->model.pieces <= ALL_SUBSETS_UP_TO) {
		try_subsets(self);
		return;
	}
	for (unsigned int i = 0; i < random; i++) {
		for (unsigned int k = 0; k < self->model.pieces; k++)
			throw_fate(self, &self->model.piece[k]);
		try_it(self);
	}
}

static bool makes_certain(const struct power_log *log, unsigned int call)
{
	return call == log->calls || log->call[call].kind == POWER_SYNC ||
	       log->call[call].kind == POWER_SYNC_DIR;
}

struct power_count power_cut(const struct power_log *log, const char *dir, struct dice *dice,
			     unsigned int random, bool (*look)(void *ctx, const struct power_state *state),
			     void *ctx)
{
	static struct cutter self;

	memset(&self, 0, sizeof(self));
	self.log = log;
	self.dir = dir;
	self.dice = dice;
	self.look = look;
	self.ctx = ctx;
	self.state.dir = dir;
	must(mkdir(dir, 0700) == 0, dir);
	for (unsigned int i = 0; i <= log->calls && !self.stopped; i++) {
		self.state.after = i;
		try_moment(&self, makes_certain(log, i) ? random : random / 10);
		if (i < log->calls)
			power_model_call(&self.model, log, &log->call[i]);
	}
	make_it_so(&self, &(struct power_state){.dir = dir});
	must(rmdir(dir) == 0, dir);
	power_model_free(&self.model);
	return self.count;
}
