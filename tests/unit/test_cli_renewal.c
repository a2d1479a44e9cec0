/* SPDX-License-Identifier: MIT */
/*
 * R7: whether a hold survives a connection that takes its time. Both ends are played, in simulated time: a client that renews
 * by cli_renewal.h and a daemon that judges by wire/token.h, with so much delay on each way. Nothing of the real clock.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/client/renewal.h"
#include "tests/support/dice.h"
#include "wire/limits.h"

enum { UNDERWAY_MAX = 64 };

struct message {
	td_ns arrives_ns; /* TD_NEVER: a place that is free */
	td_ns token_ns;
	int64_t id;
};

struct road {
	struct message place[UNDERWAY_MAX];
};

struct play {
	struct road up;
	struct road down;
	struct td_renewal renewal;
	struct dice *dice;
	td_ns way_ns;    /* least delay of a message */
	td_ns jitter_ns; /* and at most so much more */
	td_ns token_ns;  /* the client's newest */
	td_ns lease_end_ns;
	bool answered;
	unsigned int sent;
	unsigned int late;
};

static void put(struct play *play, struct road *road, struct message message, td_ns now_ns)
{
	td_ns last_ns = 0;
	int free = -1;

	for (int i = 0; i < UNDERWAY_MAX; i++) {
		if (road->place[i].arrives_ns == TD_NEVER)
			free = i;
		else if (road->place[i].arrives_ns > last_ns)
			last_ns = road->place[i].arrives_ns;
	}
	assert_true(free >= 0);
	td_ns jitter_ns = play->jitter_ns > 0 ? (td_ns)dice_below(play->dice, (uint64_t)play->jitter_ns) : 0;

	message.arrives_ns = now_ns + play->way_ns + jitter_ns;
	if (message.arrives_ns <= last_ns) /* a connection keeps the order */
		message.arrives_ns = last_ns + 1;
	road->place[free] = message;
}

/* Takes out what has arrived first; false: nothing has. */
static bool take(struct road *road, td_ns now_ns, struct message *message)
{
	struct message *first = &road->place[0];

	for (int i = 1; i < UNDERWAY_MAX; i++)
		if (road->place[i].arrives_ns < first->arrives_ns)
			first = &road->place[i];
	if (first->arrives_ns > now_ns)
		return false;
	*message = *first;
	first->arrives_ns = TD_NEVER;
	return true;
}

static void daemon_turn(struct play *play, td_ns now_ns)
{
	struct message message;

	while (take(&play->up, now_ns, &message)) {
		if (now_ns - message.token_ns > TD_TOKEN_AGE_MAX_NS)
			play->late++;
		else
			play->lease_end_ns = now_ns + TD_MS(300);
		message.token_ns = now_ns;
		put(play, &play->down, message, now_ns);
	}
}

static void send_request(struct play *play, td_ns now_ns)
{
	const struct message message = {.token_ns = play->token_ns, .id = ++play->sent};

	td_renewal_sent(&play->renewal, message.id, now_ns);
	put(play, &play->up, message, now_ns);
}

static void client_turn(struct play *play, td_ns now_ns)
{
	struct message message;

	while (take(&play->down, now_ns, &message)) {
		play->token_ns = message.token_ns;
		play->answered = true;
		td_renewal_answered(&play->renewal, message.id, now_ns);
	}
	/* As in the client, the answer to the first request is waited for. */
	if (play->answered && now_ns >= play->renewal.due_ns)
		send_request(play, now_ns);
}

static void clear(struct road *road)
{
	for (int i = 0; i < UNDERWAY_MAX; i++)
		road->place[i].arrives_ns = TD_NEVER;
}

/* How long a hold of at most 20 s lasts, from its first request on; that has the token of a hello just before. */
static td_ns held_for(struct play *play)
{
	td_ns begin_ns = TD_S(1);

	clear(&play->up);
	clear(&play->down);
	play->renewal = td_renewal_of(TD_MS(300));
	play->token_ns = begin_ns - play->way_ns - play->jitter_ns;
	play->lease_end_ns = TD_NEVER;
	send_request(play, begin_ns);
	for (td_ns now_ns = begin_ns; now_ns < begin_ns + TD_S(20); now_ns += TD_MS(1)) {
		daemon_turn(play, now_ns);
		if (now_ns > play->lease_end_ns)
			return now_ns - begin_ns;
		client_turn(play, now_ns);
	}
	return play->lease_end_ns == TD_NEVER ? 0 : TD_S(20);
}

