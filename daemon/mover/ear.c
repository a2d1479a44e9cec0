/* SPDX-License-Identifier: MIT */
#include "daemon/mover/ear.h"

#include "daemon/channel.h"

static enum td_ear_verdict listen_at_rest(struct td_ear *ear, struct td_notes *notes, bool fed, td_ns now_ns)
{
	ear->read_ns = 0;
	if (fed && td_time_between(td_notes_ping(notes, now_ns), now_ns) >= TD_EAR_GONE_NS)
		return TD_EAR_GONE;
	return TD_EAR_NOTHING_NEW;
}

static void ping(struct td_ear *ear, struct td_notes *notes, td_ns now_ns)
{
	if (td_time_between(ear->pinged_ns, now_ns) < TD_EAR_PING_NS)
		return;
	ear->pinged_ns = now_ns;
	(void)td_notes_ping(notes, now_ns);
}

enum td_ear_verdict td_ear_listen(struct td_ear *ear, struct td_notes *notes, bool powered, bool fed,
				  td_ns now_ns)
{
	if (!powered && !ear->deaf)
		return listen_at_rest(ear, notes, fed, now_ns);
	bool unread = td_channel_unread(notes->fd);
	bool was_deaf = ear->deaf;

	if (ear->read_ns == 0 || !unread)
		ear->read_ns = now_ns;
	ping(ear, notes, now_ns);
	td_ns silent_ns = td_time_between(ear->read_ns, now_ns);

	ear->deaf = was_deaf ? unread : silent_ns >= TD_EAR_DEAF_NS;
	if (silent_ns >= TD_EAR_GONE_NS)
		return TD_EAR_GONE;
	if (ear->deaf == was_deaf)
		return TD_EAR_NOTHING_NEW;
	return was_deaf ? TD_EAR_HEARS_AGAIN : TD_EAR_WENT_DEAF;
}

td_ns td_ear_due(const struct td_ear *ear)
{
	return ear->deaf ? td_time_after(ear->pinged_ns, TD_EAR_PING_NS) : TD_NEVER;
}
