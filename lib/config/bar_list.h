/* SPDX-License-Identifier: MIT */
/*
 * The value of `bars`: conditions separated by commas, each a word and the names that follow it. The names are
 * only well-formed here; whether they exist is checked elsewhere. Pure; does not block.
 */
#ifndef TD_CONFIG_BAR_LIST_H
#define TD_CONFIG_BAR_LIST_H

#include <stddef.h>

#include "config/config.h"
#include "config/value.h"

struct td_bar_item {
	enum td_bar_kind kind;
	td_name axis;
	td_name way; /* "" for a condition without one */
};

struct td_bar_list {
	size_t count;
	struct td_bar_item item[TD_BARS_MAX];
};

/* NULL, or what is wrong; list->count is 0 then. */
const struct td_value_fault *td_bar_list_parse(const char *text, struct td_bar_list *list);

/* Writes a condition as it stands in a file; at most TD_BAR_SHOWN_MAX bytes. */
enum { TD_BAR_SHOWN_MAX = 2 * TD_NAME_MAX + 16 };
void td_bar_item_show(const struct td_bar_item *item, char out[TD_BAR_SHOWN_MAX]);

#endif
