/* SPDX-License-Identifier: MIT */
/* Traces in memory through the replay, with what it tells as text. */
#ifndef TD_TESTS_REPLAY_CASE_H
#define TD_TESTS_REPLAY_CASE_H

#include "sim/replay/file.h"
#include "tests/support/taper.h"

struct replayed {
	enum td_replay_verdict verdict;
	char *told; /* the caller's to free */
	struct td_error err;
};

/* Plays `length` bytes of a trace. `config` NULL: its own. */
struct replayed replay_bytes(const char *trace, size_t length, const struct td_config *config,
			     bool from_record);

/* The text of a configuration with `key` of `section` ("[way boom raise]") set to `value`; NULL takes the line away. The
 * caller's to free. Fails the running test where there is no such key. */
char *replay_edit(const char *text, const char *section, const char *key, const char *value);

/* "tests/unit/rules" as it is loaded once; the one of that name fails the running test where it does not exist. */
const struct scenario *replay_scenario(const char *name);

#endif
