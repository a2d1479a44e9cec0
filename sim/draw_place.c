/* SPDX-License-Identifier: MIT */
#include "sim/draw_place.h"

static size_t digits(size_t number)
{
	size_t count = 1;

	for (; number >= 10; number /= 10)
		count++;
	return count;
}

/* Wide enough for "7" or "12-15". */
static double width_for(size_t first, size_t last)
{
	size_t characters = digits(first + 1) + (first == last ? 0 : 1 + digits(last + 1));

	return 11 + 7 * (double)characters;
}

static double total_width(const struct td_plate *plate, size_t plates, double gap)
{
	double total = 0;

	for (size_t i = 0; i < plates; i++)
		total += plate[i].width + gap;
	return total - gap;
}

/* Joins the two neighbours whose moments are closest. */
static size_t join_closest(struct td_plate *plate, size_t plates)
{
	size_t closest = 0;

	for (size_t i = 1; i + 1 < plates; i++)
		if (plate[i + 1].x - plate[i].x < plate[closest + 1].x - plate[closest].x)
			closest = i;
	plate[closest].last = plate[closest + 1].last;
	plate[closest].width = width_for(plate[closest].first, plate[closest].last);
	for (size_t i = closest + 1; i + 1 < plates; i++)
		plate[i] = plate[i + 1];
	return plates - 1;
}

/* A run of touching plates and where its left edge would like to be. */
struct run {
	size_t first;
	size_t count;
	double wish; /* sum of each plate's own wish for the left edge of the run */
	double width;
};

static double run_left(const struct run *run, double from, double to)
{
	double left = run->wish / (double)run->count;

	if (left > to - run->width)
		left = to - run->width;
	return left < from ? from : left;
}

/* Puts the plates of a run side by side. */
static void settle(struct td_plate *plate, const struct run *run, double left, double gap)
{
	for (size_t i = run->first; i < run->first + run->count; i++) {
		plate[i].place = left + plate[i].width / 2;
		left += plate[i].width + gap;
	}
}

/* The run of plates first ... last - 1. */
static struct run make_run(const struct td_plate *plate, size_t first, size_t last, double gap)
{
	struct run run = {.first = first, .count = last - first, .width = -gap};

	for (size_t i = first; i < last; i++) {
		run.wish += plate[i].x - plate[i].width / 2 - (run.width + gap);
		run.width += plate[i].width + gap;
	}
	return run;
}

/* Every plate begins where it would like to be; while it overlaps the run before it, the two become one run,
 * centred on what its members wish (the least squared shift). */
static void spread(struct td_plate *plate, size_t plates, double from, double to, double gap)
{
	for (size_t next = 0; next < plates; next++) {
		size_t first = next;
		struct run run = make_run(plate, first, next + 1, gap);

		while (first > 0 &&
		       plate[first - 1].place + plate[first - 1].width / 2 + gap > run_left(&run, from, to)) {
			/* take in the whole run the neighbour belongs to */
			do
				first--;
			while (first > 0 &&
			       plate[first - 1].place + plate[first - 1].width / 2 + gap + 0.001 >
				       plate[first].place - plate[first].width / 2);
			run = make_run(plate, first, next + 1, gap);
		}
		settle(plate, &run, run_left(&run, from, to), gap);
	}
}

size_t td_draw_place(const double *x, size_t marks, double from, double to, double gap,
		     struct td_plate *plate)
{
	size_t plates = marks;

	for (size_t i = 0; i < marks; i++)
		plate[i] = (struct td_plate){.first = i, .last = i, .x = x[i], .width = width_for(i, i)};
	while (plates > 1 && total_width(plate, plates, gap) > to - from)
		plates = join_closest(plate, plates);
	spread(plate, plates, from, to, gap);
	return plates;
}
