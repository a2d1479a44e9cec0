/* SPDX-License-Identifier: MIT */
/*
 * How far an axis has gone, told by powered time alone (R4, R5, R6, R8).
 *
 * For each way the axis remembers the powered time since it left the other end. Going back gives time
 * back in proportion to the two ways' reach, rounded against the axis, so tapping to and fro cannot
 * stretch a limit. Touching an end sets both to what they must be there. Where no end is known both
 * count from zero, which only ever shortens what is allowed to one reach with its margin.
 */
#ifndef TD_CORE_TRAVEL_H
#define TD_CORE_TRAVEL_H

#include "core/axis.h"

/* Powered time spent in `way`, the running part included, anything given back taken off. */
td_ns td_travel_spent(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way,
		      td_ns now_ns);

/* Makes the running part part of the memory: called when the power is cut. */
void td_travel_commit(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns);

/* The axis stands at the end of `way`. */
void td_travel_at_end(struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way);

/* Nothing is known of where the axis is. */
void td_travel_forget(struct td_axis *axis);

/* R6: standing still long enough gives the stroke back. To be called before a start. */
void td_travel_restore(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns);

/* When a running axis will have spent `limit_ns` in its way; TD_NEVER if it does not run. */
td_ns td_travel_deadline(const struct td_axis *axis, td_ns limit_ns);

/* 0 = end of way 0, 1000000 = end of way 1, -1 = unknown. */
int32_t td_travel_position_ppm(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns);

#endif
