/* SPDX-License-Identifier: MIT */
/* What mover and guard ask of the kernel so that nothing keeps them waiting. Each is a wish: where it is refused
 * they work all the same, and the refusal is said once, with how to mend it. */
#ifndef TD_DAEMON_HARDEN_H
#define TD_DAEMON_HARDEN_H

#include "error.h"

enum { TD_MOVER_PRIORITY = 20 };

/* Locks all memory, present and future. 0, or -1 with a sentence. Under the sanitizers it does nothing: their
 * shadow memory cannot be locked. */
int td_harden_memory(struct td_error *err);

/* Real-time priority (SCHED_FIFO, 1 ... 99), not inherited by children. 0, or -1 with a sentence. */
int td_harden_priority(int priority, struct td_error *err);

#endif
