/* SPDX-License-Identifier: MIT */
/* The mover's three children, guard, scribe and front: how they are made and how they are seen off. */
#ifndef TD_DAEMON_CHILDREN_H
#define TD_DAEMON_CHILDREN_H

#include <sys/types.h>

#include "config/config.h"
#include "daemon/channel.h"
#include "daemon/front/front.h"
#include "daemon/scribe/shared.h"
#include "error.h"
#include "lines/lines.h"

struct td_children {
	pid_t front; /* 0 = none */
	pid_t guard;
	pid_t scribe;
	int scribe_fd;               /* the mover's end of the scribe's life line */
	struct td_channel front_end; /* the mover's end of the pairs to the front */
	int pulse_fd;                /* the mover's end of the pulse to the guard */
};

/* What the children inherit, and what they must let go. */
struct td_family {
	const struct td_config *config;
	struct td_lines *lines;
	struct td_front_start *front_start; /* left by the parent once the front is made */
	int signal_fd;
	const struct td_shared *shared;
	const struct td_config_text *text; /* the configuration as it was read */
};

/* Makes guard, scribe, then front. Signals of the parent are blocked. 0, or -1 with a sentence; what was made by then is seen
 * off with td_children_end(). */
int td_children_make(struct td_children *children, const struct td_family *family, struct td_error *err);

/* Of one that is deaf nobody need wait for its end. The lines are clear before this is called. */
void td_children_kill(pid_t pid);

/* Closes the mover's ends, which tells all to go, and waits for them; who does not go within a second is killed. The
 * lines are clear before this is called. */
void td_children_end(struct td_children *children);

#endif
