/* SPDX-License-Identifier: MIT */
/*
 * Between the core and what is kept of it over a restart (keep.h makes bytes of that).
 *
 * A record is always a little old when the program ends without notice. So a record says whether it was closed in
 * order; after one that was not, every axis is charged TD_RECORD_CHARGE_NS of powered time that nobody saw, and the
 * record has to be renewed that often while anything is powered.
 *
 * Of the cable (R18) an open record holds what may have been driven since as doubt: as long as that where the drive was
 * powered, TD_RECORD_LAG_NS where it stood, since its start would have been recorded soon.
 */
#ifndef TD_CORE_RECORD_H
#define TD_CORE_RECORD_H

#include <stdbool.h>

#include "core/core.h"
#include "core/keep.h"

/* Our own choice, no source: spares flash memory and costs little duty. */
#define TD_RECORD_EVERY_NS  TD_S(10)
#define TD_RECORD_CHARGE_NS TD_S(15)
#define TD_RECORD_LAG_NS    TD_S(3)

/* Fills *keep with what has to survive, as if every axis were cut at `now_ns` (>= the last step). `closed`: nothing
 * will be powered after this. */
void td_record_take(const struct td_core *core, const struct td_rules *rules, bool closed, td_ns now_ns,
		    struct td_keep *keep);

/* After td_core_init() and before the first step. The times of *keep are on the clock of the core; it was taken at
 * `taken_ns` of that clock. The latched stop and locks are the caller's to make (TD_EVENT_LATCH_KEPT, if keep->latched; TD_EVENT_LOCK_KEPT for
 * each bit of keep->locked), so that they are news. */
void td_record_restore(struct td_core *core, const struct td_rules *rules, const struct td_keep *keep,
		       td_ns taken_ns);

#endif
