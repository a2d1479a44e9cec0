/* SPDX-License-Identifier: MIT */
/*
 * A trace told as text, one line for everything the reader hands over, so that tests compare stories:
 *
 *     text 0 comment [two words]
 *     signal cart.boom state 3
 *     begin
 *     time 0
 *     0 cart.boom.state = 000
 *     end 1500
 *
 * An event signal is declared with "event", a real one with "real" in the place of its width. "cut" stands
 * before "end" where the end of the file is missing; a file that is refused ends in "bad SENTENCE".
 */
#ifndef TESTS_SUPPORT_STORY_H
#define TESTS_SUPPORT_STORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Reads to the end. The result is the caller's to free; never NULL. */
char *story_of_file(FILE *in);
char *story_of_bytes(const void *bytes, size_t length);

/* What a viewer makes of a story, in an order that does not depend on the writer: for every signal its
 * path and width, then its values at the times where they change, in the order of the paths. The result
 * is the caller's to free. */
char *story_waves(const char *bytes, size_t length);

#endif
