/* SPDX-License-Identifier: MIT */
/* Which settings of two configuration files are not the same, by their text: a default that one of them writes down counts as
 * one that is other. */
#ifndef TD_SIM_REPLAY_SETTINGS_H
#define TD_SIM_REPLAY_SETTINGS_H

#include <stddef.h>
#include <stdio.h>

enum { TD_SETTINGS_TOLD_MAX = 20 };

/* Writes a line for each, at most TD_SETTINGS_TOLD_MAX and how many more there are. Texts are terminated. Where there is no
 * memory nothing is written. */
void td_settings_tell(FILE *out, const char *given, const char *of_trace);

#endif
