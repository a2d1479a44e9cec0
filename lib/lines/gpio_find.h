/* SPDX-License-Identifier: MIT */
/*
 * From the places of a configuration to chips and offsets. Private to lib/lines.
 */
#ifndef TD_LINES_GPIO_FIND_H
#define TD_LINES_GPIO_FIND_H

#include "lines/gpio_chip.h"

struct td_gpio_chip_at {
	char path[TD_GPIO_PATH_MAX];
	struct td_gpio_chip *chip; /* NULL: could not be opened */
	int error;                 /* then: the negative errno */
};

struct td_gpio_chips {
	size_t count;
	struct td_gpio_chip_at at[TD_GPIO_CHIPS_MAX];
};

struct td_gpio_spot {
	unsigned chip; /* index in td_gpio_chips */
	uint32_t offset;
};

/* Opens every chip that can be opened. Never fails: what is missing is told by td_gpio_find(). */
void td_gpio_chips_open(struct td_gpio_chips *chips);
void td_gpio_chips_close(struct td_gpio_chips *chips);

/* Where `wanted` is: 0, or -1 with a sentence; TD_GPIO_ABSENT if it is the kind that a chip which comes later can mend.
 * `file` as in struct td_lines_gpio_request. */
enum { TD_GPIO_ABSENT = -2 };
int td_gpio_find(const struct td_gpio_chips *chips, const char *file, const struct td_gpio_wanted *wanted,
		 struct td_gpio_spot *spot, struct td_error *err);

/* A sentence that says why the request of these lines failed with the negative errno `error`, and who
 * holds those that are held. Returns -1. */
int td_gpio_blame(const struct td_gpio_chips *chips, const char *file, const struct td_gpio_wanted *wanted,
		  const struct td_gpio_spot *spots, unsigned count, int error, struct td_error *err);

#endif
