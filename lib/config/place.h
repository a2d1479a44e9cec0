/* SPDX-License-Identifier: MIT */
/*
 * Where a line is, from text: "LABEL:OFFSET" or the unique name of a line. What follows the last colon
 * is the offset, so labels may have colons and line names may not. Pure; does not block.
 */
#ifndef TD_CONFIG_PLACE_H
#define TD_CONFIG_PLACE_H

#include <stdbool.h>

#include "config/config.h"
#include "config/value.h"

/* Fills *place (file_line is set to 0). NULL, or what is wrong; *place is all zero then. */
const struct td_value_fault *td_place_parse(const char *text, struct td_place *place);

/* Both name the same line. A place by offset and one by name are never known to be the same here: that
 * shows only where the chips are. */
bool td_place_same(const struct td_place *a, const struct td_place *b);

#endif
