/* SPDX-License-Identifier: MIT */
/* Draws the machine as `tripdog status` shows it. Pure but for the FILE it writes to. */
#ifndef TD_DAEMON_CLIENT_DRAW_H
#define TD_DAEMON_CLIENT_DRAW_H

#include "daemon/client/pen.h"
#include "daemon/client/view.h"

/* Narrower pages are drawn as if they were this wide. */
enum { TD_DRAW_WIDTH_MIN = 24 };

/* Draws everything, ending with a line end. From about 66 columns on (it depends on the names) each axis is
 * one line of a table; below, it takes two. No line is longer than the page. */
void td_draw_status(struct td_pen *pen, const struct td_view *view);

/* The state of an axis in one word for people; a state that is not known is returned as it is. */
const char *td_draw_state_word(const char *state);

#endif
