/* SPDX-License-Identifier: MIT */
/*
 * A mover between ends that the test plays: lines in memory that fail on command, the front's ends of the
 * channel, the guard's end of the pulse, a signal, and a clock that moves only when somebody looks at it or
 * waits. Everything runs in one thread: the mover asks for its descriptors once before each wait, and that is
 * when the test's script has its turn.
 *
 * For that this program brings its own clock_gettime() and ppoll() (and what the fortified library calls in
 * its place). To wait takes as long as was asked for, unless something is ready, and no real time at all.
 */
#ifndef TD_TESTS_UNIT_MOVER_RIG_H
#define TD_TESTS_UNIT_MOVER_RIG_H

#include <errno.h>
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/guard/pulse.h"
#include "daemon/mover/mover.h"
#include "tests/support/rule_cart.h"

enum { BEATS_MAX = 512, WAITS_MAX = 20000, EDGES_WAITING = 8, NOTES_HEARD = 8192 };

struct beat {
	td_ns at_ns;
	unsigned waits; /* the mover had waited so often */
	bool high;
};

struct rig {
	struct td_lines lines; /* first: the ops get a pointer to it */
	struct td_rules rules;
	struct td_mover mover;
	struct td_channel mover_end, front_end;
	int mover_pulse, guard_pulse;
	int signal_fd;
	int edge_fd; /* readable while edges wait */
	void (*script)(struct rig *rig);
	unsigned step;          /* the script's own */
	uint32_t locked;        /* ways that were locked before the restart */
	struct td_queue *steps; /* for the scribe; NULL = none */
	struct td_shelf *snapshots;
	struct td_shelf *meters;
	const struct td_notify *notify; /* the service manager; NULL = none */
	const char *why_not;
	char *const *check; /* of a new configuration; NULL = none */

	uint32_t outputs; /* as they are */
	uint32_t ever;    /* outputs that were high at any time */
	uint32_t levels;
	bool heart;
	unsigned beats;
	struct beat beat[BEATS_MAX];
	unsigned edges;
	struct td_lines_edge edge[EDGES_WAITING];
	td_ns slow_ns; /* the next look for edges takes so long, once */

	uint32_t told;   /* what the guard heard last: outputs that are, or are about to be, high */
	bool deaf_guard; /* nobody reads the pulse */
	bool deaf_front; /* nobody reads the notes before the end */
	struct td_note heard[NOTES_HEARD]; /* notes that the front has read; the test takes them out */
	unsigned heard_from;
	unsigned heard_to;
	bool quiet;       /* calls are no longer counted nor failed */
	unsigned calls;   /* calls that could have failed */
	unsigned fail_at; /* the call of this number fails, counted from 1; 0 = none */
	bool fail_on;     /* and all after it */
	unsigned failed;
	unsigned raised_after;  /* attempts to raise an output or the heartbeat after a failure */
	unsigned cleared_after; /* attempts to clear all outputs after a failure */

	unsigned waits;
	unsigned slept; /* waits without an end, ended by the signal */
};

static struct rig *the_rig;
static td_ns clock_ns = TD_S(1000);

/* --- time -------------------------------------------------------------------------------------------- */

int rig_clock(clockid_t clock, struct timespec *at) __asm__("clock_gettime");

int rig_clock(clockid_t clock, struct timespec *at)
{
	(void)clock;
	clock_ns += TD_US(1);
	*at = (struct timespec){.tv_sec = clock_ns / TD_S(1), .tv_nsec = clock_ns % TD_S(1)};
	return 0;
}

static void rig_signal(const struct rig *rig)
{
	assert_int_equal(eventfd_write(rig->signal_fd, 1), 0);
}

static bool next_in_socket(const struct rig *rig, struct td_note *note)
{
	return recv(rig->front_end.orders_fd, note, sizeof(*note), MSG_DONTWAIT) == (ssize_t)sizeof(*note);
}

static void hear_notes(struct rig *rig)
{
	while (!rig->deaf_front && rig->heard_to < NOTES_HEARD &&
	       next_in_socket(rig, &rig->heard[rig->heard_to]))
		rig->heard_to++;
}

