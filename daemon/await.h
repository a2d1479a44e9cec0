/* SPDX-License-Identifier: MIT */
/* Waits for a GPIO chip that is not there yet: by what happens in the folder of devices, never by looking again and again. */
#ifndef TD_DAEMON_AWAIT_H
#define TD_DAEMON_AWAIT_H

#include <stdbool.h>

#include "error.h"

enum td_await {
	TD_AWAIT_THERE = 0, /* nothing is missing */
	TD_AWAIT_SIGNAL,    /* the signal descriptor is readable */
	TD_AWAIT_BROKEN,    /* it cannot be waited for; a sentence says why */
};

struct td_await_setup {
	const char *dir;   /* where devices appear: "/dev" */
	const char *named; /* how their names begin: "gpiochip" */
	int signal_fd;
	/* Whether something is missing: then true, with a sentence. */
	bool (*absent)(void *context, struct td_error *err);
	/* Called with the sentence whenever it is a new one. */
	void (*say)(void *context, const char *sentence);
	void *context;
};

/* Returns at once when nothing is missing; else it looks again whenever a device of that name has come, gone, or got
 * other rights. What comes between looking and waiting is not missed. */
enum td_await td_await(const struct td_await_setup *setup, struct td_error *err);

#endif
