/* SPDX-License-Identifier: MIT */
/*
 * What the GPIO tests ask for: four outputs (bits 0, 1 and 3 on the cart's lines 10, 11 and 12, bit 2 on the
 * mast's line 0) and two switches (0 by the name "boom-top", pulled up; 1 on the mast's line 3, pulled down).
 */
#ifndef TD_TESTS_GPIO_CART_H
#define TD_TESTS_GPIO_CART_H

#include "lines/gpio.h"

/* "cart.conf" is its file, 9 the line of every place. */
void gpio_cart_wanted(struct td_lines_gpio_request *wanted);

/* One line by chip label and offset, or, where `chip` is "", by name. Keeps the bias. */
void gpio_cart_place(struct td_gpio_wanted *line, const char *use, const char *chip, uint32_t offset,
		     const char *name);

#endif
