/* SPDX-License-Identifier: MIT */
/*
 * What it costs the mover to hand its steps over to the scribe, in processor time: an entry of a step, one with four pieces
 * of news, one that finds the ring full, and a snapshot. Somebody takes everything out in between, outside the measure.
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "daemon/mover/feed.h"
#include "tests/support/rule_cart.h"

enum { ROUNDS = 2000, PUTS = 512 };

static struct td_rules rules;
static struct td_core core;
static struct td_feed feed;
static struct td_result result;
static const struct td_event event = {.kind = TD_EVENT_TIME};

static double now_ns(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
	return (double)now.tv_sec * 1e9 + (double)now.tv_nsec;
}

static void empty(void)
{
	while (td_queue_first(feed.steps))
		td_queue_drop(feed.steps);
}

static double step_ns(uint16_t news)
{
	double sum = 0;

	result.news_count = news;
	for (int round = 0; round < ROUNDS; round++) {
		double start = now_ns();

		for (int i = 0; i < PUTS; i++)
			td_feed_step(&feed, &core, &rules, &event, &result, 0);
		sum += now_ns() - start;
		empty();
	}
	return sum / ROUNDS / PUTS;
}

static double full_ns(void)
{
	while (!feed.lossy)
		td_feed_step(&feed, &core, &rules, &event, &result, 0);
	double start = now_ns();

	for (int i = 0; i < PUTS * ROUNDS; i++)
		td_feed_step(&feed, &core, &rules, &event, &result, 0);
	double span = now_ns() - start;

	empty();
	td_feed_step(&feed, &core, &rules, &event, &result, 0);
	return span / PUTS / ROUNDS;
}

static double snapshot_ns(void)
{
	double start = now_ns();

	for (int i = 0; i < ROUNDS; i++) {
		core.now_ns += TD_FEED_SNAPSHOT_NS;
		td_feed_step(&feed, &core, &rules, &event, &result, 0);
		empty();
	}
	return (now_ns() - start) / ROUNDS;
}

int main(void)
{
	struct td_error err;

	rules = rule_cart();
	td_core_init(&core, &rules, TD_S(1));
	struct td_queue *steps = td_queue_make(TD_QUEUE_STEPS, &err);
	struct td_shelf *snapshots = td_shelf_make(sizeof(struct td_snapshot), &err);

	if (!steps || !snapshots)
		return 1;
	td_feed_init(&feed, steps, snapshots, &core);
	double plain = step_ns(0);
	double with_news = step_ns(4);
	double full = full_ns();

	printf("# measured: a step handed over: %.0f ns, with four news %.0f ns, into a full ring %.0f ns, "
	       "with a "
	       "snapshot %.0f ns\n",
	       plain, with_news, full, snapshot_ns());
	printf("# measured: %zu bytes an entry, %zu a snapshot, %zu the ring\n", sizeof(struct td_entry),
	       sizeof(struct td_snapshot),
	       sizeof(struct td_queue) + TD_QUEUE_STEPS * sizeof(struct td_entry));
	return 0;
}
