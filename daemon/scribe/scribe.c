/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/scribe.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>

#include "core/record.h"
#include "daemon/clock.h"
#include "daemon/scribe/record_file.h"

enum { LOOK_EVERY_MS = 500, LAST_TRIES = 3 };

struct scribe {
	const char *dir;
	struct td_shelf *shelf;
	uint32_t taken;
	td_ns saved_ns;
	bool waits; /* a record was taken and is not on the disk yet */
	bool failed;
	struct td_shelf_record record;
};

static void save(struct scribe *self)
{
	struct td_error err;

	self->saved_ns = td_clock_now();
	self->waits = td_record_save(self->dir, &self->record, &err) != 0;
	if (self->waits && !self->failed)
		fprintf(stderr, "<3>tripdogd: %s; what the motors have done is not kept over a restart\n",
			err.text);
	if (!self->waits && self->failed)
		fprintf(stderr, "<6>tripdogd: %s/" TD_RECORD_FILE " is written again\n", self->dir);
	self->failed = self->waits;
}

static bool take(struct scribe *self)
{
	self->waits = td_shelf_take(self->shelf, &self->taken, &self->record) || self->waits;
	return self->waits;
}

/* True while there is a mover. */
static bool wait_for_mover(int life_fd)
{
	struct pollfd life = {.fd = life_fd, .events = POLLIN};
	int ready = poll(&life, 1, LOOK_EVERY_MS);

	return ready == 0 || (ready < 0 && errno == EINTR);
}

void td_scribe_run(const char *state_dir, struct td_shelf *shelf, int life_fd)
{
	static struct scribe self;

	self = (struct scribe){.dir = state_dir, .shelf = shelf, .saved_ns = -TD_RECORD_EVERY_NS};
	while (wait_for_mover(life_fd))
		if (td_clock_now() >= self.saved_ns + TD_RECORD_EVERY_NS && take(&self))
			save(&self);
	for (int i = 0; i < LAST_TRIES && !take(&self); i++)
		;
	if (self.waits)
		save(&self);
}
