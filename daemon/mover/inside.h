/* SPDX-License-Identifier: MIT */
/* What the files of the mover share. Nobody else includes this. */
#ifndef TD_DAEMON_MOVER_INSIDE_H
#define TD_DAEMON_MOVER_INSIDE_H

#include "daemon/mover/mover.h"

/* Ends the run; the first reason counts. */
void td_mover_stop(struct td_mover *mover, enum td_mover_end why);

/* R15: what cannot be written or read any more ends the run; td_mover_run() trips and clears. */
void td_mover_lines_lost(struct td_mover *mover);

/* The state to the front, as it is now. */
void td_mover_show(struct td_mover *mover);

/* --- step.c --- */

/* One event through core and monitor; the outputs are real and the entry is handed over when it returns. The answer. */
enum td_cause td_mover_step(struct td_mover *mover, const struct td_event *event);

/* Between two steps: the monitor looks at what is on the lines at `now_ns`. If it breaks a rule the core is asked, and
 * a breach is one as ever. */
void td_mover_look(struct td_mover *mover, td_ns now_ns);

/* One that is for those who are told alone: nothing is written, for the lines are low or lost. */
void td_mover_step_last(struct td_mover *mover, enum td_event_kind kind);

/* R16: without a guard that listens nothing may be high. False if it does not, and the run ends. */
bool td_mover_tell_guard(struct td_mover *mover, uint32_t outputs);

/* --- orders.c --- */

/* What the front wants, the urgent first. */
void td_mover_take_orders(struct td_mover *mover);

#endif
