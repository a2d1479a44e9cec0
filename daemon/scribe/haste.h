/* SPDX-License-Identifier: MIT */
/*
 * How soon a record is written: every TD_RECORD_EVERY_NS, and at once where the one on the disk
 * - says that the drive stood and this one that it drove, for it has doubt for TD_RECORD_LAG_NS only (R18);
 * - has another latched stop or other locks (R10, R11): what a keeper has reset is not to come back with the power, and
 *   what is locked is not to be lost with it.
 * Pure.
 */
#ifndef TD_DAEMON_HASTE_H
#define TD_DAEMON_HASTE_H

#include "daemon/scribe/shelf.h"

struct td_haste {
	td_ns tried_ns;
	bool failed; /* the last try, as far as is known: the next one is not at once */
	/* of the record on the disk */
	bool drove;
	bool latched;
	uint32_t locked;
};

struct td_haste td_haste_begin(void);

/* Whether this record is to be written now. */
bool td_haste_due(const struct td_haste *haste, const struct td_shelf_record *record, td_ns now_ns);

/* One is about to be written; it was. */
void td_haste_try(struct td_haste *haste, td_ns now_ns);
void td_haste_done(struct td_haste *haste, const struct td_shelf_record *record);

#endif
