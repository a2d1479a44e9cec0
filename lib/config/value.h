/* SPDX-License-Identifier: MIT */
/* One value of one key, by its type in the table: is the text in range, and which number is it? */
#ifndef TD_CONFIG_VALUE_H
#define TD_CONFIG_VALUE_H

#include <stddef.h>
#include <stdint.h>

#include "config/keys.h"

/* Two half sentences; what is allowed comes between them from td_key_allowed(). */
struct td_value_fault {
	const char *what; /* "is out of range" */
	const char *mend; /* "choose a number in that range" */
};

/* Checks `text`. NULL if it is good; *number is then the value of a number or mode, the index of a
 * choice, else 0. Otherwise static data that says what is wrong. Pure; does not block. */
const struct td_value_fault *td_value_check(const struct td_key_info *info, const char *text,
					    int64_t *number);

/* The two names of `ways` or of a pair, from a text that has passed. */
void td_value_pair(const char *text, td_name names[TD_WAYS]);

/* Writes a good value so that two spellings of the same setting come out the same: what the hash is
 * made of. */
enum { TD_VALUE_NORMAL_MAX = 2 * (TD_CONFIG_LINE_MAX + 1) }; /* never longer than what was written */
void td_value_normal(const struct td_key_info *info, const char *text, char out[TD_VALUE_NORMAL_MAX]);

#endif
