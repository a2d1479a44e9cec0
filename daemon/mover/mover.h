/* SPDX-License-Identifier: MIT */
/*
 * The mover: holds the lines, runs the core, and nothing else. After the start it allocates nothing,
 * formats nothing, touches no disk and talks to no client; the one process it talks to is the front, in
 * messages of fixed size, and it never waits for it.
 *
 * A cycle: edges and levels in, urgent orders, orders (the urgent ones read to the end before each), time if the core's
 * deadline has come, or if anything moves and it has heard of nothing for 50 ms.
 * After every single step of the core the outputs are made real before anything else happens; the guard
 * hears of an output before it goes high. Then the front hears of its news, and the step goes to the scribe (feed.h).
 *
 * What it counts on the way goes to the front as a whole (meter.h), how long every stop took among it: from the time stamp
 * of the edge, the reading of the order, or the time at which something was due, until the outputs were written.
 *
 * At the end the outputs go low first. Then the core hears that it was disarmed, or has lost its lines, so that news and
 * trace end with what happened.
 *
 * Beside the core runs the monitor (core/monitor.h), which shares nothing with it but the events. A word of outputs
 * that would break a rule is never written: all outputs go low, every axis trips with the cause "internal", the log
 * names the rule. A keeper's reset clears it like any trip. In a cycle without a step it looks at what is on the lines all
 * the same, so a core that forgot to cut is caught no later than one that was asked.
 *
 * SIGHUP stops all motion, like a stop that somebody asked for, and has the configuration checked anew (reload.h).
 *
 * The heartbeat line, where there is one, changes every TD_MOVER_BEAT_NS while the machine is armed, as the last
 * thing of a cycle and nowhere else: a mover that hangs, spins, is stopped or ended leaves it as it is.
 */
#ifndef TD_DAEMON_MOVER_H
#define TD_DAEMON_MOVER_H

#include <stdbool.h>
#include <sys/types.h>

#include "core/core.h"
#include "core/monitor.h"
#include "daemon/channel.h"
#include "daemon/mover/ear.h"
#include "daemon/mover/feed.h"
#include "daemon/mover/meter.h"
#include "daemon/mover/manager.h"
#include "daemon/mover/notes.h"
#include "daemon/mover/records.h"
#include "daemon/mover/reload.h"
#include "lines/lines.h"

/* 100 Hz: a circuit that wants 50 Hz bears a beat that comes a whole one late. */
#define TD_MOVER_BEAT_NS TD_MS(5)

struct td_mover_setup {
	const struct td_rules *rules; /* must outlive the mover */
	struct td_lines *lines;       /* requested, all low; stays the caller's */
	struct td_channel channel;    /* stays the caller's */
	int pulse_fd;                 /* to the guard; stays the caller's */
	int signal_fd;                /* signalfd with SIGTERM, SIGINT and SIGHUP; stays the caller's */
	int scribe_fd;                /* to the scribe, which never says anything; -1 = none */
	struct td_shelf *shelf;       /* where records for the scribe go; NULL = nowhere */
	struct td_queue *steps;       /* where every step of the core goes; NULL = nowhere */
	struct td_shelf *snapshots; /* where the core goes now and then (feed.h), if the steps go anywhere */
	struct td_shelf *meters;    /* where what is counted goes (meter.h); NULL = nowhere */
	uint32_t machine;           /* in the head of each record */
	const struct td_keep *kept; /* of the last run, read at td_mover_run(); NULL = nothing */
	td_ns kept_ns;              /* when that was taken */
	td_ns poll_ns;              /* levels are re-read this often while anything moves */
	bool latched;               /* the latched stop was on before the restart */
	uint32_t locked;            /* R11: ways that were locked, bit axis * 2 + way */
	bool may_arm;               /* R14: false: it runs and answers, but nothing moves */
	const char *why_not;        /* then: why; NULL = nothing speaks against it */
	const struct td_notify *notify; /* the service manager; NULL = there is none */
	char *const *check;             /* what checks a new configuration (reload.h); NULL = nothing does */
};

enum td_mover_end {
	TD_MOVER_ASKED = 0,   /* a signal asked it to end */
	TD_MOVER_RELOAD,      /* SIGHUP, and the new configuration is good */
	TD_MOVER_FRONT_GONE,  /* the front process ended or misbehaved */
	TD_MOVER_GUARD_GONE,  /* the guard process ended, or no longer listens */
	TD_MOVER_SCRIBE_GONE, /* the scribe process ended */
	TD_MOVER_LINES_LOST,  /* the lines could not be read or written */
	TD_MOVER_CANNOT_WAIT, /* the kernel refused to wait: never seen, still safe */
};

struct td_mover {
	const struct td_rules *rules;
	struct td_lines *lines;
	struct td_channel channel;
	int pulse_fd;
	int signal_fd;
	int scribe_fd;
	td_ns poll_ns;
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor; /* judges each word of outputs before it is written */
	bool breached;             /* a breach was told, and nobody has asked for a reset since */
	td_ns latch_heard_ns;      /* R10: a reset heard no later than this latch does not clear it */
	struct td_notes notes;
	struct td_mover_records records;
	struct td_feed feed;
	struct td_metering metering;
	struct td_mover_manager manager;
	struct td_reload reload;
	struct td_ear ear;
	bool may_arm;     /* as in the setup */
	uint32_t levels;  /* as last given to the core */
	uint32_t written; /* outputs as last written */
	td_ns polled_ns;
	td_ns looked_ns; /* the monitor knows of this time: no event may be older */
	td_ns edge_ns; /* when the levels last given to the core were so: its event may say a little later */
	td_ns cleared_ns;    /* an output last went low */
	td_ns guard_read_ns; /* when the guard was last seen to have read all it was told */
	td_ns beat_ns;
	bool beat_high;
	bool ended;
	enum td_mover_end end;
};

/* Runs until something ends it; outputs are low when it returns, as far as the lines can be reached.
 * *mover is scratch space of the caller's, so that it can be locked into memory beforehand. */
enum td_mover_end td_mover_run(struct td_mover *mover, const struct td_mover_setup *setup);

#endif
