/* SPDX-License-Identifier: MIT */
/* A page that is drawn again and again: on a terminal in place, elsewhere one below the other. */
#ifndef TD_DAEMON_CLIENT_SCREEN_H
#define TD_DAEMON_CLIENT_SCREEN_H

#include <stdbool.h>
#include <stddef.h>

#include "daemon/client/keyboard.h"
#include "daemon/client/pen.h"
#include "daemon/client/view.h"

struct td_screen {
	bool terminal; /* standard output can be drawn on in place */
	bool drawn;
	struct td_keyboard keyboard;
};

/* True if standard output is a terminal that knows control sequences. */
bool td_screen_is_terminal(void);

/* Columns of the terminal on standard output, 80 where there is none or it does not tell; at most 100, for
 * nobody reads a longer line. */
size_t td_screen_width(void);

/* Takes the terminal over. td_screen_close() gives it back as it was; both may be called again. */
void td_screen_open(struct td_screen *screen);
void td_screen_close(struct td_screen *screen);

/* Draws the machine. Takes width, glyphs and ink from `pen`, and the present width of the terminal. */
void td_screen_draw(struct td_screen *screen, const struct td_pen *pen, const struct td_view *view);

#endif
