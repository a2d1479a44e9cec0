/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/haste.h"

#include "core/record.h"

struct td_haste td_haste_begin(void)
{
	return (struct td_haste){.tried_ns = -TD_RECORD_EVERY_NS};
}

bool td_haste_due(const struct td_haste *haste, const struct td_shelf_record *record, td_ns now_ns)
{
	bool presses = (record->drove && !haste->drove) || record->latched != haste->latched ||
		       record->locked != haste->locked;

	return now_ns - haste->tried_ns >= TD_RECORD_EVERY_NS || (presses && !haste->failed);
}

void td_haste_try(struct td_haste *haste, td_ns now_ns)
{
	haste->tried_ns = now_ns;
	haste->failed = true;
}

void td_haste_done(struct td_haste *haste, const struct td_shelf_record *record)
{
	haste->drove = record->drove;
	haste->latched = record->latched;
	haste->locked = record->locked;
	haste->failed = false;
}
