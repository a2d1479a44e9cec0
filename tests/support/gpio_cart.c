/* SPDX-License-Identifier: MIT */
#include "tests/support/gpio_cart.h"

#include <stdio.h>
#include <string.h>

void gpio_cart_place(struct td_gpio_wanted *line, const char *use, const char *chip, uint32_t offset,
		     const char *name)
{
	memset(&line->place, 0, sizeof(line->place));
	(void)snprintf(line->use, sizeof(line->use), "%s", use);
	(void)snprintf(line->place.chip, sizeof(line->place.chip), "%s", chip);
	(void)snprintf(line->place.name, sizeof(line->place.name), "%s", name);
	line->place.offset = offset;
	line->place.file_line = 9;
}

void gpio_cart_wanted(struct td_lines_gpio_request *wanted)
{
	memset(wanted, 0, sizeof(*wanted));
	wanted->file = "cart.conf";
	wanted->outputs = 4;
	wanted->inputs = 2;
	gpio_cart_place(&wanted->output[0], "boom lower", "cart", 10, "");
	gpio_cart_place(&wanted->output[1], "boom raise", "cart", 11, "");
	gpio_cart_place(&wanted->output[2], "vent close", "mast", 0, "");
	gpio_cart_place(&wanted->output[3], "vent open", "cart", 12, "");
	gpio_cart_place(&wanted->input[0], "boom_top", "", 0, "boom-top");
	gpio_cart_place(&wanted->input[1], "mast_switch", "mast", 3, "");
	wanted->input[0].bias = TD_GPIO_PULL_UP;
	wanted->input[1].bias = TD_GPIO_PULL_DOWN;
}
