/* SPDX-License-Identifier: MIT */
/* A directory of its own for a test, and programs from outside run in it. */
#ifndef TESTS_SUPPORT_OUTSIDE_H
#define TESTS_SUPPORT_OUTSIDE_H

#include <stddef.h>
#include <stdio.h>

/* cmocka's group set-up and tear-down: makes the directory; removes it with the files in it. */
int outside_make(void **state);
int outside_remove(void **state);

/* The path of a file in the directory. Lives until the next call. */
const char *outside_path(const char *name);

/* Runs a program in the directory, its output (both kinds) into the file "said"; arguments end with NULL.
 * Returns its exit code; -1 where it ended by a signal. Fails the test where the program is missing. */
int outside_run(const char *const arguments[]);

/* All bytes of a file in the directory, terminated; the caller frees them. `length` may be NULL. Fails the
 * test where there is no such file. */
char *outside_bytes(const char *name, size_t *length);

/* A nameless file that holds these bytes, to be read from its beginning; the caller closes it. */
FILE *outside_reader(const void *bytes, size_t length);

/* Writes a file into the directory. */
void outside_write(const char *name, const void *bytes, size_t length);

#endif
