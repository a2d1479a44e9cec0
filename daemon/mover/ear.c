/* SPDX-License-Identifier: MIT */
#include "daemon/mover/ear.h"

#include "daemon/channel.h"

/* For how long the front has read nothing of what waits for it. Where it has read all it gets something new, if that is due. */
static td_ns silence_ns(struct td_ear *ear, struct td_notes *notes, td_ns every_ns, td_ns now_ns)
{
	if (ear->read_ns != 0 && td_channel_unread(notes->fd))
		return td_time_between(ear->read_ns, now_ns);
	ear->read_ns = now_ns;
	if (td_time_between(ear->pinged_ns, now_ns) >= every_ns) {
		ear->pinged_ns = now_ns;
		td_notes_ping(notes, now_ns);
	}
	return 0;
}

enum td_ear_verdict td_ear_listen(struct td_ear *ear, struct td_notes *notes, bool powered, bool fed,
				  td_ns now_ns)
{
	bool matters = powered || ear->deaf;
	bool was_deaf = ear->deaf;

	if (matters && !ear->mattered)
		ear->read_ns = 0; /* what it left unread at rest does not count */
	ear->mattered = matters;
	if (!matters && !fed)
		return TD_EAR_NOTHING_NEW;
	td_ns silent_ns = silence_ns(ear, notes, matters ? TD_EAR_PING_NS : 0, now_ns);

	if (silent_ns >= TD_EAR_GONE_NS)
		return TD_EAR_GONE;
	ear->deaf = matters && (was_deaf ? silent_ns > 0 : silent_ns >= TD_EAR_DEAF_NS);
	if (ear->deaf == was_deaf)
		return TD_EAR_NOTHING_NEW;
	return was_deaf ? TD_EAR_HEARS_AGAIN : TD_EAR_WENT_DEAF;
}

td_ns td_ear_due(const struct td_ear *ear, td_ns now_ns)
{
	return ear->deaf ? td_time_after(now_ns, TD_EAR_PING_NS) : TD_NEVER;
}
