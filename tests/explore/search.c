/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "tests/explore/explore.h"

static double now_s(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void blame(struct search *search, uint32_t from, size_t move, const struct outcome *outcome)
{
	search->at_fault = true;
	search->fault_from = from;
	search->fault_move = (uint16_t)move;
	search->fault = *outcome;
}

static void note(struct search *search, uint32_t before, const struct outcome *outcome)
{
	search->transitions++;
	search->starts += (outcome->outputs & ~before) != 0;
	for (uint16_t i = 0; i < outcome->result.news_count; i++)
		if (outcome->result.news[i].cause < 128)
			search->causes[outcome->result.news[i].cause / 64] |=
				UINT64_C(1) << outcome->result.news[i].cause % 64;
}

/* Everything that can happen in one state. */
static void expand(struct search *search, uint32_t index)
{
	const struct law *law = &search->law;
	struct world from;
	struct outcome outcome;

	state_unpack(&from, &search->store.key[index], law);
	if (search->recovery && !world_recovers(&from, law)) {
		const struct outcome stuck = {.fault = "nothing brings the axis back into motion"};

		blame(search, index, search->moves.count, &stuck);
	}
	for (size_t i = 0; i < search->moves.count && !search->at_fault; i++) {
		struct world to = from;
		struct td_event event = move_event(&search->moves.move[i], &from);

		if (!world_step(&to, law, &event, &outcome)) {
			blame(search, index, i, &outcome);
			return;
		}
		note(search, from.monitor.outputs, &outcome);
		state_normalise(&to, &law->rules, search->moves.heard_ticks);
		const struct key key = state_pack(&to);
		unsigned depth = search->store.origin[index].depth + 1U;

		if (store_add(&search->store, &key, (struct origin){index, (uint16_t)i, (uint16_t)depth}))
			search->depth = depth;
	}
}

void search_run(struct search *search)
{
	double start_s = now_s();
	struct world world;
	uint32_t index = 0;

	store_open(&search->store);
	world_init(&world, &search->law);
	state_normalise(&world, &search->law.rules, search->moves.heard_ticks);
	const struct key key = state_pack(&world);

	store_add(&search->store, &key, (struct origin){0});
	while (index < search->store.count && search->store.count < search->states_max && !search->at_fault)
		expand(search, index++);
	search->closed = index == search->store.count && !search->at_fault;
	search->seconds = now_s() - start_s;
}

void search_close(struct search *search)
{
	store_close(&search->store);
}

/* --- the way to a fault ----------------------------------------------------------------------------------- */

unsigned search_path_length(const struct search *search)
{
	return search->store.origin[search->fault_from].depth + 1U;
}

static uint32_t ancestor(const struct search *search, unsigned depth)
{
	uint32_t at = search->fault_from;

	while (search->store.origin[at].depth > depth)
		at = search->store.origin[at].parent;
	return at;
}

static void print_step(const struct search *search, unsigned number, size_t move, uint32_t outputs)
{
	char text[160] = "(nothing)";

	if (move < search->moves.count)
		move_text(&search->moves.move[move], &search->law.rules, text, sizeof(text));
	printf("#   %2u  %-72s -> %s%s%s\n", number, text, outputs & 1 ? "way0 " : "",
	       outputs & 2 ? "way1" : "", outputs == 0 ? "off" : "");
}

void search_print_path(const struct search *search)
{
	unsigned last = search_path_length(search);

	for (unsigned depth = 1; depth < last; depth++) {
		uint32_t at = ancestor(search, depth);
		struct world world;

		state_unpack(&world, &search->store.key[at], &search->law);
		print_step(search, depth, search->store.origin[at].move, world.monitor.outputs);
	}
	print_step(search, last, search->fault_move, search->fault.outputs);
	printf("#       R%u: %s\n", search->fault.verdict.rule, search->fault.fault);
}
