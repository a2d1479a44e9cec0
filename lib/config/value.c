/* SPDX-License-Identifier: MIT */
#include "config/value.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "config/bar_list.h"
#include "config/place.h"
#include "config/quiet.h"
#include "config/words.h"

typedef const struct td_value_fault *check_plain(const struct td_key_info *info, const char *text);
typedef const struct td_value_fault *check_numeric(const struct td_key_info *info, const char *text,
						   int64_t *number);

static const struct td_value_fault out_of_range = {"is out of range", "choose a number in that range"};
static const struct td_value_fault too_long = {"is too long", "shorten it"};

static const struct td_value_fault *check_text(const struct td_key_info *info, const char *text)
{
	return (int64_t)strlen(text) > info->max ? &too_long : NULL;
}

static const struct td_value_fault *check_path(const struct td_key_info *info, const char *text)
{
	static const struct td_value_fault tilde = {"begins with '~', which is not expanded here",
						    "write the whole path"};

	return text[0] == '~' ? &tilde : check_text(info, text);
}

static const struct td_value_fault *check_name(const struct td_key_info *info, const char *text)
{
	static const struct td_value_fault malformed = {"is not a well-formed name",
							"write the name of a [switch NAME] section"};

	if ((int64_t)strlen(text) > info->max)
		return &too_long;
	return td_name_well_formed(text) ? NULL : &malformed;
}

static const struct td_value_fault *check_group(const struct td_key_info *info, const char *text)
{
	static const struct td_value_fault malformed = {"is not a well-formed name",
							"write the name of a group of this system"};

	if ((int64_t)strlen(text) > info->max)
		return &too_long;
	return td_name_well_formed(text) ? NULL : &malformed;
}

static const struct td_value_fault *check_place(const struct td_key_info *info, const char *text)
{
	struct td_place place;

	(void)info;
	return td_place_parse(text, &place);
}

static const struct td_value_fault *check_number(const struct td_key_info *info, const char *text,
						 int64_t *number)
{
	static const struct td_value_fault malformed = {
		"is not a whole number", "write digits only: no sign, point, unit, blank or leading zero"};
	enum { DIGITS_MAX = 18 }; /* fewer than overflow an int64_t */
	size_t length = strspn(text, "0123456789");
	int64_t value = 0;

	if (length == 0 || text[length] != '\0' || (text[0] == '0' && length > 1))
		return &malformed;
	for (size_t i = 0; i < length && i < DIGITS_MAX; i++)
		value = value * 10 + (text[i] - '0');
	if (length > DIGITS_MAX || value < info->min || value > info->max)
		return &out_of_range;
	*number = value;
	return NULL;
}

static const struct td_value_fault *check_mode(const struct td_key_info *info, const char *text,
					       int64_t *number)
{
	static const struct td_value_fault malformed = {"is not an octal mode",
							"write it in four digits, as in 0600"};
	static const struct td_value_fault owner = {"keeps the owner from reading and writing",
						    "begin with 06"};
	static const struct td_value_fault world = {"lets everybody on this computer be the keeper",
						    "end with 0 and let a group in instead"};
	static const struct td_value_fault useless = {"sets bits that mean nothing for a socket",
						      "make each digit 6, 4 or 0"};
	size_t length = strspn(text, "01234567");
	uint64_t mode = 0;

	if (length != 4 || text[length] != '\0')
		return &malformed;
	for (size_t i = 0; i < length; i++)
		mode = mode * 8 + (uint64_t)(text[i] - '0');
	if ((mode & (uint64_t)info->min) != (uint64_t)info->min)
		return &owner;
	if (mode & ~(uint64_t)info->max)
		return mode & 0006 & ~(uint64_t)info->max ? &world : &useless;
	*number = (int64_t)mode;
	return NULL;
}

static const struct td_value_fault *check_choice(const struct td_key_info *info, const char *text,
						 int64_t *number)
{
	static const struct td_value_fault unknown = {"is none of the choices", "write one of them"};
	size_t length = strlen(text);
	const char *choice = info->unit;

	for (int64_t i = info->min; i <= info->max; i++) {
		size_t n = strcspn(choice, "|");

		if (n == length && memcmp(choice, text, n) == 0) {
			*number = i;
			return NULL;
		}
		choice += n + (choice[n] != '\0');
	}
	return &unknown;
}

static const struct td_value_fault *check_ways(const struct td_key_info *info, const char *text)
{
	static const struct td_value_fault count = {"is not two names",
						    "name both ways, separated by a blank"};
	static const struct td_value_fault malformed = {
		"has a name that is not well-formed",
		"use a-z, 0-9, '_' and '-', beginning with a letter, at most 31 characters"};
	static const struct td_value_fault same = {"names both ways alike",
						   "give the two ways different names"};
	struct td_words words;

	td_words_split(text, strlen(text), &words);
	if (words.count != (size_t)info->max)
		return &count;
	if (!td_name_well_formed(words.word[0]) || !td_name_well_formed(words.word[1]))
		return &malformed;
	return strcmp(words.word[0], words.word[1]) == 0 ? &same : NULL;
}

