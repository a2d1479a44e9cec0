/* SPDX-License-Identifier: MIT */
#include "sim/plant.h"

#include <math.h>
#include <string.h>

static const double STILL_SPEED = 1e-6; /* shares a second: slower is not moving */
static const int SIDE[TD_WAYS] = {-1, +1};

enum drive { DRIVE_NONE = 0, DRIVE_WAY0 = 1, DRIVE_WAY1 = 2, DRIVE_BOTH = 3 };

static enum drive drive_of(const struct td_plant *plant, uint8_t axis)
{
	return (enum drive)(plant->outputs >> (axis * TD_WAYS) & 3U);
}

static struct td_path_edge stop_of(uint8_t way)
{
	return (struct td_path_edge){.edge = way, .side = SIDE[way]};
}

static struct td_path_edge cam_of(const struct td_plant_motor *motor, uint8_t way)
{
	return (struct td_path_edge){.edge = way - SIDE[way] * motor->switch_share, .side = SIDE[way]};
}

static double final_speed(const struct td_plant_motor *motor, enum drive drive)
{
	switch (drive) {
	case DRIVE_WAY0: return -1e9 / (double)motor->travel_ns[0];
	case DRIVE_WAY1: return 1e9 / (double)motor->travel_ns[1];
	case DRIVE_NONE:
	case DRIVE_BOTH: break;
	}
	return 0;
}

static td_ns time_constant(const struct td_plant_motor *motor, enum drive drive)
{
	if (drive == DRIVE_BOTH)
		return motor->brake_ns;
	return drive == DRIVE_NONE ? motor->coast_ns : motor->speed_up_ns;
}

/* --- one axis -------------------------------------------------------------------------------------- */

static td_ns next_meeting(const struct td_plant *plant, uint8_t axis)
{
	const struct td_plant_motor *motor = &plant->model.motor[axis];
	const struct td_path *path = &plant->axis[axis].path;
	td_ns next = TD_NEVER;

	if (!motor->ends)
		return TD_NEVER;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		struct td_path_edge stop = stop_of(way);

		next = td_time_earlier(next, td_path_first(path, plant->now_ns, &stop, true));
		if (motor->end_switch[way] == TD_NO_SWITCH)
			continue;
		struct td_path_edge cam = cam_of(motor, way);
		bool pressed = plant->sw[motor->end_switch[way]].cam;
		next = td_time_earlier(next, td_path_first(path, plant->now_ns, &cam, !pressed));
	}
	return next;
}

/* The way whose stop the axis stands at and does not leave, or TD_NO_WAY. */
static uint8_t standing_at(const struct td_plant_motor *motor, double position, double speed, double wanted)
{
	if (!motor->ends)
		return TD_NO_WAY;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		struct td_path_edge stop = stop_of(way);

		if (td_path_beyond(&stop, position) && SIDE[way] * wanted >= 0 && SIDE[way] * speed >= 0)
			return way;
	}
	return TD_NO_WAY;
}

/* How it goes on from `position`: held by a stop or a jam, or moving. */
static struct td_path new_path(struct td_plant *plant, uint8_t axis, double position, double speed)
{
	const struct td_plant_motor *motor = &plant->model.motor[axis];
	struct td_plant_axis *a = &plant->axis[axis];
	enum drive drive = drive_of(plant, axis);
	double wanted = final_speed(motor, drive);
	uint8_t stop = standing_at(motor, position, speed, wanted);
	bool held = a->jammed || stop != TD_NO_WAY;

	a->pushing = held && wanted != 0;
	if (held)
		return td_path_still(plant->now_ns, stop == TD_NO_WAY ? position : stop);
	return (struct td_path){.from_ns = plant->now_ns,
				.position = position,
				.speed = speed,
				.final_speed = wanted,
				.tau_s = (double)time_constant(motor, drive) * 1e-9};
}

static void touch_cams(struct td_plant *plant, uint8_t axis, double position)
{
	const struct td_plant_motor *motor = &plant->model.motor[axis];

	if (!motor->ends)
		return;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (motor->end_switch[way] == TD_NO_SWITCH)
			continue;
		struct td_feeler *sw = &plant->sw[motor->end_switch[way]];
		struct td_path_edge cam = cam_of(motor, way);

		td_feeler_press(sw, plant->now_ns, td_path_beyond(&cam, position), sw->finger);
	}
}

