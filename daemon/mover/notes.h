/* SPDX-License-Identifier: MIT */
/* What the mover tells the front: answers, news, and the state of each axis when it changes. */
#ifndef TD_DAEMON_MOVER_NOTES_H
#define TD_DAEMON_MOVER_NOTES_H

#include <stdbool.h>

#include "core/core.h"
#include "daemon/msg.h"

struct td_notes {
	int fd;
	bool owed;           /* a full set is owed: at the start, and after a loss */
	bool lost;           /* a note did not fit */
	bool gone;           /* the front is gone */
	bool config_refused; /* to be told with the machine, from the next td_notes_state() on */
	td_ns shown_ns;      /* positions were last sent */
	struct td_note_axis axis[TD_AXES_MAX]; /* as last sent */
	td_ns lease_end_ns[TD_AXES_MAX];
	struct td_note_machine machine;
	bool breach_owed;
	struct td_note breach;
};

void td_notes_init(struct td_notes *notes, int fd);

/* What became of an order; `tag` 0 wants no answer. */
void td_notes_answer(struct td_notes *notes, td_ns now_ns, uint64_t tag, enum td_cause cause);

/* The news of one step. */
void td_notes_news(struct td_notes *notes, td_ns now_ns, const struct td_result *result, uint32_t levels);

/* Something that the front reads and forgets. */
void td_notes_ping(struct td_notes *notes, td_ns now_ns);

/* What the monitor kept from being written. Of several that do not fit only the first is told, once there is room. */
void td_notes_breach(struct td_notes *notes, const struct td_verdict *verdict, uint32_t outputs);

/* Sends what has changed since it was last sent; everything, if a full set is owed. Positions of moving axes and
 * turns are sent at most every 50 ms. */
void td_notes_state(struct td_notes *notes, const struct td_core *core, const struct td_rules *rules,
		    td_ns now_ns, uint32_t outputs, uint32_t levels);

/* When td_notes_state() has something to send though nothing happens; TD_NEVER if not. */
td_ns td_notes_deadline(const struct td_notes *notes, uint32_t outputs);

#endif
