/* SPDX-License-Identifier: MIT */
/*
 * Between the core and what is kept of it over a restart (keep.h makes bytes of that).
 *
 * A record is always a little old when the program ends without notice. So a record says whether it was closed in
 * order; after one that was not, every axis is charged TD_RECORD_CHARGE_NS of powered time that nobody saw. For that to be
 * enough, one is taken every TD_RECORD_TAKE_NS while anything is powered, and the newest written every
 * TD_RECORD_EVERY_NS; what is left is for a slow disk.
 *
 * Of the cable (R18) an open record holds what may have been driven since as doubt: as long as that where the drive was
 * powered of late, and TD_RECORD_LAG_NS where it stood. So a record in which it drove, after one in which it stood, is
 * written within that time.
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
#define TD_RECORD_TAKE_NS   TD_S(2)

/* R18: the machine drives, or did within the last TD_RECORD_EVERY_NS: whoever drives it to and fro in short stretches is
 * not written down each time. False where no turns are counted. */
bool td_record_drove(const struct td_core *core, const struct td_rules *rules, td_ns now_ns);

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
