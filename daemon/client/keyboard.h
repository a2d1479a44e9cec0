/* SPDX-License-Identifier: MIT */
/* Standard input as single keys, where it is a terminal. */
#ifndef TD_DAEMON_CLIENT_KEYBOARD_H
#define TD_DAEMON_CLIENT_KEYBOARD_H

#include <stdbool.h>
#include <termios.h>

struct td_keyboard {
	bool open;
	struct termios before; /* valid if open */
};

/* Letters come at once and unseen; ^C stays a signal. False, and nothing is changed, where standard input is no terminal. */
bool td_keyboard_open(struct td_keyboard *keyboard);

/* Gives the terminal back as it was. Any number of times. */
void td_keyboard_close(struct td_keyboard *keyboard);

/* The next key that came, 0 = none, -1 = the terminal is gone. Does not wait. */
int td_keyboard_take(const struct td_keyboard *keyboard);

#endif
