/* SPDX-License-Identifier: MIT */
#include "tests/support/rounds.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/clock.h"

enum { LEASE_MS = 1500, TRIP_EVERY = 2 };

#define IN_TIME_NS TD_S(5)

void rounds_open(struct rounds *rounds, struct stage *stage)
{
	memset(rounds, 0, sizeof(*rounds));
	rounds->stage = stage;
	rounds->starter = stage_link(stage, "visitor.sock");
	follower_start(&rounds->follower, stage_file(stage, "visitor.sock"));
}

void rounds_close(struct rounds *rounds)
{
	td_link_close(rounds->starter);
	follower_end(&rounds->follower);
	rounds_forget(rounds);
}

void rounds_forget(struct rounds *rounds)
{
	series_clear(&rounds->stop_ms[TD_ROLE_VISITOR]);
	series_clear(&rounds->stop_ms[TD_ROLE_KEEPER]);
	rounds->trips_made = 0;
	rounds->heard = (struct follower_heard){0, 0, 0, false};
	rounds->heard_before = rounds->follower.heard ? *rounds->follower.heard : rounds->heard;
}

/* --- a stop, a trip -------------------------------------------------------------------------------------- */

/* By turns: both axes, both ways, both roles. */
static void stop_once(struct rounds *rounds)
{
	static const struct {
		const char *axis;
		const char *way[2];
	} axes[] = {{"drive", {"backward", "forward"}}, {"steering", {"left", "right"}}};
	unsigned int turn = rounds->round;
	int way = (int)(turn / 2 % 2);
	enum td_role role = turn / 4 % 2 ? TD_ROLE_VISITOR : TD_ROLE_KEEPER;
	const char *axis = axes[turn % 2].axis;
	struct td_link *link = role == TD_ROLE_KEEPER ? rounds->stage->keeper : rounds->starter;
	const char *answer = stage_request(link, axis, axes[turn % 2].way[way], ++rounds->hold, 0, LEASE_MS);

	if (strcmp(answer, "started") != 0 && strcmp(answer, "queued") != 0)
		fail_msg("%s does not start: %s", axis, answer);
	assert_true(stage_wait_output(rounds->stage, axis, way, true, IN_TIME_NS));
	td_ns asked_ns = td_clock_now();

	json_decref(stage_call(link, "stop", NULL));
	assert_true(stage_wait_output(rounds->stage, axis, way, false, IN_TIME_NS));
	series_add(&rounds->stop_ms[role],
		   (double)(stage_fall_ns(rounds->stage, axis, way) - asked_ns) / 1e6);
}

static bool tripped(struct rounds *rounds)
{
	return stage_axis(rounds->stage->keeper, "boom", "trip.cause") != NULL;
}

static void reset_boom(struct rounds *rounds)
{
	td_ns until_ns = td_clock_now() + IN_TIME_NS;

	while (tripped(rounds)) {
		assert_true(td_clock_now() < until_ns);
		stage_sleep(TD_MS(30));
		json_decref(stage_call(rounds->stage->keeper, "reset", json_pack("{s:s}", "axis", "boom")));
	}
}

/* Both ends at once: no boom can be there (R8). */
static void trip_once(struct rounds *rounds)
{
	td_ns until_ns = td_clock_now() + IN_TIME_NS;

	json_decref(stage_poke(rounds->stage, "break boom_top"));
	json_decref(stage_poke(rounds->stage, "break boom_bottom"));
	while (!tripped(rounds))
		assert_true(td_clock_now() < until_ns);
	rounds->trips_made++;
	json_decref(stage_poke(rounds->stage, "mend boom_top"));
	json_decref(stage_poke(rounds->stage, "mend boom_bottom"));
	reset_boom(rounds);
}

static const struct follower_heard *look(struct rounds *rounds)
{
	const volatile struct follower_heard *now = rounds->follower.heard;
	const struct follower_heard *before = &rounds->heard_before;

	rounds->heard.trips = now->trips - before->trips;
	rounds->heard.news = now->news - before->news;
	rounds->heard.missed = now->missed - before->missed;
	rounds->heard.dropped = now->dropped;
	return &rounds->heard;
}

void rounds_run(struct rounds *rounds, td_ns for_ns)
{
	td_ns until_ns = td_clock_now() + for_ns;

	for (; td_clock_now() < until_ns; rounds->round++) {
		stop_once(rounds);
		if (rounds->round % TRIP_EVERY == 0)
			trip_once(rounds);
	}
	until_ns = td_clock_now() + IN_TIME_NS;
	while (look(rounds)->trips < rounds->trips_made && td_clock_now() < until_ns)
		stage_sleep(TD_MS(10));
}
