/* SPDX-License-Identifier: MIT */
/* Inside of trace/account*.c. */
#ifndef TD_TRACE_ACCOUNT_PARTS_H
#define TD_TRACE_ACCOUNT_PARTS_H

#include "trace/account.h"

/* --- account_view.c --- */

/* A view at the beginning of a trace; `core` may be NULL. */
void td_account_view_begin(struct td_account_view *view, const struct td_config *config,
			   const struct td_core *core, uint32_t levels, td_ns at_ns);
/* Takes what a step says. */
void td_account_view_step(struct td_account_view *view, const struct td_config *config,
			  const struct td_entry *entry);

/* --- account_after.c --- */

/* How long after the stop a moment of the trace being read is; 0 for one before it. */
td_ns td_account_after(const struct td_accountant *self, td_ns at_ns);

/* Another trace begins; its times are in *self already. */
void td_account_join(struct td_accountant *self, uint64_t first_number);

/* News that is no stop of its own. */
void td_account_later(struct td_accountant *self, enum td_cause cause, uint8_t axis, td_ns at_ns);

/* What is known of a session; `role` where nothing is. */
struct td_account_who td_account_who_is(const struct td_accountant *self, uint32_t session, uint8_t role);

#endif
