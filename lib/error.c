/* SPDX-License-Identifier: MIT */
#include "error.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

int td_error_set(struct td_error *err, const char *format, ...)
{
	static const char cut[] = "...";
	int saved = errno;

	if (err) {
		va_list args;

		va_start(args, format);
		int length = vsnprintf(err->text, sizeof(err->text), format, args);
		va_end(args);
		if (length < 0)
			err->text[0] = '\0';
		else if ((size_t)length >= sizeof(err->text))
			memcpy(err->text + sizeof(err->text) - sizeof(cut), cut, sizeof(cut));
	}
	errno = saved;
	return -1;
}
