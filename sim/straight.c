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

static size_t list_turns(const struct td_plant_model *model, const struct td_straight_case *given,
			 struct turn *turns)
{
	size_t listed = 0;

	for (size_t i = 0; i < given->spans; i++) {
		const struct td_straight_span *span = &given->span[i];
		uint8_t line = (uint8_t)(span->axis * TD_WAYS + span->way);

		if (span->axis >= model->motors || span->way >= TD_WAYS || span->until_ns <= span->at_ns)
			continue;
		turns[listed++] = (struct turn){.at_ns = span->at_ns, .line = line, .on = true};
		turns[listed++] = (struct turn){.at_ns = span->until_ns, .line = line};
	}
	qsort(turns, listed, sizeof(*turns), by_time);
	return listed;
}

static void break_it(struct td_watch *watch, const struct td_straight_fault *fault)
{
	struct td_plant *plant = watch->plant;

	td_watch_run(watch, fault->at_ns);
	if (fault->kind == TD_STRAIGHT_JAM && fault->index < plant->model.motors)
		td_plant_jam(plant, fault->index, true);
	if (fault->kind == TD_STRAIGHT_BROKEN_WIRE && fault->index < plant->model.switches)
		td_plant_wire(plant, fault->index, TD_WIRE_BROKEN);
	td_watch_look(watch);
}

/* Plays turns and faults in the order of time; all turns of one moment happen at once. Returns the time of the last one. */
static td_ns play(struct td_watch *watch, const struct turn *turns, size_t count,
		  const struct td_straight_case *given)
{
	size_t fault = 0;
	int wanted[TD_AXES_MAX * TD_WAYS] = {0}; /* how many spans want the line high */
	uint32_t word = 0;

	for (size_t i = 0; i < count; i++) {
		uint32_t bit = UINT32_C(1) << turns[i].line;

		for (; fault < given->faults && given->fault[fault].at_ns <= turns[i].at_ns; fault++)
			break_it(watch, &given->fault[fault]);
		wanted[turns[i].line] += turns[i].on ? 1 : -1;
		word = wanted[turns[i].line] > 0 ? word | bit : word & ~bit;
		if (i + 1 == count || turns[i + 1].at_ns != turns[i].at_ns)
			td_watch_outputs(watch, turns[i].at_ns, word);
	}
	for (; fault < given->faults; fault++)
		break_it(watch, &given->fault[fault]);
	return watch->plant->now_ns;
}

int td_straight_run(const struct td_plant_model *model, const struct td_straight_case *given,
		    struct td_watcher watcher, struct td_straight_result *result)
{
	struct turn *turns = calloc(2 * given->spans + 1, sizeof(*turns));
	struct td_plant plant;
	struct td_watch watch;

	memset(result, 0, sizeof(*result));
	if (!turns)
		return -1;
	td_plant_init(&plant, model, 0);
	td_watch_start(&watch, &plant, watcher.change ? SAMPLE_NS : 0, watcher);
	td_ns last_ns = play(&watch, turns, list_turns(model, given, turns), given);
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