static int wait_in_no_time(struct pollfd *fds, nfds_t count, const struct timespec *span)
{
	int ready = poll(fds, count, 0);

	hear_notes(the_rig);
	if (the_rig->waits > WAITS_MAX) {
		errno = EIO;
		return -1;
	}
	if (ready != 0)
		return ready;
	if (span) {
		clock_ns += TD_S(span->tv_sec) + span->tv_nsec;
		return 0;
	}
	the_rig->slept++;
	rig_signal(the_rig);
	return poll(fds, count, 0);
}

int rig_ppoll(struct pollfd *fds, nfds_t count, const struct timespec *span,
	      const void *mask) __asm__("ppoll");
int rig_ppoll_checked(struct pollfd *fds, nfds_t count, const struct timespec *span, const void *mask,
		      size_t size) __asm__("__ppoll_chk");

int rig_ppoll(struct pollfd *fds, nfds_t count, const struct timespec *span, const void *mask)
{
	(void)mask;
	return wait_in_no_time(fds, count, span);
}

int rig_ppoll_checked(struct pollfd *fds, nfds_t count, const struct timespec *span, const void *mask,
		      size_t size)
{
	(void)mask;
	assert_true(size >= count * sizeof(*fds));
	return wait_in_no_time(fds, count, span);
}

/* --- lines ------------------------------------------------------------------------------------------- */

static bool fails(struct rig *rig)
{
	if (rig->quiet)
		return false;
	rig->calls++;
	if (rig->fail_at == 0 || rig->calls < rig->fail_at || (rig->calls > rig->fail_at && !rig->fail_on))
		return false;
	rig->failed++;
	return true;
}

static void hear_pulse(struct rig *rig)
{
	while (!rig->deaf_guard && td_pulse_take(rig->guard_pulse, &rig->told) == TD_PULSE_GOT)
		;
}

static int rig_set(struct td_lines *lines, uint32_t mask, uint32_t levels)
{
	struct rig *rig = (struct rig *)lines;

	assert_int_equal(mask & ~lines->outputs, 0);
	hear_pulse(rig);
	if (!rig->deaf_guard) /* R16: nothing rises of which the guard does not know */
		assert_int_equal(levels & mask & ~rig->outputs & ~rig->told, 0);
	if (rig->failed > 0 && levels & mask & ~rig->outputs)
		rig->raised_after++;
	if (rig->failed > 0 && mask == lines->outputs && levels == 0)
		rig->cleared_after++;
	if (fails(rig))
		return TD_LINES_FAILED;
	rig->outputs = (rig->outputs & ~mask) | (levels & mask);
	rig->ever |= rig->outputs;
	return 0;
}

static int rig_get(struct td_lines *lines, uint32_t *levels)
{
	struct rig *rig = (struct rig *)lines;

	if (fails(rig))
		return TD_LINES_GONE;
	*levels = rig->levels;
	return 0;
}

static int rig_next_edge(struct td_lines *lines, struct td_lines_edge *edge)
{
	struct rig *rig = (struct rig *)lines;
	eventfd_t ignored;

	clock_ns += rig->slow_ns;
	rig->slow_ns = 0;
	if (fails(rig))
		return TD_LINES_STUCK;
	if (rig->edges == 0)
		return 0;
	*edge = rig->edge[0];
	memmove(rig->edge, rig->edge + 1, --rig->edges * sizeof(*edge));
	if (rig->edges == 0)
		(void)eventfd_read(rig->edge_fd, &ignored);
	return 1;
}

static int rig_beat(struct td_lines *lines, int high)
{
	struct rig *rig = (struct rig *)lines;

	assert_true(lines->beats);
	if (rig->failed > 0 && high)
		rig->raised_after++;
	if (fails(rig))
		return TD_LINES_FAILED;
	rig->heart = high != 0;
	if (rig->beats < BEATS_MAX)
		rig->beat[rig->beats++] = (struct beat){clock_ns, rig->waits, high != 0};
	return 0;
}

static int rig_fds(struct td_lines *lines, int fds[TD_LINES_FDS_MAX])
{
	struct rig *rig = (struct rig *)lines;

	fds[0] = rig->edge_fd;
	rig->waits++;
	hear_pulse(rig);
	if (rig->script)
		rig->script(rig);
	return 1;
}

