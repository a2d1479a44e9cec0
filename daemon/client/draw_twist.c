/* SPDX-License-Identifier: MIT */
#include "daemon/client/draw_twist.h"

#include <inttypes.h>
#include <stdio.h>

enum { PPM = 1000000 };

/* From the left limit to the right one. */
static int32_t place_ppm(const struct td_view_twist *twist)
{
	int64_t limit = twist->limit_degrees > 0 ? twist->limit_degrees : 1;

	if (twist->net_degrees >= limit)
		return 0;
	if (twist->net_degrees <= -limit)
		return PPM;
	return (int32_t)((double)(limit - twist->net_degrees) / (2.0 * (double)limit) * PPM);
}

struct td_view_axis td_draw_twist_row(const struct td_view_twist *twist, char state[TD_TWIST_STATE_MAX])
{
	int64_t net = twist->net_degrees;

	(void)snprintf(state, TD_TWIST_STATE_MAX, "%" PRId64 " deg", net < 0 ? -net : net);
	return (struct td_view_axis){
		.name = "cable",
		.way_name = {"left", "right"},
		.state = state,
		.way = TD_NO_WAY,
		.position_ppm = place_ppm(twist),
		.trip = td_view_reason_read(NULL),
	};
}

void td_draw_twist_sentence(const struct td_view_twist *twist, char text[TD_TWIST_SENTENCE_MAX])
{
	int64_t net = twist->net_degrees;
	const char *side = net > 0 ? " to the left" : " to the right";

	(void)snprintf(text, TD_TWIST_SENTENCE_MAX,
		       "turned %" PRId64 " degrees%s; the limit is %" PRId64 ", less %" PRId64 " for doubt",
		       net < 0 ? -net : net, net == 0 ? "" : side, twist->limit_degrees,
		       twist->doubt_degrees);
}
