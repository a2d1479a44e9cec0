/* SPDX-License-Identifier: MIT */
/*
 * What the tests of the GPIO backend start from: a chip "cart" with 8 lines (line 4 is named "boom-top", line 5
 * "twin") and a chip "mast" with 4 (line 1 "twin", line 2 "mast-switch"), and a request to fill.
 */
#ifndef TD_TESTS_KERNEL_CART_H
#define TD_TESTS_KERNEL_CART_H

#include <stdbool.h>

#include "lines/gpio.h"
#include "tests/kernel/sim.h"

struct cart_stage {
	struct sim_chip cart;
	struct sim_chip mast;
	struct td_lines_gpio_request wanted;
	struct td_lines *lines; /* closed in the end if it is not NULL */
	struct td_error err;
};

extern struct cart_stage stage;

/* For cmocka: both chips, nothing wanted yet; everything away again. */
int cart_set_up(void **state);
int cart_tear_down(void **state);

/* The same where the cart's chip will be unplugged. */
int cart_set_up_to_unplug(void **state);

/* Plugs the cart's chip in (again); see sim_unplug_prefix(). */
void cart_plug(const char *prefix);

/* CLOCK_MONOTONIC. */
td_ns cart_now(void);

/* Adds a line to the request. */
void cart_want_output(const char *use, const char *chip, uint32_t offset, const char *name);
void cart_want_input(const char *use, const char *chip, uint32_t offset, const char *name,
		     enum td_gpio_bias bias);

/* Two axes on both chips (bits 0, 1 and 3: lines 0, 1 and 2 of the cart; bit 2: line 0 of the mast) and two
 * switches by name. */
void cart_want_the_usual(void);

/* Opens what is wanted; a refusal fails the test. */
void cart_open_lines(void);

/* Opens what is wanted; anything but a refusal within 1 s with `needle` in its sentence fails the test. */
void cart_refuse_lines(const char *needle);

/* True if the lines' descriptors become readable in time. */
bool cart_wakes_within(int timeout_ms);

/* The next edge, which must come within 1 s. */
struct td_lines_edge cart_await_edge(void);

/* The switches as the backend reads them; the usual outputs as the outside world sees them. */
uint32_t cart_levels(void);
uint32_t cart_output_levels(void);

#endif
