/* SPDX-License-Identifier: MIT */
/* The cable of a machine that drives on one, drawn like an axis that goes from left to right. */
#ifndef TD_DAEMON_CLIENT_DRAW_TWIST_H
#define TD_DAEMON_CLIENT_DRAW_TWIST_H

#include "daemon/client/view.h"

/* An axis to draw in its place. `state` is written and borrowed. */
enum { TD_TWIST_STATE_MAX = 32 };
struct td_view_axis td_draw_twist_row(const struct td_view_twist *twist, char state[TD_TWIST_STATE_MAX]);

/* "turned 412 degrees to the left; the limit is 720, less 36 for doubt" */
enum { TD_TWIST_SENTENCE_MAX = 128 };
void td_draw_twist_sentence(const struct td_view_twist *twist, char text[TD_TWIST_SENTENCE_MAX]);

#endif
