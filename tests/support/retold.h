/* SPDX-License-Identifier: MIT */
/*
 * A core on the rules of the glasshouse example, in simulated time, whose steps become entries and an account of its
 * last stop: as a trace would tell it, with no file between. News carry no more than a file keeps of them.
 */
#ifndef TD_TESTS_RETOLD_H
#define TD_TESTS_RETOLD_H

#include <stdbool.h>
#include <stdio.h>

#include "daemon/retell/retell.h"
#include "trace/account.h"
#include "trace/tape.h"

enum { RETOLD_TEXT_MAX = 16384 };

/* The session that holds axis i is i + 1 unless said otherwise; session 9 is the keeper. */
enum { RETOLD_KEEPER = 9 };

struct retold_hold {
	bool on;
	uint32_t session;
	uint32_t number;
	uint32_t seq;
	uint8_t way;
	td_ns next_ns;
};

struct retold {
	struct td_config config;
	struct td_core core;
	struct td_result result;
	struct td_accountant accountant;
	uint32_t levels;
	uint64_t number; /* of the next entry */
	td_ns now_ns;
	struct retold_hold hold[TD_AXES_MAX];
	const char *version; /* in the head of a trace; NULL = of this build */
	FILE *file;          /* a trace being written, or NULL */
	struct td_tape *tape;
	char text[RETOLD_TEXT_MAX];
};

/* Boom at the bottom, vent shut, everything at rest and armed at 10 s. `beside`: the account is given the core's
 * beginning, as a trace of the same build does. */
void retold_open(struct retold *self, enum td_account_want want, bool beside);

/* The rules may be changed before; the machine is at rest from here on, the trace begins. */
void retold_begin(struct retold *self, bool beside);

void retold_event(struct retold *self, struct td_event event);

/* A switch changes. */
void retold_switch(struct retold *self, const char *name, bool active);

/* Asks for a way; it is renewed every 100 ms until retold_drop() or a release. */
void retold_ask(struct retold *self, const char *axis, const char *way);
void retold_drop(struct retold *self, const char *axis);
void retold_release(struct retold *self, const char *axis);

/* Lets time pass. */
void retold_run(struct retold *self, double ms);

/* Somebody comes. */
void retold_session(struct retold *self, uint32_t session, uint8_t role, uint32_t uid);

/* From here on everything is also written to a trace of this kind, until the end or the next one. */
void retold_record(struct retold *self, const char *path, const char *kind);
void retold_record_end(struct retold *self);

/* The headline and "label: text" lines; in self->text. Wall clock: the stop is 90 s ago. */
const char *retold_tell(struct retold *self);

#endif
