/* SPDX-License-Identifier: MIT */
/*
 * The heartbeat from mover to guard: messages of fixed size over a SOCK_SEQPACKET pair. Each says which
 * outputs are, or are about to be, high. The mover sends one before it raises an output, one after it
 * lowered some, and one at the end of every cycle.
 *
 * A guard that no longer reads is noticed by what lies unread; the socket takes only a few dozen messages.
 */
#ifndef TD_DAEMON_PULSE_H
#define TD_DAEMON_PULSE_H

#include <stdbool.h>
#include <stdint.h>

#include "error.h"

#define TD_PULSE_MAGIC UINT32_C(0x7d09bea7)

struct td_pulse {
	uint32_t magic;
	uint32_t outputs;
};

/* Both ends, non-blocking, close-on-exec. 0, or -1 with a sentence. */
int td_pulse_make(int *mover_fd, int *guard_fd, struct td_error *err);

/* True if the guard can still be told: it is there and has room. */
bool td_pulse_send(int fd, uint32_t outputs);

enum td_pulse_result {
	TD_PULSE_GONE = -1, /* the other end is closed, or sent nonsense */
	TD_PULSE_NONE = 0,
	TD_PULSE_GOT = 1,
};

enum td_pulse_result td_pulse_take(int fd, uint32_t *outputs);

#endif
