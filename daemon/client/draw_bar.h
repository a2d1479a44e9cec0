/* SPDX-License-Identifier: MIT */
/* An axis as a bar between its two ends. */
#ifndef TD_DAEMON_CLIENT_DRAW_BAR_H
#define TD_DAEMON_CLIENT_DRAW_BAR_H

#include "daemon/client/pen.h"
#include "daemon/client/view.h"

/* Writes exactly `columns` columns (at least 3): the end of way 0, the track, the end of way 1. A mark on
 * the track stands where the axis is estimated to be; a pointer takes its place while a way is powered or
 * waited for. Where nobody knows, the track says so. */
void td_draw_bar(struct td_pen *pen, const struct td_view_axis *axis, size_t columns);

#endif
