/* SPDX-License-Identifier: MIT */
#include "sim/board_parts.h"

/* -1 means "never": null. */
static json_t *time_or_null(td_ns at_ns)
{
	return at_ns < 0 ? json_null() : json_integer(at_ns);
}

static const char *powered(const struct td_board *board, uint8_t axis)
{
	switch (board->plant.outputs >> (axis * TD_WAYS) & 3U) {
	case 1: return board->setup.config->axis[axis].way_name[0];
	case 2: return board->setup.config->axis[axis].way_name[1];
	case 3: return "both";
	default: return "none";
	}
}

static json_t *report_output(const struct td_board *board, uint8_t axis, uint8_t way)
{
	unsigned int line = axis * (unsigned int)TD_WAYS + way;

	return json_pack("{s:s, s:b, s:o, s:o}", "way", board->setup.config->axis[axis].way_name[way], "high",
			 (int)(board->plant.outputs >> line & 1U), "rise_ns",
			 time_or_null(board->plant.rise_ns[line]), "fall_ns",
			 time_or_null(board->plant.fall_ns[line]));
}

static json_t *report_axis(const struct td_board *board, uint8_t axis)
{
	struct td_plant_report report;

	td_plant_report(&board->plant, axis, &report);
	return json_pack("{s:s, s:f, s:f, s:s, s:b, s:b, s:I, s:I, s:I, s:I, s:I, s:I, s:[o, o]}", "name",
			 board->setup.config->axis[axis].name, "position", report.position, "speed",
			 report.speed, "powered", powered(board, axis), "jammed", report.jammed, "pushing",
			 report.pushing, "skipped_teeth", (json_int_t)report.skipped_teeth, "powered_ns",
			 (json_int_t)report.powered_ns, "pushing_ns", (json_int_t)report.pushing_ns, "starts",
			 (json_int_t)report.starts, "both_high", (json_int_t)report.both_high, "both_high_ns",
			 (json_int_t)report.both_high_ns, "outputs", report_output(board, axis, 0),
			 report_output(board, axis, 1));
}

static json_t *report_switch(const struct td_board *board, uint8_t sw)
{
	static const char *const wires[] = {
		[TD_WIRE_SOUND] = "sound", [TD_WIRE_BROKEN] = "broken", [TD_WIRE_SHORTED] = "shorted"};
	const struct td_feeler *feeler = &board->plant.sw[sw];

	return json_pack("{s:s, s:b, s:b, s:b, s:s}", "name", board->setup.config->sw[sw].name, "high",
			 (int)td_feeler_high(feeler), "cam", (int)feeler->cam, "finger", (int)feeler->finger,
			 "wire", wires[feeler->wire]);
}

json_t *td_board_report(const struct td_board *board)
{
	json_t *axes = json_array();
	json_t *switches = json_array();
	json_int_t starts = 0;

	for (uint8_t axis = 0; axis < board->plant.model.motors; axis++) {
		struct td_plant_report report;

		td_plant_report(&board->plant, axis, &report);
		starts += (json_int_t)report.starts;
		(void)json_array_append_new(axes, report_axis(board, axis));
	}
	for (uint8_t sw = 0; sw < board->plant.model.switches; sw++)
		(void)json_array_append_new(switches, report_switch(board, sw));
	return json_pack("{s:b, s:I, s:b, s:o, s:I, s:I, s:I, s:o, s:o}", "ok", 1, "now_ns",
			 (json_int_t)board->plant.now_ns, "held", board->port.daemon_fd >= 0, "taken_ns",
			 time_or_null(board->port.taken_ns), "starts", starts, "edges_dropped",
			 (json_int_t)board->port.edges_dropped, "refusals", (json_int_t)board->port.refusals,
			 "axes", axes, "switches", switches);
}
