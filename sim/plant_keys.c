/* SPDX-License-Identifier: MIT */
#include "sim/plant_keys.h"

#include <inttypes.h>
#include <string.h>

#include "config/words.h"

static const char *const ends_words[] = {"free", "hard"};

static const struct td_plant_key_info infos[TD_PLANT_KEYS] = {
#define X(section, ident, name, form, unit, min, max, fallback, help)                                        \
	{TD_PLANT_SECTION_##section, TD_PLANT_##form, name, unit, min, max, fallback, help},
	TD_PLANT_KEY_TABLE(X)
#undef X
};

const struct td_plant_key_info *td_plant_key_info(enum td_plant_key key)
{
	return &infos[key];
}

enum td_plant_key td_plant_key_find(enum td_plant_section section, const char *name)
{
	unsigned int key = 0;

	while (key < TD_PLANT_KEYS && (infos[key].section != section || strcmp(infos[key].name, name) != 0))
		key++;
	return (enum td_plant_key)key;
}

const char *td_plant_section_shown(enum td_plant_section section)
{
	return section == TD_PLANT_SECTION_MOTOR ? "[motor AXIS]" : "[plant]";
}

const char *td_plant_key_allowed(enum td_plant_key key, char out[TD_PLANT_ALLOWED_MAX])
{
	const struct td_plant_key_info *info = &infos[key];

	if (info->form == TD_PLANT_ENDS)
		(void)snprintf(out, TD_PLANT_ALLOWED_MAX, "%s or %s", ends_words[0], ends_words[1]);
	else
		(void)snprintf(out, TD_PLANT_ALLOWED_MAX, "%s%" PRId64 " to %" PRId64 "%s%s",
			       info->form == TD_PLANT_PAIR ? "one or two numbers, " : "", info->min,
			       info->max, info->unit[0] ? " " : "", info->unit);
	return out;
}

/* --- values ------------------------------------------------------------------------------------------ */

static bool whole_number(const struct td_plant_key_info *info, const char *text, int64_t *number)
{
	enum { DIGITS_MAX = 18 }; /* no sum of so few digits overflows */
	size_t length = strspn(text, "0123456789");
	int64_t value = 0;

	if (length == 0 || text[length] != '\0' || length > DIGITS_MAX || (text[0] == '0' && length > 1))
		return false;
	for (size_t i = 0; i < length; i++)
		value = value * 10 + (text[i] - '0');
	*number = value;
	return value >= info->min && value <= info->max;
}

static bool pair(const struct td_plant_key_info *info, const char *text, int64_t number[2])
{
	struct td_words words;

	td_words_split(text, strlen(text), &words);
	if (words.count < 1 || words.count > 2)
		return false;
	return whole_number(info, words.word[0], &number[0]) &&
	       whole_number(info, words.word[words.count - 1], &number[1]);
}

bool td_plant_key_value(enum td_plant_key key, const char *text, int64_t number[2])
{
	const struct td_plant_key_info *info = &infos[key];

	switch (info->form) {
	case TD_PLANT_PAIR: return pair(info, text, number);
	case TD_PLANT_ENDS:
		number[0] = number[1] = strcmp(text, ends_words[1]) == 0;
		return number[0] || strcmp(text, ends_words[0]) == 0;
	case TD_PLANT_NUMBER: break;
	}
	bool good = whole_number(info, text, &number[0]);
	number[1] = number[0];
	return good;
}

/* --- for people -------------------------------------------------------------------------------------- */

static void explain_key(FILE *out, enum td_plant_key key)
{
	char allowed[TD_PLANT_ALLOWED_MAX];

	(void)fprintf(out, "  %-15s %s; ", infos[key].name, td_plant_key_allowed(key, allowed));
	if (infos[key].fallback)
		(void)fprintf(out, "default %s\n", infos[key].fallback);
	else
		(void)fprintf(out, "required\n");
	(void)fprintf(out, "      %s\n", infos[key].help);
}

void td_plant_keys_explain(FILE *out)
{
	for (unsigned int section = 0; section < TD_PLANT_SECTIONS; section++) {
		(void)fprintf(out, "%s%s\n", section ? "\n" : "",
			      td_plant_section_shown((enum td_plant_section)section));
		for (unsigned int key = 0; key < TD_PLANT_KEYS; key++)
			if (infos[key].section == section)
				explain_key(out, (enum td_plant_key)key);
	}
}
