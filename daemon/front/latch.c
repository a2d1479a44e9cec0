/* SPDX-License-Identifier: MIT */
/*
 * The latched stop on the disk (R10). It is written where it cannot delay a stop: when the latch goes on,
 * everything is off already; when it goes off, nothing moves before this process has passed the next
 * request on.
 */
#include <string.h>

#include "daemon/front/inside.h"

bool td_front_latch_kept(struct td_front *front)
{
	struct td_latch_keeper *latch = &front->latch;
	const struct td_state state = {.latched = latch->wanted};
	struct td_error err = {.text = ""};

	if (latch->known && latch->saved == latch->wanted)
		return true;
	latch->known = td_state_save(front->config->state_dir, &state, &err) == 0;
	latch->saved = latch->wanted;
	if (!latch->known && strcmp(latch->fault, err.text) != 0)
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR, "%s", err.text);
	memcpy(latch->fault, err.text, sizeof(latch->fault));
	return latch->known;
}

/* "Off" counts only after "on": before the first "on" it may be older than what the file told the mover. */
void td_front_latch_seen(struct td_front *front, bool on)
{
	struct td_latch_keeper *latch = &front->latch;

	if (!on && !latch->seen_on)
		return;
	if (on)
		latch->seen_on = true;
	latch->wanted = on;
	td_front_latch_kept(front);
}
