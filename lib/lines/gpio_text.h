/* SPDX-License-Identifier: MIT */
/* A text that grows piece by piece inside a fixed size; what does not fit is cut off. */
#ifndef TD_LINES_GPIO_TEXT_H
#define TD_LINES_GPIO_TEXT_H

#include <stddef.h>

#include "error.h"

struct td_gpio_text {
	size_t length;
	char text[TD_ERROR_MAX];
};

/* Appends (printf-like). Start with a struct that is all zero. */
void td_gpio_text_add(struct td_gpio_text *text, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

#endif
