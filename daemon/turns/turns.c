/* SPDX-License-Identifier: MIT */
#include "daemon/turns/turns.h"

#include <string.h>

static bool no_turns(const struct td_turn_rules *rules)
{
	return rules->length_ns <= 0;
}

static td_ns learn_time(struct td_turns *turns, td_ns now_ns)
{
	if (now_ns > turns->now_ns)
		turns->now_ns = now_ns;
	return turns->now_ns;
}

void td_turns_init(struct td_turns *turns, td_ns now_ns)
{
	memset(turns, 0, sizeof(*turns));
	turns->now_ns = now_ns;
	turns->free_ns = now_ns;
}

int td_turns_place(const struct td_turns *turns, uint32_t session)
{
	for (int place = 0; place < turns->places; place++)
		if (turns->line[place].session == session)
			return place;
	return TD_NO_PLACE;
}

uint32_t td_turns_holder(const struct td_turns *turns)
{
	return turns->on ? turns->line[0].session : 0;
}

static void take_out(struct td_turns *turns, int place)
{
	size_t behind = (size_t)(turns->places - place - 1);

	memmove(&turns->line[place], &turns->line[place + 1], behind * sizeof(turns->line[0]));
	turns->places--;
}

/* The turn that is on ends, and its visitor is out of line. */
static void end(struct td_turns *turns, const struct td_turn_rules *rules, enum td_turn_end why,
		struct td_turn_news *news)
{
	news->ended = why;
	news->ended_session = turns->line[0].session;
	take_out(turns, 0);
	turns->on = false;
	turns->free_ns = td_time_after(turns->now_ns, rules->pause_ns);
}

static void begin_if_due(struct td_turns *turns, const struct td_turn_rules *rules, struct td_turn_news *news)
{
	if (turns->on || turns->closed || no_turns(rules) || turns->places == 0 ||
	    turns->now_ns < turns->free_ns)
		return;
	turns->on = true;
	turns->began_ns = turns->now_ns;
	turns->used_ns = turns->now_ns;
	news->began_session = turns->line[0].session;
}

enum td_turn_joined td_turns_join(struct td_turns *turns, const struct td_turn_rules *rules, uint32_t session,
				  uint32_t uid, td_ns now_ns)
{
	unsigned own = 0;

	learn_time(turns, now_ns);
	for (int place = 0; place < turns->places; place++)
		own += turns->line[place].uid == uid;
	if (td_turns_place(turns, session) != TD_NO_PLACE)
		return TD_TURN_TWICE;
	if (turns->places >= TD_TURN_PLACES_MAX)
		return TD_TURN_FULL;
	if (rules->per_user > 0 && own >= rules->per_user)
		return TD_TURN_USER_FULL;
	turns->line[turns->places++] = (struct td_turn_place){session, uid};
	return TD_TURN_IN_LINE;
}

struct td_turn_news td_turns_leave(struct td_turns *turns, const struct td_turn_rules *rules,
				   uint32_t session, td_ns now_ns)
{
	struct td_turn_news news = {TD_TURN_GOES_ON, 0, 0};
	int place = td_turns_place(turns, session);

	learn_time(turns, now_ns);
	if (place == 0 && turns->on)
		end(turns, rules, TD_TURN_LEFT, &news);
	else if (place != TD_NO_PLACE)
		take_out(turns, place);
	begin_if_due(turns, rules, &news);
	return news;
}

struct td_turn_news td_turns_end(struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns)
{
	struct td_turn_news news = {TD_TURN_GOES_ON, 0, 0};

	learn_time(turns, now_ns);
	if (turns->on)
		end(turns, rules, TD_TURN_KEEPER, &news);
	begin_if_due(turns, rules, &news);
	return news;
}

struct td_turn_news td_turns_close(struct td_turns *turns, const struct td_turn_rules *rules, bool closed,
				   td_ns now_ns)
{
	turns->closed = closed;
	if (closed)
		return td_turns_end(turns, rules, now_ns);
	return td_turns_tend(turns, rules, now_ns);
}

void td_turns_use(struct td_turns *turns, uint32_t session, td_ns now_ns)
{
	learn_time(turns, now_ns);
	if (turns->on && turns->line[0].session == session)
		turns->used_ns = turns->now_ns;
}

static bool somebody_waits(const struct td_turns *turns)
{
	return turns->places > 1;
}

static td_ns time_up_ns(const struct td_turns *turns, const struct td_turn_rules *rules)
{
	return td_time_after(turns->began_ns, rules->length_ns);
}

static td_ns idle_ns(const struct td_turns *turns, const struct td_turn_rules *rules)
{
	return rules->idle_ns > 0 ? td_time_after(turns->used_ns, rules->idle_ns) : TD_NEVER;
}

/* Nobody waits: as many whole turns as have passed go by, and the present one counts from the end of the last. */
static void begin_anew(struct td_turns *turns, const struct td_turn_rules *rules)
{
	td_ns past_ns = td_time_between(turns->began_ns, turns->now_ns);

	turns->began_ns = turns->now_ns - past_ns % rules->length_ns;
}

static void end_if_due(struct td_turns *turns, const struct td_turn_rules *rules, struct td_turn_news *news)
{
	if (!turns->on)
		return;
	bool up = turns->now_ns >= time_up_ns(turns, rules);

	if (!somebody_waits(turns)) {
		if (up)
			begin_anew(turns, rules);
		return;
	}
	if (up)
		end(turns, rules, TD_TURN_TIME, news);
	else if (turns->now_ns >= idle_ns(turns, rules))
		end(turns, rules, TD_TURN_IDLE, news);
}

struct td_turn_news td_turns_tend(struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns)
{
	struct td_turn_news news = {TD_TURN_GOES_ON, 0, 0};

	learn_time(turns, now_ns);
	if (no_turns(rules))
		return news;
	end_if_due(turns, rules, &news);
	begin_if_due(turns, rules, &news);
	return news;
}

td_ns td_turns_due(const struct td_turns *turns, const struct td_turn_rules *rules)
{
	if (no_turns(rules) || turns->places == 0)
		return TD_NEVER;
	if (!turns->on)
		return turns->closed ? TD_NEVER : turns->free_ns;
	/* Alone: only so that what is left of the turn is told rightly. */
	if (!somebody_waits(turns))
		return time_up_ns(turns, rules);
	return td_time_earlier(time_up_ns(turns, rules), idle_ns(turns, rules));
}

bool td_turns_may(const struct td_turns *turns, const struct td_turn_rules *rules, uint32_t session)
{
	if (turns->closed)
		return false;
	return no_turns(rules) || (turns->on && turns->line[0].session == session);
}

td_ns td_turns_left(const struct td_turns *turns, const struct td_turn_rules *rules, td_ns now_ns)
{
	return turns->on ? td_time_between(now_ns, time_up_ns(turns, rules)) : 0;
}

/* The first wait is for the turn that is on, or the pause; then a whole turn and a pause for each one between. */
td_ns td_turns_wait(const struct td_turns *turns, const struct td_turn_rules *rules, int place, td_ns now_ns)
{
	td_ns whole_ns = td_time_after(rules->length_ns, rules->pause_ns);
	td_ns wait_ns = td_time_between(now_ns, turns->free_ns);

	if (no_turns(rules) || place < 0 || (turns->on && place == 0))
		return 0;
	if (turns->on)
		wait_ns = td_time_after(td_turns_left(turns, rules, now_ns), rules->pause_ns);
	for (int before = turns->on ? 1 : 0; before < place && before < TD_TURN_PLACES_MAX; before++)
		wait_ns = td_time_after(wait_ns, whole_ns);
	return wait_ns;
}
