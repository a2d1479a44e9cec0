/* SPDX-License-Identifier: MIT */
/*
 * Quiet hours: spans of local time in which nothing loud moves. Written as "22:00-06:30" for every day, or with
 * the days on which the span begins before it: "sat 23:00-08:00", "mon-fri 22:00-06:30"; several are separated by commas. A span
 * whose end is not after its beginning goes on into the next day. Pure; nothing blocks.
 */
#ifndef TD_CONFIG_QUIET_H
#define TD_CONFIG_QUIET_H

#include <stdbool.h>

#include "config/config.h"
#include "config/value.h"

enum { TD_QUIET_SHOWN_MAX = TD_QUIET_SPANS_MAX * 24 };

/* NULL, or what is wrong; quiet->count is 0 then. */
const struct td_value_fault *td_quiet_parse(const char *text, struct td_quiet *quiet);

/* The one way to write it: every day named where not all are meant, one blank, no blanks around commas. */
void td_quiet_show(const struct td_quiet *quiet, char out[TD_QUIET_SHOWN_MAX]);

/* Whether it is quiet at this local time: `weekday` 0 = Sunday ... 6 (as tm_wday), `minute` of the day 0 ... 1439. */
bool td_quiet_at(const struct td_quiet *quiet, int weekday, int minute);

#endif