static const struct td_value_fault *check_pair(const struct td_key_info *info, const char *text)
{
	static const struct td_value_fault count = {"is not two names",
						    "write both names, separated by a blank"};
	static const struct td_value_fault malformed = {"has a name that is not well-formed",
							"write names of sections and ways of this file"};
	struct td_words words;

	td_words_split(text, strlen(text), &words);
	if (words.count != (size_t)info->max)
		return &count;
	return td_name_well_formed(words.word[0]) && td_name_well_formed(words.word[1]) ? NULL : &malformed;
}

static const struct td_value_fault *check_bars(const struct td_key_info *info, const char *text)
{
	struct td_bar_list list;

	(void)info;
	return td_bar_list_parse(text, &list);
}

static const struct td_value_fault *check_quiet(const struct td_key_info *info, const char *text)
{
	struct td_quiet quiet;

	(void)info;
	return td_quiet_parse(text, &quiet);
}

/* One of the two for each type. */
static const struct {
	check_plain *plain;
	check_numeric *numeric;
} checks[TD_TYPES] = {
	[TD_TYPE_TEXT] = {.plain = check_text},   [TD_TYPE_PATH] = {.plain = check_path},
	[TD_TYPE_NAME] = {.plain = check_name},   [TD_TYPE_GROUP] = {.plain = check_group},
	[TD_TYPE_PLACE] = {.plain = check_place}, [TD_TYPE_NUMBER] = {.numeric = check_number},
	[TD_TYPE_MODE] = {.numeric = check_mode}, [TD_TYPE_CHOICE] = {.numeric = check_choice},
	[TD_TYPE_WAYS] = {.plain = check_ways},   [TD_TYPE_PAIR] = {.plain = check_pair},
	[TD_TYPE_BARS] = {.plain = check_bars},   [TD_TYPE_QUIET] = {.plain = check_quiet},
};

const struct td_value_fault *td_value_check(const struct td_key_info *info, const char *text, int64_t *number)
{
	*number = 0;
	return checks[info->type].plain ? checks[info->type].plain(info, text)
					: checks[info->type].numeric(info, text, number);
}

void td_value_pair(const char *text, td_name names[TD_WAYS])
{
	struct td_words words;

	td_words_split(text, strlen(text), &words);
	for (size_t way = 0; way < TD_WAYS; way++)
		snprintf(names[way], sizeof(td_name), "%.*s", TD_NAME_MAX - 1, words.word[way]);
}

static void normal_bars(const char *text, char out[TD_VALUE_NORMAL_MAX])
{
	struct td_bar_list list;
	size_t used = 0;

	td_bar_list_parse(text, &list);
	out[0] = '\0';
	for (size_t i = 0; i < list.count && used < TD_VALUE_NORMAL_MAX; i++) {
		char shown[TD_BAR_SHOWN_MAX];

		td_bar_item_show(&list.item[i], shown);
		used += (size_t)snprintf(out + used, TD_VALUE_NORMAL_MAX - used, "%s%s", i > 0 ? "," : "",
					 shown);
	}
}

static void normal_quiet(const char *text, char out[TD_VALUE_NORMAL_MAX])
{
	char shown[TD_QUIET_SHOWN_MAX];
	struct td_quiet quiet;

	td_quiet_parse(text, &quiet);
	td_quiet_show(&quiet, shown);
	snprintf(out, TD_VALUE_NORMAL_MAX, "%s", shown);
}

void td_value_normal(const struct td_key_info *info, const char *text, char out[TD_VALUE_NORMAL_MAX])
{
	td_name ways[TD_WAYS];

	switch (info->type) {
	case TD_TYPE_WAYS:
	case TD_TYPE_PAIR:
		td_value_pair(text, ways);
		snprintf(out, TD_VALUE_NORMAL_MAX, "%s %s", ways[0], ways[1]);
		break;
	case TD_TYPE_BARS: normal_bars(text, out); break;
	case TD_TYPE_QUIET: normal_quiet(text, out); break;
	case TD_TYPE_TEXT:
	case TD_TYPE_PATH:
	case TD_TYPE_NAME:
	case TD_TYPE_GROUP:
	case TD_TYPE_PLACE:
	case TD_TYPE_NUMBER: /* no leading zeros, one spelling */
	case TD_TYPE_MODE:   /* always four digits */
	case TD_TYPE_CHOICE:
	case TD_TYPES: snprintf(out, TD_VALUE_NORMAL_MAX, "%s", text); break;
	}
}
