/* SPDX-License-Identifier: MIT */
#include "sim/replay/hands.h"

#include <string.h>

#include "sim/replay/tell.h"
#include "sim/replay/words.h"

#define RENEW_NS TD_MS(100)
#define LEASE_NS TD_MS(300)

void td_hands_begin(struct td_hands *hands, const struct td_config *config, const struct td_replay_map *map,
		    FILE *told)
{
	memset(hands, 0, sizeof(*hands));
	hands->config = config;
	hands->map = map;
	hands->told = told;
	hands->deadline_ns = TD_NEVER;
	td_core_init(&hands->core, &config->rules, 0);
}

/* --- telling ----------------------------------------------------------------------------------------- */

static void tell(struct td_hands *hands, const struct td_replay_words *what, enum td_cause cause)
{
	const struct td_cause_info *info = td_cause_info(cause);
	char time[TD_REPLAY_TIME_MAX];

	hands->causes++;
	(void)fprintf(hands->told, "  %14s  %-4s %s: %s (%s)\n", td_replay_time(hands->core.now_ns, time),
		      info->rule[0] ? info->rule : "--", what->text, info->name, info->sentence);
}

static void tell_news(struct td_hands *hands, const struct td_news *news)
{
	struct td_replay_words words = {0};

	/* a contact that bounces would fill pages */
	if (news->cause == TD_CAUSE_LEVELS_SEEN)
		return;
	if (news->sw < hands->config->switches && news->axis >= hands->config->axes)
		td_replay_add(&words, "%s", hands->config->sw[news->sw].name);
	else if (news->axis < hands->config->axes && news->way < TD_WAYS)
		td_replay_add_way(&words, hands->config, news->axis, news->way);
	else
		td_replay_add_axis(&words, hands->config, news->axis);
	tell(hands, &words, news->cause);
}

static void tell_refusal(struct td_hands *hands, const struct td_event *event)
{
	struct td_replay_words words = {0};

	if (td_cause_kind(hands->result.answer) != TD_KIND_REFUSAL)
		return;
	for (uint16_t i = 0; i < hands->result.news_count; i++)
		if (hands->result.news[i].cause == hands->result.answer) /* told with the news */
			return;
	td_replay_add_way(&words, hands->config, event->axis, event->way);
	td_replay_add(&words, " is refused");
	tell(hands, &words, hands->result.answer);
}

/* --- steps ------------------------------------------------------------------------------------------- */

static void record(struct td_hands *hands, struct td_entry *entry)
{
	entry->number = hands->number++;
	if (hands->tap.entry && !hands->failed)
		hands->failed = hands->tap.entry(hands->tap.ctx, entry) != 0;
}

static void step(struct td_hands *hands, const struct td_event *event)
{
	const struct td_rules *rules = &hands->config->rules;
	struct td_entry entry;

	td_core_step(&hands->core, rules, event, &hands->result);
	hands->deadline_ns = hands->result.deadline_ns;
	hands->steps++;
	td_entry_of_step(&entry, &hands->core, rules, event, &hands->result, hands->levels);
	record(hands, &entry);
	for (uint16_t i = 0; i < hands->result.news_count; i++) {
		tell_news(hands, &hands->result.news[i]);
		td_entry_of_news(&entry, &hands->core, &hands->result, i);
		record(hands, &entry);
	}
}

void td_hands_levels(struct td_hands *hands, td_ns at_ns, uint32_t levels)
{
	hands->levels = levels;
	step(hands, &(struct td_event){.kind = TD_EVENT_LEVELS, .at_ns = at_ns, .levels = levels});
}

void td_hands_arm(struct td_hands *hands, td_ns at_ns)
{
	step(hands, &(struct td_event){.kind = TD_EVENT_ARM, .at_ns = at_ns});
}

/* Each hand is a session of its own; a hold that ended is not renewed. */
static void request(struct td_hands *hands, unsigned int row, td_ns at_ns)
{
	struct td_hand *hand = &hands->hand[row];
	const struct td_event event = {.kind = TD_EVENT_REQUEST,
				       .at_ns = at_ns,
				       .axis = hands->map->row[row].axis,
				       .way = hands->map->row[row].way,
				       .session = row + 1,
				       .hold = hand->hold,
				       .seq = hand->seq,
				       .lease_ns = LEASE_NS,
				       .heard_ns = at_ns};

	step(hands, &event);
	hand->asks = td_cause_kind(hands->result.answer) == TD_KIND_MOVE;
	if (hand->seq == 0) /* of a renewal the news have told */
		tell_refusal(hands, &event);
	hand->seq++;
	hand->next_ns = td_time_after(at_ns, RENEW_NS);
}

void td_hands_press(struct td_hands *hands, unsigned int row, td_ns at_ns, bool pressed)
{
	struct td_hand *hand = &hands->hand[row];

	if (hand->pressed == pressed)
		return;
	hand->pressed = pressed;
	if (pressed) {
		hand->hold++;
		hand->seq = 0;
		request(hands, row, at_ns);
	} else if (hand->asks) {
		hand->asks = false;
		step(hands, &(struct td_event){.kind = TD_EVENT_RELEASE,
					       .at_ns = at_ns,
					       .axis = hands->map->row[row].axis,
					       .session = row + 1,
					       .hold = hand->hold});
	}
}

/* The hand whose renewal is next; map->rows where none is due. */
static unsigned int next_hand(const struct td_hands *hands)
{
	unsigned int next = hands->map->rows;

	for (unsigned int row = 0; row < hands->map->rows; row++)
		if (hands->hand[row].asks &&
		    (next == hands->map->rows || hands->hand[row].next_ns < hands->hand[next].next_ns))
			next = row;
	return next;
}

void td_hands_advance(struct td_hands *hands, td_ns until_ns)
{
	while (!hands->failed) {
		unsigned int row = next_hand(hands);
		td_ns renew_ns = row < hands->map->rows ? hands->hand[row].next_ns : TD_NEVER;

		if (td_time_earlier(renew_ns, hands->deadline_ns) >= until_ns)
			return;
		if (renew_ns < hands->deadline_ns)
			request(hands, row, renew_ns);
		else
			step(hands, &(struct td_event){.kind = TD_EVENT_TIME, .at_ns = hands->deadline_ns});
	}
}