/* Begins a new path at `position`: after a stop, a jam, a push or a change of the outputs. */
static void set_off(struct td_plant *plant, uint8_t axis, double position, double speed)
{
	struct td_plant_axis *a = &plant->axis[axis];

	a->path = new_path(plant, axis, position, speed);
	touch_cams(plant, axis, a->path.position);
	a->next_ns = next_meeting(plant, axis);
}

/* It has met a stop or a cam. */
static void meet(struct td_plant *plant, uint8_t axis)
{
	struct td_plant_axis *a = &plant->axis[axis];
	double position = td_path_position(&a->path, plant->now_ns);
	double speed = td_path_speed(&a->path, plant->now_ns);

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		struct td_path_edge stop = stop_of(way);

		if (td_path_beyond(&stop, position) && SIDE[way] * speed > 0) {
			set_off(plant, axis, way, 0);
			return;
		}
	}
	touch_cams(plant, axis, position);
	a->next_ns = next_meeting(plant, axis);
}

/* --- time ------------------------------------------------------------------------------------------ */

static void count_time(struct td_plant *plant, td_ns to_ns)
{
	td_ns passed = to_ns - plant->now_ns;

	for (uint8_t axis = 0; axis < plant->model.motors; axis++) {
		struct td_plant_axis *a = &plant->axis[axis];
		enum drive drive = drive_of(plant, axis);

		if (drive == DRIVE_BOTH)
			a->both_high_ns += passed;
		else if (drive != DRIVE_NONE)
			a->powered_ns += passed;
		if (a->pushing)
			a->pushing_ns += passed;
		if (a->pushing && a->jammed)
			a->jam_pushing_ns += passed;
	}
	plant->now_ns = to_ns;
}

td_ns td_plant_next(const struct td_plant *plant)
{
	td_ns next = TD_NEVER;

	for (uint8_t axis = 0; axis < plant->model.motors; axis++)
		next = td_time_earlier(next, plant->axis[axis].next_ns);
	for (uint8_t sw = 0; sw < plant->model.switches; sw++)
		next = td_time_earlier(next, td_feeler_next(&plant->sw[sw]));
	return next;
}

void td_plant_advance(struct td_plant *plant, td_ns to_ns)
{
	for (td_ns next = td_plant_next(plant); next <= to_ns && next != TD_NEVER;
	     next = td_plant_next(plant)) {
		count_time(plant, next);
		for (uint8_t sw = 0; sw < plant->model.switches; sw++)
			td_feeler_advance(&plant->sw[sw], next);
		for (uint8_t axis = 0; axis < plant->model.motors; axis++)
			if (plant->axis[axis].next_ns <= next)
				meet(plant, axis);
	}
	if (to_ns > plant->now_ns)
		count_time(plant, to_ns);
}

/* --- from outside ---------------------------------------------------------------------------------- */

void td_plant_init(struct td_plant *plant, const struct td_plant_model *model, td_ns at_ns)
{
	memset(plant, 0, sizeof(*plant));
	plant->model = *model;
	plant->now_ns = at_ns;
	for (unsigned int line = 0; line < TD_AXES_MAX * TD_WAYS; line++)
		plant->rise_ns[line] = plant->fall_ns[line] = -1;
	for (uint8_t sw = 0; sw < model->switches; sw++)
		td_feeler_init(&plant->sw[sw], &model->sw[sw], model->bounce_ns, model->seed + sw);
	for (uint8_t axis = 0; axis < model->motors; axis++)
		set_off(plant, axis, model->motor[axis].start, 0);
	/* A switch that a cam presses from the start has long come to rest. */
	for (uint8_t sw = 0; sw < model->switches; sw++)
		td_feeler_settle(&plant->sw[sw]);
}

