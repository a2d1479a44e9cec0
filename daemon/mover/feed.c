/* SPDX-License-Identifier: MIT */
#include "daemon/mover/feed.h"

#include <string.h>

static void lay(struct td_feed *feed, const struct td_core *core, uint32_t levels, uint32_t outputs)
{
	struct td_snapshot *place = td_shelf_place(feed->snapshots);

	place->number = feed->number;
	place->levels = levels;
	place->outputs = outputs;
	place->core = *core;
	td_shelf_lay(feed->snapshots);
	feed->laid_ns = core->now_ns;
	feed->lossy = false;
}

void td_feed_init(struct td_feed *feed, struct td_queue *steps, struct td_shelf *snapshots,
		  const struct td_core *core)
{
	*feed = (struct td_feed){.steps = steps, .snapshots = snapshots};
	if (feed->steps)
		lay(feed, core, 0, 0);
}

static void put(struct td_feed *feed, struct td_entry *entry, uint64_t number)
{
	entry->number = number;
	(void)td_queue_put(feed->steps, entry);
}

/* All of a step or nothing of it. */
static void put_step(struct td_feed *feed, const struct td_core *core, const struct td_rules *rules,
		     const struct td_event *event, const struct td_result *result, uint32_t levels)
{
	struct td_entry entry;

	td_entry_of_step(&entry, core, rules, event, result, levels);
	put(feed, &entry, feed->number);
	for (uint16_t i = 0; i < result->news_count; i++) {
		td_entry_of_news(&entry, core, result, i);
		put(feed, &entry, feed->number + 1 + i);
	}
}

/* After a loss a good part of the ring is waited for, so that it does not lose again at once. */
static bool roomy(struct td_feed *feed)
{
	return td_queue_room(feed->steps) >= feed->steps->size / 4;
}

void td_feed_step(struct td_feed *feed, const struct td_core *core, const struct td_rules *rules,
		  const struct td_event *event, const struct td_result *result, uint32_t levels)
{
	uint64_t entries = UINT64_C(1) + result->news_count;

	if (!feed->steps)
		return;
	feed->lossy = feed->lossy || td_queue_room(feed->steps) < entries;
	if (!feed->lossy)
		put_step(feed, core, rules, event, result, levels);
	feed->number += entries;
	if (feed->lossy ? roomy(feed) : core->now_ns - feed->laid_ns >= TD_FEED_SNAPSHOT_NS)
		lay(feed, core, levels, result->outputs);
}
