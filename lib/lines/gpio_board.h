/* SPDX-License-Identifier: MIT */
/*
 * The lines as they are held: groups of one chip and one direction, and what wakes us. Private to
 * lib/lines.
 */
#ifndef TD_LINES_GPIO_BOARD_H
#define TD_LINES_GPIO_BOARD_H

#include "lines/gpio_chip.h"
#include "lines/gpio_find.h"

/* One group, and which bit of the seam's words each of its lines is. */
struct td_gpio_held {
	struct td_gpio_group *group;
	unsigned chip; /* index in td_gpio_chips */
	unsigned count;
	uint8_t bit[TD_GPIO_GROUP_MAX];
	uint32_t offset[TD_GPIO_GROUP_MAX];
	bool polled;    /* an input group whose chip reports no edges */
	uint32_t known; /* polled: levels last read, bits of the group */
};

enum { TD_GPIO_QUEUE = 1024 };

struct td_gpio_board {
	struct td_lines base; /* first: a struct td_lines is one of these */
	struct td_gpio_chips chips;
	unsigned output_groups;
	unsigned input_groups;
	unsigned heart_groups; /* 0 or 1 */
	struct td_gpio_held heart;
	struct td_gpio_held output[TD_GPIO_CHIPS_MAX];
	struct td_gpio_held input[TD_GPIO_CHIPS_MAX];
	int wake;  /* epoll: all that follows, and the descriptors of edges */
	int timer; /* for polled groups; -1 = none needed */
	int watch; /* inotify on /dev: a chip that goes away */
	int more;  /* eventfd, readable while edges are left in the queue */
	bool left; /* it was made so */
	bool gone; /* a chip went away; stays */
	unsigned head, tail;
	struct td_lines_edge queue[TD_GPIO_QUEUE];
};

/* From a negative errno to enum td_lines_error. */
int td_gpio_lines_error(int error);

/* Sets up `wake`, `timer`, `watch` and `more` for the groups that are held: 0 or a negative errno. */
int td_gpio_wake_open(struct td_gpio_board *board, td_ns poll_ns);
void td_gpio_wake_close(struct td_gpio_board *board);

/* Moves what waits into the queue, in order of time. 0 or td_lines_error. */
int td_gpio_wake_drain(struct td_gpio_board *board);

/* Makes `more` follow the queue: whoever stops half-way through it must be woken again. */
void td_gpio_wake_more(struct td_gpio_board *board);

extern const struct td_lines_ops td_gpio_ops;

#endif
