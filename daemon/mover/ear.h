/* SPDX-License-Identifier: MIT */
/*
 * R16: whether the front still hears. While it does not, nobody can stop anything, so nothing may move: a lease may last a second
 * and more. Once it hears again the machine may be armed again; where it does not for long, it counts as gone.
 */
#ifndef TD_DAEMON_MOVER_EAR_H
#define TD_DAEMON_MOVER_EAR_H

#include <stdbool.h>

#include "daemon/mover/notes.h"

/* With the beat of the words and a poll of the levels, outputs are low 100 ms after the front stood still. Our own choice, no
 * source. */
#define TD_EAR_DEAF_NS TD_MS(75)
#define TD_EAR_PING_NS TD_MS(10)

/* A front that has not read for so long is no longer there. */
#define TD_EAR_GONE_NS TD_S(2)

struct td_ear {
	td_ns read_ns;   /* when the front was last seen to have read all; 0 = not looked yet */
	td_ns pinged_ns; /* a word was last sent to see whether it is read */
	bool mattered;   /* when it was last looked at, something could have moved */
	bool deaf;
};

enum td_ear_verdict {
	TD_EAR_NOTHING_NEW = 0,
	TD_EAR_WENT_DEAF,   /* everything off, until it hears again */
	TD_EAR_HEARS_AGAIN, /* what had been asked for before is over */
	TD_EAR_GONE,        /* end */
};

/* In every cycle. `powered`: an output is high; `fed`: the service manager was told that we live, which is the moment to look at a
 * front that has nothing to do. */
enum td_ear_verdict td_ear_listen(struct td_ear *ear, struct td_notes *notes, bool powered, bool fed,
				  td_ns now_ns);

/* When to listen again though nothing happens; TD_NEVER. */
td_ns td_ear_due(const struct td_ear *ear, td_ns now_ns);

#endif
