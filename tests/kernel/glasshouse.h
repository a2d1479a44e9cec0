/* SPDX-License-Identifier: MIT */
/*
 * The glasshouse cart of docs/examples on a simulated chip, and the real tripdogd on it. There is no plant: the
 * test itself opens and closes the contacts. They win over the pull of the chip, as a wire to ground does.
 */
#ifndef TD_TESTS_KERNEL_GLASSHOUSE_H
#define TD_TESTS_KERNEL_GLASSHOUSE_H

#include <stdbool.h>

#include "tests/kernel/sim.h"
#include "tests/support/stage.h"

/* Lines of the example's chip. */
enum glasshouse_line {
	BOOM_LOWER = 4,
	BOOM_RAISE = 5,
	VENT_CLOSE = 6,
	VENT_OPEN = 7,
	OUTPUTS = 8,
	SPARE_OUTPUT = 12, /* the daemon does not hold these two */
	BOOM_BOTTOM = 16,
	BOOM_TOP,
	VENT_SHUT,
	VENT_IS_OPEN,
	STOP_CONTACT,
	SPARE_SWITCH,
	LINES = 24
};

struct glasshouse {
	struct sim_chip chip;
	struct stage stage; /* no board in it */
};

extern struct glasshouse house;

/* For cmocka: the chip, contacts as in mid-travel, the daemon armed on it; and all that ended again. */
int glasshouse_set_up(void **state);
int glasshouse_tear_down(void **state);

/* The same where the chip will be unplugged, and without the daemon. */
int glasshouse_set_up_to_unplug(void **state);
int glasshouse_set_up_alone(void **state);

/* Writes the example's configuration for our chip; every line that begins with a word of `drop` is left out. */
void glasshouse_configure(const char *const *drop);

/* Presses or frees the switch at this line, whichever kind its contact is. */
void glasshouse_press(enum glasshouse_line line, bool pressed);

/* Levels of the outputs, bit N = line N. */
uint32_t glasshouse_outputs(void);

/* Waits until an output has the level, at most a second; false if it never had. */
bool glasshouse_await(enum glasshouse_line line, bool high);

/* True if a log has `needle`; prints the log. */
bool glasshouse_said(const char *path, const char *needle);

/* Runs the daemon where it is expected to end by itself, with one more option unless that is NULL; its exit code, and
 * whether its log has `needle`. */
int glasshouse_run(const char *option, const char *needle, bool *said);

#endif
