/* SPDX-License-Identifier: MIT */
/* A short tape in memory, and ways to alter it: what the tests of damaged and strange tapes start from. */
#ifndef TESTS_UNIT_TAPE_FILE_H
#define TESTS_UNIT_TAPE_FILE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/tape_rig.h"
#include "tests/unit/config_base.h"

static struct tape_rig rig;
static char text[BASE_TEXT_MAX];

static inline void record(int steps)
{
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_ready(&rig);
	tape_rig_record(&rig);
	tape_rig_walk(&rig, steps, true);
	tape_rig_finish(&rig);
}

/* Where a piece of text begins in the file; it is there. */
static inline size_t place_of(const char *piece)
{
	const char *found = memmem(rig.bytes, rig.length, piece, strlen(piece));

	assert_non_null(found);
	return (size_t)(found - rig.bytes);
}

/* The file up to `to`, `more`, and the file from `again` on, in one piece; the caller's. */
static inline char *spliced(size_t to, const char *more, size_t again, size_t *length)
{
	char *bytes;
	FILE *out = open_memstream(&bytes, length);

	assert_non_null(out);
	(void)fwrite(rig.bytes, 1, to, out);
	(void)fputs(more, out);
	(void)fwrite(rig.bytes + again, 1, rig.length - again, out);
	assert_int_equal(fclose(out), 0);
	return bytes;
}

static inline void take_bytes(char *bytes, size_t length)
{
	free(rig.bytes);
	rig.bytes = bytes;
	rig.length = length;
}

static inline void assert_refused_with(char *bytes, size_t length, const char *says)
{
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_int_equal(played->heads, 0);
	assert_non_null(strstr(played->err.text, "x.vcd: "));
	assert_non_null(strstr(played->err.text, "byte "));
	if (!strstr(played->err.text, says))
		fail_msg("\"%s\" does not say \"%s\"", played->err.text, says);
	tape_played_free(played);
}

#endif