static void note_edges(struct td_plant *plant, uint32_t word)
{
	uint32_t changed = plant->outputs ^ word;

	for (unsigned int line = 0; line < TD_AXES_MAX * TD_WAYS; line++) {
		if (!(changed >> line & 1U))
			continue;
		if (word >> line & 1U)
			plant->rise_ns[line] = plant->now_ns;
		else
			plant->fall_ns[line] = plant->now_ns;
	}
}

static void change_drive(struct td_plant *plant, uint8_t axis, enum drive drive)
{
	struct td_plant_axis *a = &plant->axis[axis];

	if (drive == DRIVE_BOTH)
		a->both_high++;
	else if (drive != DRIVE_NONE)
		a->starts++;
	set_off(plant, axis, td_path_position(&a->path, plant->now_ns),
		td_path_speed(&a->path, plant->now_ns));
}

void td_plant_outputs(struct td_plant *plant, td_ns at_ns, uint32_t word)
{
	uint32_t before = plant->outputs;

	td_plant_advance(plant, at_ns);
	word &= td_plant_lines(plant->model.motors);
	note_edges(plant, word);
	plant->outputs = word;
	for (uint8_t axis = 0; axis < plant->model.motors; axis++)
		if ((before ^ word) >> (axis * TD_WAYS) & 3U)
			change_drive(plant, axis, drive_of(plant, axis));
}

uint32_t td_plant_lines(uint8_t motors)
{
	return motors >= TD_AXES_MAX ? UINT32_MAX : (UINT32_C(1) << (motors * TD_WAYS)) - 1;
}

uint32_t td_plant_switch_lines(uint8_t switches)
{
	return switches >= TD_SWITCHES_MAX ? UINT32_MAX : (UINT32_C(1) << switches) - 1;
}

uint32_t td_plant_levels(const struct td_plant *plant)
{
	uint32_t levels = 0;

	for (uint8_t sw = 0; sw < plant->model.switches; sw++)
		if (td_feeler_high(&plant->sw[sw]))
			levels |= UINT32_C(1) << sw;
	return levels;
}

void td_plant_report(const struct td_plant *plant, uint8_t axis, struct td_plant_report *report)
{
	const struct td_plant_axis *a = &plant->axis[axis];
	const struct td_plant_motor *motor = &plant->model.motor[axis];
	double teeth = motor->teeth_per_s * ((double)(a->pushing_ns - a->jam_pushing_ns) * 1e-9) +
		       motor->jam_teeth_per_s * ((double)a->jam_pushing_ns * 1e-9);

	*report = (struct td_plant_report){
		.position = td_path_position(&a->path, plant->now_ns),
		.speed = td_path_speed(&a->path, plant->now_ns),
		.jammed = a->jammed,
		.pushing = a->pushing,
		.skipped_teeth = (int64_t)floor(teeth),
		.powered_ns = a->powered_ns,
		.pushing_ns = a->pushing_ns,
		.starts = a->starts,
		.both_high = a->both_high,
		.both_high_ns = a->both_high_ns,
	};
}

bool td_plant_moving(const struct td_plant *plant)
{
	for (uint8_t axis = 0; axis < plant->model.motors; axis++) {
		const struct td_plant_axis *a = &plant->axis[axis];

		if (a->pushing || a->path.final_speed != 0 ||
		    fabs(td_path_speed(&a->path, plant->now_ns)) > STILL_SPEED)
			return true;
	}
	return false;
}

void td_plant_wire(struct td_plant *plant, uint8_t sw, enum td_wire wire)
{
	plant->sw[sw].wire = wire;
}

void td_plant_press(struct td_plant *plant, uint8_t sw, bool pressed)
{
	td_feeler_press(&plant->sw[sw], plant->now_ns, plant->sw[sw].cam, pressed);
}

void td_plant_jam(struct td_plant *plant, uint8_t axis, bool jammed)
{
	struct td_plant_axis *a = &plant->axis[axis];

	if (a->jammed == jammed)
		return;
	a->jammed = jammed;
	set_off(plant, axis, td_path_position(&a->path, plant->now_ns), 0);
}

void td_plant_push(struct td_plant *plant, uint8_t axis, double position)
{
	if (plant->model.motor[axis].ends)
		position = fmin(fmax(position, 0), 1);
	set_off(plant, axis, position, 0);
}
