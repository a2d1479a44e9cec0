/* SPDX-License-Identifier: MIT */
/*
 * Signals as a descriptor: a command that must let go, or give the terminal back, sees every signal in its
 * own loop and nowhere else.
 */
#ifndef TD_DAEMON_CLIENT_SIGNALS_H
#define TD_DAEMON_CLIENT_SIGNALS_H

#include <stdbool.h>

#include "core/time.h"
#include "error.h"

/* Takes over SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGTSTP and SIGWINCH for the rest of the process. Returns the
 * descriptor, or -1 with a sentence. */
int td_signals_open(struct td_error *err);

/* The next signal that came, 0 if none. Does not wait. */
int td_signals_take(int fd);

/* What SIGTSTP would have done: stops the process; returns when it goes on. */
void td_signals_suspend(void);

/* Waits until one of up to three descriptors (-1: left out) is readable or the time is over. True: one is, or
 * the wait failed, so look. */
bool td_signals_wait(int a, int b, int c, td_ns timeout_ns);

#endif
