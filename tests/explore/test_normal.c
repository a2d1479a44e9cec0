/* SPDX-License-Identifier: MIT */
/*
 * What a state leaves out makes no difference: a core and a monitor whose states are never normalised, side by side with
 * two that are packed and unpacked after each step, give the same outputs and answers and go through the same states.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/explore/explore.h"

enum { STEPS = 300000 };

struct pair {
	struct law law;
	struct moves moves;
	struct world raw;    /* as it is */
	struct world normal; /* the same, normalised */
	bool turned;         /* session 1 of the one is 2 of the other */
	uint64_t random;
	uint64_t starts;
};

static size_t dice(struct pair *pair, size_t sides)
{
	/* xorshift64 (Marsaglia 2003, triple 13-7-17), enough for a test */
	pair->random ^= pair->random << 13;
	pair->random ^= pair->random >> 7;
	pair->random ^= pair->random << 17;
	return (size_t)(pair->random >> 33) % sides;
}

static bool drives(const struct move *move, const struct td_rules *rules)
{
	const struct td_event *event = &move->event;

	switch (event->kind) {
	case TD_EVENT_REQUEST:
	case TD_EVENT_ARM:
	case TD_EVENT_WRITTEN: return true;
	case TD_EVENT_TIME: return move->ticks == 1;
	case TD_EVENT_RESET: return event->axis == TD_ALL_AXES && event->role == TD_ROLE_KEEPER;
	case TD_EVENT_LEVELS:
		return !td_switch_reads_active(&rules->sw[SW_STOP], event->levels >> SW_STOP & 1);
	case TD_EVENT_RELEASE:
	case TD_EVENT_GONE:
	case TD_EVENT_TURN_OVER:
	case TD_EVENT_STOP:
	case TD_EVENT_LATCH:
	case TD_EVENT_LATCH_KEPT:
	case TD_EVENT_DISARM:
	case TD_EVENT_LINES_LOST:
	case TD_EVENT_COOLED:
	case TD_EVENT_UNTWISTED:
	case TD_EVENT_BREACH:
	case TD_EVENT_LOCK_KEPT:
	case TD_EVENT_KINDS:
	default: return false;
	}
}

/* Mostly what somebody does who drives; else little would move. */
static struct move pick(struct pair *pair)
{
	struct move move = pair->moves.move[dice(pair, pair->moves.count)];

	while (!drives(&move, &pair->law.rules) && dice(pair, 20) != 0)
		move = pair->moves.move[dice(pair, pair->moves.count)];
	return move;
}

static struct td_event raw_event(const struct pair *pair, struct move move)
{
	bool named = move.event.session != 0;

	if (named && pair->turned)
		move.event.session = 3 - move.event.session;
	return move_event(&move, &pair->raw);
}

/* Numbers stand in one order with those that the monitor remembers; if they were wrong, an answer would be. */
static struct key core_key(struct world world)
{
	world.core.axis[0].hold.number = 0;
	world.core.axis[0].hold.seq = 0;
	return state_pack_core(&world);
}

/* Of the core; the normalised monitor may be stricter than the other. */
static void same_states(struct pair *pair)
{
	struct world copy = pair->raw;

	pair->turned = state_normalise(&copy, &pair->law.rules, pair->moves.heard_ticks);
	state_normalise(&pair->normal, &pair->law.rules, pair->moves.heard_ticks);
	const struct key raw = core_key(copy);
	const struct key normal = core_key(pair->normal);

	assert_memory_equal(&raw, &normal, sizeof(raw));
	const struct key whole = state_pack(&pair->normal);

	state_unpack(&pair->normal, &whole, &pair->law);
}

/* Of the axis, without refusals (the answers tell them); whose latched stop it is makes a difference in words alone. */
static void same_news(const struct td_result *a, const struct td_result *b)
{
	enum td_cause causes[2][TD_NEWS_MAX] = {{TD_CAUSE_NONE}};
	const struct td_result *of[2] = {a, b};

	for (int i = 0; i < 2; i++)
		for (uint16_t at = 0, to = 0; at < of[i]->news_count; at++)
			if (of[i]->news[at].axis == 0 &&
			    td_cause_kind(of[i]->news[at].cause) != TD_KIND_REFUSAL)
				causes[i][to++] = of[i]->news[at].cause;
	assert_memory_equal(causes[0], causes[1], sizeof(causes[0]));
}

static void step(struct pair *pair)
{
	static struct outcome raw;
	static struct outcome normal;
	struct move move = pick(pair);
	const struct td_event first = raw_event(pair, move);
	const struct td_event second = move_event(&move, &pair->normal);
	uint32_t before = pair->raw.monitor.outputs;

	if (!world_step(&pair->raw, &pair->law, &first, &raw))
		fail_msg("the core breaks a rule: %s", raw.fault);
	if (!world_step(&pair->normal, &pair->law, &second, &normal))
		fail_msg("the normalised core breaks a rule: %s", normal.fault);
	assert_int_equal(raw.outputs, normal.outputs);
	assert_int_equal(raw.result.answer, normal.result.answer);
	same_news(&raw.result, &normal.result);
	pair->starts += (raw.outputs & ~before) != 0;
	same_states(pair);
}

static void walk(int which)
{
	static struct pair pair;
	const struct variant variant = variant_make(which);

	memset(&pair, 0, sizeof(pair));
	pair.law = (struct law){variant.rules, variant.rules, NULL};
	pair.random = 20261125;
	moves_make(&pair.moves, &variant.rules, MOVES_ALL);
	world_init(&pair.raw, &pair.law);
	world_init(&pair.normal, &pair.law);
	for (int i = 0; i < STEPS; i++)
		step(&pair);
	printf("# measured: %s: %d steps, %llu starts\n", variant.name, STEPS,
	       (unsigned long long)pair.starts);
	assert_true(pair.starts > STEPS / 100);
}

static void a_state_is_all_there_is(void **state)
{
	(void)state;
	for (int which = 0; which < VARIANTS; which++)
		walk(which);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_state_is_all_there_is),
	};

	return cmocka_run_group_tests_name("normal states", tests, NULL, NULL);
}
