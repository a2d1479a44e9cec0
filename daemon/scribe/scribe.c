/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/scribe.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/scribe/archive.h"
#include "daemon/scribe/diary.h"
#include "daemon/scribe/drain.h"
#include "daemon/scribe/haste.h"
#include "daemon/scribe/record_file.h"
#include "daemon/test_faults.h"

enum { LOOK_BUSY_MS = 250, LOOK_AT_REST_MS = 1000, LAST_TRIES = 3 };

struct scribe {
	const char *dir;
	const struct td_shared *shared;
	struct td_drain drain;
	uint32_t taken;
	struct td_haste haste;
	bool waits; /* a record was taken and is not on the disk yet */
	bool failed;
	struct td_shelf_record record;
};

static void save(struct scribe *self)
{
	struct td_error err;

	td_haste_try(&self->haste, td_clock_now());
	self->waits = td_record_save(self->dir, &self->record, &err) != 0;
	if (!self->waits)
		td_haste_done(&self->haste, &self->record);
	if (self->waits && !self->failed)
		fprintf(stderr, "<3>tripdogd: %s; what the motors have done is not kept over a restart\n",
			err.text);
	if (!self->waits && self->failed)
		fprintf(stderr, "<6>tripdogd: %s/" TD_RECORD_FILE " is written again\n", self->dir);
	self->failed = self->waits;
}

/* One that waits is kept where the next cannot be copied whole. */
static bool take(struct scribe *self)
{
	static struct td_shelf_record next;

	if (td_shelf_take(self->shared->records, &self->taken, &next)) {
		self->record = next;
		self->waits = true;
	}
	return self->waits;
}

/* True while there is a mover. */
static bool wait_for_mover(int life_fd, int span_ms)
{
	struct pollfd life = {.fd = life_fd, .events = POLLIN};
	int ready = poll(&life, 1, span_ms);

	return ready == 0 || (ready < 0 && errno == EINTR);
}

static struct td_archive *open_archive(const struct td_scribe_setup *from, char path[TD_PATH_MAX + 16])
{
	const struct td_archive_setup setup = {
		.dir = path,
		.config = from->config,
		.config_text = from->text->bytes,
		.config_length = from->text->length,
		.size_max = from->config->trace_size_max,
		.daily_max = from->config->trace_daily_max,
	};
	struct td_error err;

	(void)snprintf(path, TD_PATH_MAX + 16, "%s/" TD_TRACES_DIR, from->config->state_dir);
	struct td_archive *archive = td_archive_open(&setup, td_disk_in_use(), td_clock_now(), &err);

	if (!archive)
		fprintf(stderr, "<3>tripdogd: %s; no traces are kept\n", err.text);
	return archive;
}

/* The record goes first: it is small, and somebody may grow tired of waiting. */
static void finish(struct scribe *self)
{
	for (int i = 0; i < LAST_TRIES && !take(self); i++)
		;
	if (self->waits)
		save(self);
	while (td_drain_some(&self->drain))
		;
	td_archive_close(self->drain.archive, td_clock_now());
}

void td_scribe_run(const struct td_scribe_setup *setup)
{
	static struct scribe self;
	static char traces[TD_PATH_MAX + 16];
	int span_ms = LOOK_BUSY_MS;

	td_disk_use(td_test_fault_disk(td_disk_real()));
	self = (struct scribe){
		.dir = setup->config->state_dir, .shared = setup->shared, .haste = td_haste_begin()};
	td_drain_init(&self.drain, setup->shared, open_archive(setup, traces));
	td_diary_init(&self.drain.diary, setup->config, setup->arming, STDERR_FILENO);
	while (wait_for_mover(setup->life_fd, span_ms)) {
		span_ms = td_drain_some(&self.drain) ? LOOK_BUSY_MS : LOOK_AT_REST_MS;
		if (take(&self) && td_haste_due(&self.haste, &self.record, td_clock_now()))
			save(&self);
	}
	finish(&self);
}