static const struct td_lines_ops rig_ops = {
	.set = rig_set,
	.get = rig_get,
	.next_edge = rig_next_edge,
	.fds = rig_fds,
	.beat = rig_beat,
};

/* --- the whole --------------------------------------------------------------------------------------- */

static inline uint32_t rig_bit(uint8_t axis, uint8_t way)
{
	return UINT32_C(1) << (axis * TD_WAYS + way);
}

static void rig_open(struct rig *rig)
{
	struct td_error err = {""};

	memset(rig, 0, sizeof(*rig));
	the_rig = rig;
	rig->rules = rule_cart();
	rig->lines = (struct td_lines){.ops = &rig_ops,
				       .outputs = (UINT32_C(1) << (RULE_AXES * TD_WAYS)) - 1,
				       .inputs = (UINT32_C(1) << RULE_SWITCHES) - 1,
				       .beats = true};
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		rig->levels |= (uint32_t)rule_level(&rig->rules, sw, false) << sw;
	if (td_channel_make(&rig->mover_end, &rig->front_end, &err) != 0 ||
	    td_pulse_make(&rig->mover_pulse, &rig->guard_pulse, &err) != 0)
		fail_msg("%s", err.text);
	rig->signal_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	rig->edge_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	assert_true(rig->signal_fd >= 0 && rig->edge_fd >= 0);
}

static void rig_close_fd(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

static void rig_close(struct rig *rig)
{
	td_channel_close(&rig->mover_end);
	td_channel_close(&rig->front_end);
	rig_close_fd(&rig->mover_pulse);
	rig_close_fd(&rig->guard_pulse);
	rig_close_fd(&rig->signal_fd);
	rig_close_fd(&rig->edge_fd);
}

static enum td_mover_end rig_run(struct rig *rig, bool may_arm)
{
	const struct td_mover_setup setup = {
		.rules = &rig->rules,
		.lines = &rig->lines,
		.channel = rig->mover_end,
		.pulse_fd = rig->mover_pulse,
		.signal_fd = rig->signal_fd,
		.steps = rig->steps,
		.snapshots = rig->snapshots,
		.meters = rig->meters,
		.poll_ns = TD_MS(5),
		.locked = rig->locked,
		.may_arm = may_arm,
		.why_not = rig->why_not,
		.notify = rig->notify,
		.check = rig->check,
	};

	return td_mover_run(&rig->mover, &setup);
}

/* A switch changes: its level and the edge that tells of it. */
static inline void rig_switch(struct rig *rig, uint8_t sw, bool active)
{
	bool high = rule_level(&rig->rules, sw, active);

	assert_true(rig->edges < EDGES_WAITING);
	rig->levels = (rig->levels & ~(UINT32_C(1) << sw)) | (uint32_t)high << sw;
	rig->edge[rig->edges++] = (struct td_lines_edge){.at_ns = clock_ns, .sw = sw, .high = high};
	assert_int_equal(eventfd_write(rig->edge_fd, 1), 0);
}

/* --- the front's side -------------------------------------------------------------------------------- */

static void rig_order(const struct rig *rig, struct td_order order)
{
	int fd = order.kind == TD_EVENT_REQUEST ? rig->front_end.orders_fd : rig->front_end.urgent_fd;

	clock_ns += TD_US(1); /* it is heard after what has happened */
	order.magic = TD_MSG_MAGIC;
	order.session = 1;
	order.heard_ns = clock_ns;
	order.lease_ns = TD_LEASE_MAX_NS;
	assert_int_equal(send(fd, &order, sizeof(order), 0), sizeof(order));
}

static void rig_request(const struct rig *rig, uint8_t axis, uint8_t way, uint32_t hold)
{
	rig_order(rig,
		  (struct td_order){
			  .kind = TD_EVENT_REQUEST, .axis = axis, .way = way, .hold = hold, .tag = hold});
}

/* The next note that was told; false if there is none. */
static inline bool rig_note(struct rig *rig, struct td_note *note)
{
	if (rig->heard_from == rig->heard_to)
		return next_in_socket(rig, note);
	*note = rig->heard[rig->heard_from++];
	return true;
}

#endif
