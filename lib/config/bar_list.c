/* SPDX-License-Identifier: MIT */
#include "config/bar_list.h"

#include <stdio.h>
#include <string.h>

#include "config/words.h"

static const struct {
	const char *word;
	size_t names;
} forms[] = {
#define X(ident, word, names) [TD_BAR_##ident] = {word, names},
	TD_BAR_TABLE(X)
#undef X
};

enum { FORMS = sizeof(forms) / sizeof(forms[0]) };

static const struct td_value_fault unknown_form = {"has a condition of no known form",
						   "write each condition in one of these forms"};
static const struct td_value_fault too_many = {"has too many conditions", "leave some out"};

static const struct td_value_fault *parse_item(const char *text, size_t length, struct td_bar_item *item)
{
	struct td_words words;

	memset(item, 0, sizeof(*item));
	td_words_split(text, length, &words);
	for (unsigned int kind = 0; kind < FORMS; kind++) {
		if (strcmp(words.word[0], forms[kind].word) != 0 || words.count != 1 + forms[kind].names)
			continue;
		for (size_t i = 1; i < words.count; i++)
			if (!td_name_well_formed(words.word[i]))
				return &unknown_form;
		item->kind = (enum td_bar_kind)kind;
		snprintf(item->axis, sizeof(item->axis), "%.*s", TD_NAME_MAX - 1, words.word[1]);
		snprintf(item->way, sizeof(item->way), "%.*s", TD_NAME_MAX - 1, words.word[2]);
		return NULL;
	}
	return &unknown_form;
}

const struct td_value_fault *td_bar_list_parse(const char *text, struct td_bar_list *list)
{
	size_t count = 0;

	memset(list, 0, sizeof(*list));
	for (;;) {
		size_t length = strcspn(text, ",");
		const struct td_value_fault *fault =
			count < TD_BARS_MAX ? parse_item(text, length, &list->item[count]) : &too_many;

		if (fault)
			return fault;
		count++;
		if (text[length] == '\0')
			break;
		text += length + 1;
	}
	list->count = count;
	return NULL;
}

void td_bar_item_show(const struct td_bar_item *item, char out[TD_BAR_SHOWN_MAX])
{
	snprintf(out, TD_BAR_SHOWN_MAX, "%s %s%s%s", forms[item->kind].word, item->axis,
		 item->way[0] ? " " : "", item->way);
}
