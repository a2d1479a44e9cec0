/* SPDX-License-Identifier: MIT */
/*
 * What happened as lines of the log: one for each piece of news (starts, stops, trips, refusals, latch, resets, arming), for
 * each order of the keeper's kind that the core refused, for each client that came, went or was turned away, and
 * for entries that were lost. The words are those of the table of causes. tripdogd(8) has the forms.
 *
 * Rate limited in three kinds, so that neither clients that come and go nor requests that are refused can hide a trip.
 */
#ifndef TD_DAEMON_DIARY_H
#define TD_DAEMON_DIARY_H

#include "config/config.h"
#include "daemon/arming.h"
#include "daemon/journal.h"
#include "trace/entry.h"

/* Both clocks at one moment. */
struct td_diary_clock {
	td_ns now_ns;  /* CLOCK_MONOTONIC */
	td_ns wall_ns; /* CLOCK_REALTIME */
};

struct td_diary {
	const struct td_config *config; /* borrowed */
	const struct td_arming *arming; /* borrowed */
	struct td_journal machine, clients, refusals;
	struct td_diary_clock clock;
	uint32_t from;    /* the session whose order the last step was for; 0 = nobody's */
	uint64_t next[2]; /* number expected of the mover's and of the front's entries */
};

struct td_diary_clock td_diary_clock_now(void);

/* `config` and `arming` must outlive it; lines go to `fd`. */
void td_diary_init(struct td_diary *diary, const struct td_config *config, const struct td_arming *arming,
		   int fd);

/* Lines of the next entry, if it is worth one. The wall clock is that of the entry's own time. Returns how many entries
 * were lost right before it. Blocks on `fd`. */
uint64_t td_diary_entry(struct td_diary *diary, const struct td_entry *entry, struct td_diary_clock clock);

#endif
