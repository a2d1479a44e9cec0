/* SPDX-License-Identifier: MIT */
/*
 * A day at the machine, simulated: a thousand visitors who come, wait, drive, idle, give up and try again. Nobody ever
 * may move without the turn, nobody waits longer than was foretold, and turns are shared out evenly.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/turns/turns.h"
#include "tests/support/dice.h"

enum { VISITORS = 1000, REGULARS = 60 };

#define DAY_NS TD_S(86400)

static const struct td_turn_rules rules = {
	.length_ns = TD_S(60), .idle_ns = TD_S(20), .pause_ns = TD_S(5), .per_user = 0};

struct visitor {
	td_ns next_ns;   /* does something then */
	td_ns joined_ns; /* in line since */
	td_ns told_ns;   /* foretold to wait no longer than until then */
	td_ns drives_ns; /* drives until then, while it has the turn; idles after it */
	unsigned turns;
};

struct day {
	struct td_turns turns;
	struct visitor visitor[VISITORS];
	unsigned visitors;
	td_ns now_ns;
	td_ns longest_ns;
	unsigned turns_had;
	unsigned turned_away;
	unsigned wrong; /* somebody might move who must not, or the other way round */
	unsigned late;  /* waited longer than foretold */
};

static uint32_t session_of(unsigned i)
{
	return i + 1;
}

static void check_who_may(struct day *day)
{
	uint32_t holder = td_turns_holder(&day->turns);

	for (unsigned i = 0; i < day->visitors; i++)
		if (td_turns_may(&day->turns, &rules, session_of(i)) != (session_of(i) == holder))
			day->wrong++;
}

static void began(struct day *day, uint32_t session)
{
	struct visitor *visitor = &day->visitor[session - 1];
	td_ns waited_ns = day->now_ns - visitor->joined_ns;

	day->turns_had++;
	visitor->turns++;
	if (waited_ns > day->longest_ns)
		day->longest_ns = waited_ns;
	if (day->now_ns > visitor->told_ns)
		day->late++;
}

static void act_on(struct day *day, struct td_turn_news news)
{
	if (news.began_session != 0)
		began(day, news.began_session);
}

static void join(struct day *day, unsigned i)
{
	struct visitor *visitor = &day->visitor[i];

	if (td_turns_join(&day->turns, &rules, session_of(i), 1000, day->now_ns) != TD_TURN_IN_LINE) {
		day->turned_away++;
		return;
	}
	int place = td_turns_place(&day->turns, session_of(i));

	visitor->joined_ns = day->now_ns;
	visitor->told_ns = day->now_ns + td_turns_wait(&day->turns, &rules, place, day->now_ns);
	act_on(day, td_turns_tend(&day->turns, &rules, day->now_ns));
}

/* What a visitor does when its time comes; then says when it will do something again. */
typedef void habit(struct day *day, struct dice *dice, unsigned i);

static void regular(struct day *day, struct dice *dice, unsigned i)
{
	(void)dice;
	td_turns_use(&day->turns, session_of(i), day->now_ns);
	if (td_turns_place(&day->turns, session_of(i)) == TD_NO_PLACE)
		join(day, i);
	day->visitor[i].next_ns = day->now_ns + TD_S(1);
}

/* Drives or idles; one in a hundred times gives up; comes again after minutes or hours. */
static void stranger(struct day *day, struct dice *dice, unsigned i)
{
	struct visitor *visitor = &day->visitor[i];

	if (td_turns_place(&day->turns, session_of(i)) == TD_NO_PLACE) {
		join(day, i);
		visitor->next_ns = day->now_ns + (td_ns)dice_below(dice, (uint64_t)TD_S(2 * 3600));
	} else if (dice_below(dice, 100) == 0) {
		act_on(day, td_turns_leave(&day->turns, &rules, session_of(i), day->now_ns));
		visitor->next_ns = day->now_ns + TD_S(600);
	} else if (dice_below(dice, 3) > 0) {
		td_turns_use(&day->turns, session_of(i), day->now_ns);
	}
	if (visitor->next_ns <= day->now_ns || td_turns_place(&day->turns, session_of(i)) != TD_NO_PLACE)
		visitor->next_ns = day->now_ns + TD_S(1) + (td_ns)dice_below(dice, (uint64_t)TD_S(9));
}

static td_ns next_moment(const struct day *day)
{
	td_ns next_ns = td_turns_due(&day->turns, &rules);

	for (unsigned i = 0; i < day->visitors; i++)
		next_ns = td_time_earlier(next_ns, day->visitor[i].next_ns);
	return next_ns;
}

static void live(struct day *day, struct dice *dice, habit *does)
{
	for (; day->now_ns < DAY_NS; day->now_ns = next_moment(day)) {
		act_on(day, td_turns_tend(&day->turns, &rules, day->now_ns));
		for (unsigned i = 0; i < day->visitors; i++)
			if (day->visitor[i].next_ns <= day->now_ns)
				does(day, dice, i);
		check_who_may(day);
	}
}

static struct day day;

static void begin(unsigned visitors)
{
	memset(&day, 0, sizeof(day));
	day.visitors = visitors;
	td_turns_init(&day.turns, 0);
}

static void a_thousand_strangers(void **state)
{
	struct dice dice = dice_start(20261125);

	(void)state;
	begin(VISITORS);
	for (unsigned i = 0; i < VISITORS; i++)
		day.visitor[i].next_ns = (td_ns)dice_below(&dice, (uint64_t)DAY_NS);
	live(&day, &dice, stranger);
	printf("# measured: 1000 visitors in a day: %u turns, longest wait %.0f s, turned away %u times, "
	       "%u moves without the turn, %u waits longer than foretold\n",
	       day.turns_had, (double)day.longest_ns / 1e9, day.turned_away, day.wrong, day.late);
	assert_int_equal(day.wrong, 0);
	assert_int_equal(day.late, 0);
	assert_true(day.turns_had > VISITORS);
	/* The longest line there can be, each turn used to the full. */
	assert_true(day.longest_ns <= TD_TURN_PLACES_MAX * (rules.length_ns + rules.pause_ns));
}

/* All day in line again at once: shares within a tenth of each other. */
static void regulars_have_equal_shares(void **state)
{
	struct dice dice = dice_start(1);
	unsigned least = UINT32_MAX;
	unsigned most = 0;

	(void)state;
	begin(REGULARS);
	live(&day, &dice, regular);
	for (unsigned i = 0; i < REGULARS; i++) {
		least = day.visitor[i].turns < least ? day.visitor[i].turns : least;
		most = day.visitor[i].turns > most ? day.visitor[i].turns : most;
	}
	printf("# measured: %d visitors in line all day: %u turns, %u to %u each, longest wait %.0f s\n",
	       REGULARS, day.turns_had, least, most, (double)day.longest_ns / 1e9);
	assert_int_equal(day.wrong, 0);
	assert_int_equal(day.late, 0);
	assert_true(most - least <= 1);
	assert_true((most - least) * 10 <= most);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_thousand_strangers),
		cmocka_unit_test(regulars_have_equal_shares),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
