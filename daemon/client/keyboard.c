/* SPDX-License-Identifier: MIT */
#include "daemon/client/keyboard.h"

#include <errno.h>
#include <poll.h>
#include <unistd.h>

bool td_keyboard_open(struct td_keyboard *keyboard)
{
	struct termios keys;

	if (isatty(STDIN_FILENO) != 1 || tcgetattr(STDIN_FILENO, &keyboard->before) != 0)
		return false;
	keys = keyboard->before;
	keys.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
	keys.c_cc[VMIN] = 0;
	keys.c_cc[VTIME] = 0;
	keyboard->open = tcsetattr(STDIN_FILENO, TCSADRAIN, &keys) == 0;
	return keyboard->open;
}

void td_keyboard_close(struct td_keyboard *keyboard)
{
	if (keyboard->open)
		(void)tcsetattr(STDIN_FILENO, TCSADRAIN, &keyboard->before);
	keyboard->open = false;
}

int td_keyboard_take(const struct td_keyboard *keyboard)
{
	struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
	unsigned char key = 0;
	ssize_t got;

	if (!keyboard->open || poll(&input, 1, 0) <= 0)
		return 0;
	got = read(STDIN_FILENO, &key, 1);
	if (got == 1)
		return key;
	/* Readable, and nothing to read: it was hung up. */
	return got == 0 || (errno != EAGAIN && errno != EINTR) ? -1 : 0;
}
