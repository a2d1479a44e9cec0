/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "tests/kernel/cart.h"

struct cart_stage stage;

td_ns cart_now(void)
{
	struct timespec at;

	(void)clock_gettime(CLOCK_MONOTONIC, &at);
	return TD_S(at.tv_sec) + at.tv_nsec;
}

static void place(struct td_gpio_wanted *line, const char *use, const char *chip, uint32_t offset,
		  const char *name)
{
	memset(line, 0, sizeof(*line));
	(void)snprintf(line->use, sizeof(line->use), "%s", use);
	(void)snprintf(line->place.chip, sizeof(line->place.chip), "%s", chip);
	(void)snprintf(line->place.name, sizeof(line->place.name), "%s", name);
	line->place.offset = offset;
	line->place.file_line = 7;
}

void cart_want_output(const char *use, const char *chip, uint32_t offset, const char *name)
{
	place(&stage.wanted.output[stage.wanted.outputs++], use, chip, offset, name);
}

void cart_want_input(const char *use, const char *chip, uint32_t offset, const char *name,
		     enum td_gpio_bias bias)
{
	place(&stage.wanted.input[stage.wanted.inputs], use, chip, offset, name);
	stage.wanted.input[stage.wanted.inputs++].bias = bias;
}

static const struct sim_name cart_names[] = {{4, "boom-top"}, {5, "twin"}, {0, NULL}};
static const struct sim_name mast_names[] = {{1, "twin"}, {2, "mast-switch"}, {0, NULL}};

void cart_plug(const char *prefix)
{
	char label[32];

	(void)snprintf(label, sizeof(label), "%scart", prefix);
	sim_chip_add(&stage.cart, label, 8, cart_names);
}

static int set_up(const char *prefix)
{
	memset(&stage, 0, sizeof(stage));
	cart_plug(prefix);
	sim_chip_add(&stage.mast, "mast", 4, mast_names);
	stage.wanted.file = "cart.conf";
	return 0;
}

int cart_set_up(void **state)
{
	(void)state;
	return set_up("");
}

int cart_set_up_to_unplug(void **state)
{
	(void)state;
	return set_up(sim_unplug_prefix());
}

int cart_tear_down(void **state)
{
	(void)state;
	if (stage.lines)
		stage.lines->ops->close(stage.lines);
	stage.lines = NULL;
	sim_chip_unplug(&stage.cart);
	sim_chip_unplug(&stage.mast);
	sim_chip_forget(&stage.cart);
	sim_chip_forget(&stage.mast);
	return 0;
}

/* Two axes on two chips and two switches. */
void cart_want_the_usual(void)
{
	cart_want_output("boom lower", stage.cart.label, 0, "");
	cart_want_output("boom raise", stage.cart.label, 1, "");
	cart_want_output("vent close", stage.mast.label, 0, "");
	cart_want_output("vent open", stage.cart.label, 2, "");
	cart_want_input("boom_top", "", 0, "boom-top", TD_GPIO_AS_IS);
	cart_want_input("mast_switch", "", 0, "mast-switch", TD_GPIO_AS_IS);
}

void cart_open_lines(void)
{
	stage.lines = td_lines_gpio_open(&stage.wanted, &stage.err);
	if (!stage.lines)
		print_error("%s\n", stage.err.text);
	assert_non_null(stage.lines);
}

void cart_refuse_lines(const char *needle)
{
	td_ns before = cart_now();

	stage.lines = td_lines_gpio_open(&stage.wanted, &stage.err);
	assert_null(stage.lines);
	assert_true(cart_now() - before < TD_S(1));
	print_message("# said: %s\n", stage.err.text);
	if (!strstr(stage.err.text, needle))
		print_error("no \"%s\" in \"%s\"\n", needle, stage.err.text);
	assert_non_null(strstr(stage.err.text, needle));
}

bool cart_wakes_within(int timeout_ms)
{
	int fds[TD_LINES_FDS_MAX];
	struct pollfd polled[TD_LINES_FDS_MAX];
	int count = stage.lines->ops->fds(stage.lines, fds);

	assert_in_range(count, 1, TD_LINES_FDS_MAX);
	for (int i = 0; i < count; i++)
		polled[i] = (struct pollfd){.fd = fds[i], .events = POLLIN};
	return poll(polled, (nfds_t)count, timeout_ms) > 0;
}

struct td_lines_edge cart_await_edge(void)
{
	struct td_lines_edge edge;

	assert_true(cart_wakes_within(1000));
	assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), 1);
	return edge;
}

uint32_t cart_levels(void)
{
	uint32_t word = 0xffffffff;

	assert_int_equal(stage.lines->ops->get(stage.lines, &word), 0);
	return word;
}

static bool output_level(unsigned bit)
{
	switch (bit) {
	case 0: return sim_level(&stage.cart, 0);
	case 1: return sim_level(&stage.cart, 1);
	case 2: return sim_level(&stage.mast, 0);
	default: return sim_level(&stage.cart, 2);
	}
}

uint32_t cart_output_levels(void)
{
	uint32_t word = 0;

	for (unsigned bit = 0; bit < 4; bit++)
		word |= (uint32_t)output_level(bit) << bit;
	return word;
}
