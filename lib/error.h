/* SPDX-License-Identifier: MIT */
/*
 * Errors that go up to a person: one sentence that says what is wrong, where, and how to mend it.
 * Not for lib/core, whose refusals are causes.
 */
#ifndef TD_ERROR_H
#define TD_ERROR_H

#include <stddef.h>

enum { TD_ERROR_MAX = 512 };

struct td_error {
	char text[TD_ERROR_MAX]; /* "" = no error; always terminated, cut off with "..." when too long */
};

/* Writes the sentence (printf-like) and returns -1, so that `return td_error_set(...)` reads well.
 * `err` may be NULL. Keeps errno. */
int td_error_set(struct td_error *err, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
