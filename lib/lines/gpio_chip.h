/* SPDX-License-Identifier: MIT */
/*
 * What the GPIO backend needs from libgpiod, the same for both versions: gpio/gpiod1.c and gpio/gpiod2.c
 * implement it, one of them is linked; the unit tests have a third. Private to lib/lines.
 *
 * Functions that can fail return 0 or a count, or a negative errno. Bits and indices of a group count
 * the lines in the order they were taken. A chip outlives its groups.
 */
#ifndef TD_LINES_GPIO_CHIP_H
#define TD_LINES_GPIO_CHIP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/time.h"
#include "lines/gpio.h"

enum {
	TD_GPIO_TEXT_MAX = 32,  /* the kernel's own bound for names and labels, terminator included */
	TD_GPIO_GROUP_MAX = 32, /* lines of a group */
	TD_GPIO_CHIPS_MAX = 32, /* chips looked at */
	TD_GPIO_PATH_MAX = 32,
	TD_GPIO_BURST = 64, /* edges taken in one read at most */
};

struct td_gpio_line_info {
	char name[TD_GPIO_TEXT_MAX];
	char consumer[TD_GPIO_TEXT_MAX]; /* who holds it; "" = nobody or not told */
	bool used;
};

struct td_gpio_edge {
	td_ns at_ns;
	uint8_t index; /* of the line in its group */
	bool high;
	bool lost; /* an edge of this line before this one was, or may have been, lost */
};

struct td_gpio_chip;
struct td_gpio_group;

/* Paths of all chips of the machine, links left out, in order of number; returns how many. */
size_t td_gpio_chip_paths(char paths[TD_GPIO_CHIPS_MAX][TD_GPIO_PATH_MAX]);

int td_gpio_chip_open(const char *path, struct td_gpio_chip **chip);
void td_gpio_chip_close(struct td_gpio_chip *chip);
const char *td_gpio_chip_label(const struct td_gpio_chip *chip);
uint32_t td_gpio_chip_lines(const struct td_gpio_chip *chip);
int td_gpio_chip_line(struct td_gpio_chip *chip, uint32_t offset, struct td_gpio_line_info *info);

/* Requests `count` lines as outputs, all low from the first instant. */
int td_gpio_take_outputs(struct td_gpio_chip *chip, const uint32_t *offsets, unsigned count,
			 struct td_gpio_group **group);

/* Requests `count` lines as inputs; with `edges`, both edges are queued by the kernel. */
int td_gpio_take_inputs(struct td_gpio_chip *chip, const uint32_t *offsets, const enum td_gpio_bias *biases,
			unsigned count, bool edges, struct td_gpio_group **group);

/* Closes the descriptors and frees the group; touches no level. */
void td_gpio_release(struct td_gpio_group *group);

/* Writes the lines of `mask`, in one system call. */
int td_gpio_write(struct td_gpio_group *group, uint32_t mask, uint32_t levels);

/* Reads all lines, outputs too. */
int td_gpio_read(struct td_gpio_group *group, uint32_t *levels);

/* Descriptors of a group with edges: how many, and each; all are non-blocking. */
unsigned td_gpio_edge_fds(const struct td_gpio_group *group);
int td_gpio_edge_fd(const struct td_gpio_group *group, unsigned which);

/* Takes what waits at one descriptor, at most TD_GPIO_BURST edges: how many, 0 = none. */
int td_gpio_take_edges(struct td_gpio_group *group, unsigned which, struct td_gpio_edge *edges);

#endif
