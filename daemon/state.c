/* SPDX-License-Identifier: MIT */
#include "daemon/state.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "core/crc.h"
#include "daemon/safe_file.h"

enum { TEXT_MAX = 128 };

/* The only two files there can be; returns the length. */
static size_t state_text(bool latched, char text[TEXT_MAX])
{
	int length = snprintf(text, TEXT_MAX, "tripdog latched-stop 1\nlatched %s\n", latched ? "on" : "off");
	uint32_t sum = td_crc32(text, (size_t)length);

	length += snprintf(text + length, TEXT_MAX - (size_t)length, "sum %08" PRIx32 "\n", sum);
	return (size_t)length;
}

static bool is_state(const char *bytes, size_t count, bool latched)
{
	char text[TEXT_MAX];

	return state_text(latched, text) == count && memcmp(bytes, text, count) == 0;
}

int td_state_load(const char *dir, struct td_state *state, struct td_error *err)
{
	char bytes[TEXT_MAX]; /* one more than any state has is enough to know it is none */
	struct td_error why;
	ssize_t count = td_safe_file_read(dir, TD_STATE_FILE, bytes, sizeof(bytes), &why);

	state->latched = count != TD_SAFE_FILE_NONE && !(count >= 0 && is_state(bytes, (size_t)count, false));
	if (count == TD_SAFE_FILE_BAD)
		return td_error_set(
			err,
			"%s; the latched stop counts as on; make it readable for the daemon's user, then "
			"reset as keeper",
			why.text);
	if (!state->latched || is_state(bytes, (size_t)count, true))
		return 0;
	return td_error_set(err,
			    "%s/" TD_STATE_FILE ": damaged, or written by another version; the latched stop "
			    "counts as on; reset as keeper, which writes the file anew",
			    dir);
}

int td_state_save(const char *dir, const struct td_state *state, struct td_error *err)
{
	char text[TEXT_MAX];
	struct td_error why;

	if (td_safe_file_write(dir, TD_STATE_FILE, text, state_text(state->latched, text), &why) == 0)
		return 0;
	return td_error_set(err,
			    "%s; the latched stop is not kept over a restart until this file can be written",
			    why.text);
}
