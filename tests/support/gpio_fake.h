/* SPDX-License-Identifier: MIT */
/*
 * The chip seam of the GPIO backend (lines/gpio_chip.h) without a kernel: chips in memory, edges by command, and
 * a fault at any call. It checks its caller's preconditions: offsets in range, lines free before they are
 * taken, chips open while their groups live.
 */
#ifndef TD_TESTS_GPIO_FAKE_H
#define TD_TESTS_GPIO_FAKE_H

#include "lines/gpio_chip.h"

enum { FAKE_CHIPS_MAX = 4, FAKE_LINES_MAX = 40, FAKE_WRITES_MAX = 256 };

struct fake_line {
	char name[TD_GPIO_TEXT_MAX];
	char holder[TD_GPIO_TEXT_MAX]; /* "" = free */
	bool level;
	enum td_gpio_bias bias;
	bool was_output;
};

struct fake_chip {
	char label[TD_GPIO_TEXT_MAX];
	unsigned lines;
	int refuses; /* not 0: opening fails with this negative errno */
	bool deaf;   /* requests with edges fail */
	bool gone;   /* every call on its lines fails with -ENODEV */
	struct fake_line line[FAKE_LINES_MAX];
};

struct fake_write {
	unsigned chip;
	uint32_t mask;
	uint32_t levels;
};

enum fake_call {
	FAKE_NONE = 0,
	FAKE_OPEN,
	FAKE_LINE,
	FAKE_OUTPUTS,
	FAKE_INPUTS,
	FAKE_WRITE,
	FAKE_READ,
	FAKE_EDGES
};

struct fake_gpio {
	unsigned chips;
	struct fake_chip chip[FAKE_CHIPS_MAX];
	unsigned open_chips; /* what was not given back */
	unsigned open_groups;
	unsigned calls;           /* calls that could have failed */
	unsigned fail_at;         /* the call of this number fails, counted from 1; 0 = none */
	bool fail_on;             /* and all after it */
	int fail_with;            /* negative errno */
	unsigned failed;          /* calls that did */
	enum fake_call failed_in; /* the last of them */
	unsigned writes;
	struct fake_write write[FAKE_WRITES_MAX];
};

extern struct fake_gpio fake;

/* Two chips: "cart" with 32 lines, "mast" with 8; line 4 of the cart is named "boom-top". */
void fake_reset(void);

/* Gives a line a name, or a holder. */
void fake_name(unsigned chip, unsigned offset, const char *name);
void fake_hold(unsigned chip, unsigned offset, const char *who);

/* An edge as the kernel would report it; the level of the line becomes `high`. */
void fake_edge(unsigned chip, unsigned offset, bool high, td_ns at_ns, bool lost);

#endif
