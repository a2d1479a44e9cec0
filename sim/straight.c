/* SPDX-License-Identifier: MIT */
#include "sim/straight.h"

#include <stdlib.h>
#include <string.h>

#define SAMPLE_NS       TD_MS(10)
#define COME_TO_REST_NS TD_S(1)

/* One end of a span. */
struct turn {
	td_ns at_ns;
	uint8_t line;
	bool on;
};

static int by_time(const void *a, const void *b)
{
	const struct turn *first = a;
	const struct turn *second = b;

	return (first->at_ns > second->at_ns) - (first->at_ns < second->at_ns);
}

static size_t list_turns(const struct td_plant_model *model, const struct td_straight_span *spans,
			 size_t count, struct turn *turns)
{
	size_t listed = 0;

	for (size_t i = 0; i < count; i++) {
		const struct td_straight_span *span = &spans[i];
		uint8_t line = (uint8_t)(span->axis * TD_WAYS + span->way);

		if (span->axis >= model->motors || span->way >= TD_WAYS || span->until_ns <= span->at_ns)
			continue;
		turns[listed++] = (struct turn){.at_ns = span->at_ns, .line = line, .on = true};
		turns[listed++] = (struct turn){.at_ns = span->until_ns, .line = line};
	}
	qsort(turns, listed, sizeof(*turns), by_time);
	return listed;
}

/* Plays them; all turns of one moment happen at once. Returns the time of the last one. */
static td_ns play(struct td_watch *watch, const struct turn *turns, size_t count)
{
	int wanted[TD_AXES_MAX * TD_WAYS] = {0}; /* how many spans want the line high */
	uint32_t word = 0;

	for (size_t i = 0; i < count; i++) {
		uint32_t bit = UINT32_C(1) << turns[i].line;

		wanted[turns[i].line] += turns[i].on ? 1 : -1;
		word = wanted[turns[i].line] > 0 ? word | bit : word & ~bit;
		if (i + 1 == count || turns[i + 1].at_ns != turns[i].at_ns)
			td_watch_outputs(watch, turns[i].at_ns, word);
	}
	return count ? turns[count - 1].at_ns : 0;
}

int td_straight_run(const struct td_plant_model *model, const struct td_straight_span *spans, size_t count,
		    struct td_watcher watcher, struct td_straight_result *result)
{
	struct turn *turns = calloc(2 * count + 1, sizeof(*turns));
	struct td_plant plant;
	struct td_watch watch;

	memset(result, 0, sizeof(*result));
	if (!turns)
		return -1;
	td_plant_init(&plant, model, 0);
	td_watch_start(&watch, &plant, watcher.change ? SAMPLE_NS : 0, watcher);
	td_ns last_ns = play(&watch, turns, list_turns(model, spans, count, turns));
	free(turns);
	td_watch_run(&watch, td_time_after(last_ns, COME_TO_REST_NS));
	result->axes = model->motors;
	result->end_ns = plant.now_ns;
	for (uint8_t axis = 0; axis < model->motors; axis++) {
		td_plant_report(&plant, axis, &result->axis[axis]);
		result->starts += result->axis[axis].starts;
	}
	return 0;
}
