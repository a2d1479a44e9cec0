/* SPDX-License-Identifier: MIT */
#include "sim/path.h"

#include <math.h>

/* After this many time constants a coasting axis has lost all speed a double can tell (e^-60 = 9e-27). */
static const double SETTLED_TAUS = 60.0;
/* Far beyond any run of the simulation, and safe to convert to nanoseconds. */
static const double LONGEST_S = 1e8;

struct td_path td_path_still(td_ns at_ns, double position)
{
	return (struct td_path){.from_ns = at_ns, .position = position};
}

static double seconds_into(const struct td_path *path, td_ns at_ns)
{
	return (double)td_time_between(path->from_ns, at_ns) * 1e-9;
}

double td_path_position(const struct td_path *path, td_ns at_ns)
{
	double u = seconds_into(path, at_ns);

	if (path->tau_s <= 0)
		return path->position + path->final_speed * u;
	double gone = -expm1(-u / path->tau_s); /* share of the change in speed that is done */
	return path->position + path->speed * path->tau_s * gone +
	       path->final_speed * (u - path->tau_s * gone);
}

double td_path_speed(const struct td_path *path, td_ns at_ns)
{
	if (path->tau_s <= 0)
		return path->final_speed;
	double left = exp(-seconds_into(path, at_ns) / path->tau_s);
	return path->final_speed + (path->speed - path->final_speed) * left;
}

bool td_path_beyond(const struct td_path_edge *edge, double position)
{
	return edge->side * (position - edge->edge) >= 0;
}

static td_ns after_seconds(const struct td_path *path, double seconds)
{
	return td_time_after(path->from_ns, (td_ns)(fmin(seconds, LONGEST_S) * 1e9));
}

/* Where the motion changes direction; TD_NEVER where it does not. */
static td_ns turning_point(const struct td_path *path)
{
	if (path->tau_s <= 0 || path->speed * path->final_speed >= 0)
		return TD_NEVER;
	return after_seconds(path, path->tau_s * log1p(-path->speed / path->final_speed));
}

/* By then the path has passed the edge, if it is on its way there, or stands still. */
static td_ns horizon(const struct td_path *path, double edge)
{
	double tau_s = fmax(path->tau_s, 0);

	if (path->final_speed == 0)
		return after_seconds(path, SETTLED_TAUS * tau_s);
	double way = fabs(edge - path->position) + 1 + fabs(path->speed - path->final_speed) * tau_s;
	return after_seconds(path, way / fabs(path->final_speed));
}

struct leg {
	td_ns from_ns;
	td_ns to_ns;
	double direction; /* its sign */
};

/* The motion on a leg has one direction, so halving the interval finds the one crossing there is. */
static td_ns first_on_leg(const struct td_path *path, const struct leg *leg, const struct td_path_edge *edge,
			  bool beyond)
{
	td_ns before = leg->from_ns;
	td_ns after = leg->to_ns;
	bool outward = edge->side * leg->direction > 0;

	if (leg->direction == 0 || outward != beyond || after <= before ||
	    td_path_beyond(edge, td_path_position(path, after)) != beyond)
		return TD_NEVER;
	while (after - before > 1) {
		td_ns middle = before + (after - before) / 2;

		if (td_path_beyond(edge, td_path_position(path, middle)) == beyond)
			after = middle;
		else
			before = middle;
	}
	return after;
}

td_ns td_path_first(const struct td_path *path, td_ns after_ns, const struct td_path_edge *edge, bool beyond)
{
	td_ns turn = turning_point(path);
	td_ns end = horizon(path, edge->edge);
	td_ns start = after_ns > path->from_ns ? after_ns : path->from_ns;
	struct leg first = {start, td_time_earlier(turn, end), path->speed};

	if (path->tau_s <= 0 || path->speed == 0)
		first.direction = path->final_speed;
	td_ns found = first_on_leg(path, &first, edge, beyond);
	if (found != TD_NEVER || turn == TD_NEVER)
		return found;
	struct leg second = {start > turn ? start : turn, end, path->final_speed};
	return first_on_leg(path, &second, edge, beyond);
}