static void R7_a_hold_survives_every_round_trip_up_to_250_ms(void **state)
{
	(void)state;
	for (int round_ms = 0; round_ms <= 250; round_ms += 2) {
		struct play play = {.way_ns = TD_MS(round_ms) / 2};

		if (held_for(&play) != TD_S(20))
			fail_msg("a round trip of %d ms ended it, %u of %u late", round_ms, play.late,
				 play.sent);
	}
}

/* What varies adds to it: the worst that comes is still to be within the token's age. */
static void R7_a_hold_survives_delays_that_vary_while_they_stay_below_the_age(void **state)
{
	struct dice dice = dice_start(1);

	(void)state;
	for (int i = 0; i < 50; i++) {
		struct play play = {.way_ns = TD_MS(80), .jitter_ns = TD_MS(40), .dice = &dice};

		if (held_for(&play) != TD_S(20))
			fail_msg("160 to 240 ms ended it, %u of %u late", play.late, play.sent);
	}
}

static void R7_beyond_the_age_of_a_token_nothing_moves_at_all(void **state)
{
	struct play play = {.way_ns = TD_MS(151)};

	(void)state;
	assert_true(held_for(&play) == 0);
	assert_in_range(play.late, 20, play.sent);
}

static void R7_renewals_come_three_in_a_lease_and_never_in_a_burst(void **state)
{
	struct play near_by = {.way_ns = 0};
	struct td_renewal renewal = td_renewal_of(TD_MS(300));

	(void)state;
	assert_true(held_for(&near_by) == TD_S(20));
	assert_in_range(near_by.sent, 190, 201);
	td_renewal_sent(&renewal, 1, TD_S(1));
	assert_true(renewal.due_ns == TD_S(1) + TD_MS(100));
	td_renewal_answered(&renewal, 1, TD_S(1) + TD_MS(90)); /* nothing else is under way: the beat stays */
	assert_true(renewal.due_ns == TD_S(1) + TD_MS(100));
	td_renewal_sent(&renewal, 2, TD_S(11)); /* ten seconds were missed: one is enough */
	assert_true(renewal.due_ns == TD_S(11) + TD_MS(100));
}

static void R7_answers_set_the_beat_where_several_renewals_are_under_way(void **state)
{
	struct td_renewal renewal = td_renewal_of(TD_MS(300));

	(void)state;
	for (int64_t id = 1; id <= 3; id++)
		td_renewal_sent(&renewal, id, TD_S(1) + TD_MS(100) * id);
	td_renewal_answered(&renewal, 77, TD_S(1) + TD_MS(360)); /* of another call */
	assert_true(renewal.due_ns == TD_S(1) + TD_MS(400));
	td_renewal_answered(&renewal, 1, TD_S(1) + TD_MS(310)); /* not sooner than half a period */
	assert_true(renewal.due_ns == TD_S(1) + TD_MS(350));
	td_renewal_sent(&renewal, 4, TD_S(1) + TD_MS(350));
	td_renewal_answered(&renewal, 2, TD_S(1) + TD_MS(410));
	assert_true(renewal.due_ns == TD_S(1) + TD_MS(410));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R7_a_hold_survives_every_round_trip_up_to_250_ms),
		cmocka_unit_test(R7_a_hold_survives_delays_that_vary_while_they_stay_below_the_age),
		cmocka_unit_test(R7_beyond_the_age_of_a_token_nothing_moves_at_all),
		cmocka_unit_test(R7_renewals_come_three_in_a_lease_and_never_in_a_burst),
		cmocka_unit_test(R7_answers_set_the_beat_where_several_renewals_are_under_way),
	};

	return cmocka_run_group_tests_name("cli_renewal", tests, NULL, NULL);
}
