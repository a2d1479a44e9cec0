/* SPDX-License-Identifier: MIT */
/*
 * Simulated GPIO chips of the kernel (gpio-sim, Documentation/admin-guide/gpio/gpio-sim.rst in the kernel's
 * source): making them, moving their switches, reading their outputs. Runs as root in the test machine.
 * Every function ends the program with a message if the kernel does not do what it is told.
 */
#ifndef TD_TESTS_KERNEL_SIM_H
#define TD_TESTS_KERNEL_SIM_H

#include <stdbool.h>
#include <stdint.h>

enum { SIM_PATH_MAX = 160 };

struct sim_chip {
	char config[SIM_PATH_MAX]; /* its folder in configfs */
	char pins[SIM_PATH_MAX];   /* its folder in sysfs, sim_gpioN below it */
	char label[32];
	char node[32]; /* "gpiochip3" */
	char folder[32];
	unsigned base; /* number of its first line in the kernel's own count, as traces show it */
	unsigned lines;
	bool live;
};

/* A line's name, for sim_chip_add(); the list ends with a NULL name. */
struct sim_name {
	unsigned offset;
	const char *name;
};

/* Makes a chip; `names` may be NULL. A label with "deaf" in it gives a chip without interrupts. */
void sim_chip_add(struct sim_chip *chip, const char *label, unsigned lines, const struct sim_name *names);

/* Takes the chip away, as if it were unplugged (once more is no error); its description stays until
 * sim_chip_forget(). */
void sim_chip_unplug(struct sim_chip *chip);
void sim_chip_forget(struct sim_chip *chip);

/* What to put before the label of a chip that will be unplugged while its lines are held: kernels before 6.6 damage
 * themselves when such a chip has interrupts in use (their line interface keeps them), so there it gets none. */
const char *sim_unplug_prefix(void);

/* Moves the outside world's end of a line. */
void sim_pull(const struct sim_chip *chip, unsigned offset, bool up);

/* The level on a line as the outside world sees it. */
bool sim_level(const struct sim_chip *chip, unsigned offset);

/* Holds one line as an input as `consumer`, as another program would; returns the descriptor that holds it. */
int sim_hold(const struct sim_chip *chip, unsigned offset, const char *consumer);

/* For files of the kernel that take or give one short text. */
void sim_write(const char *path, const char *text);
void sim_read(const char *path, char *text, unsigned size);

#endif
