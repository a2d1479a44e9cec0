/* SPDX-License-Identifier: MIT */
#include "lines/gpio_text.h"

#include <stdarg.h>
#include <stdio.h>

void td_gpio_text_add(struct td_gpio_text *text, const char *format, ...)
{
	size_t room = sizeof(text->text) - text->length;
	va_list args;

	va_start(args, format);
	int added = vsnprintf(text->text + text->length, room, format, args);
	va_end(args);
	if (added > 0)
		text->length += (size_t)added < room ? (size_t)added : room - 1;
}
