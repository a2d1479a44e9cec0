/* SPDX-License-Identifier: MIT */
#include "config/explain.h"

#include <ctype.h>
#include <stdbool.h>

#include "config/keys.h"
#include "layout.h"

enum { FACTS_MAX = 320 };

/* The sentences of a key's range, default and need. */
static void facts(const struct td_key_info *info, char out[FACTS_MAX])
{
	const char *need = td_need_sentence(info->need);
	bool said_by_default = info->need == TD_NEED_OPTIONAL && info->fallback;
	char allowed[FACTS_MAX / 2];
	size_t used;

	td_key_allowed(info, allowed, sizeof(allowed));
	used = (size_t)snprintf(out, FACTS_MAX, "Allowed: %s.", allowed);
	if (info->fallback)
		used += (size_t)snprintf(out + used, FACTS_MAX - used, " Default: %s.", info->fallback);
	if (!said_by_default)
		snprintf(out + used, FACTS_MAX - used, " %c%s.", toupper((unsigned char)need[0]), need + 1);
}

/* Over a run of keys of one section. */
static enum td_key next_key(enum td_section_kind kind, unsigned int key)
{
	while (key < TD_KEYS && td_key_info((enum td_key)key)->section != kind)
		key++;
	return (enum td_key)key;
}

/* --- plain text ------------------------------------------------------------------------------- */

static const struct td_layout plain_section_text = {.indent = 2};
static const struct td_layout plain_key_text = {.indent = 6};

static void plain_key(FILE *out, const struct td_key_info *info)
{
	char line[FACTS_MAX];

	fprintf(out, "\n  %s = %s\n", info->name, td_type_placeholder(info->type));
	td_layout_text(out, &plain_key_text, info->help);
	facts(info, line);
	td_layout_text(out, &plain_key_text, line);
}

void td_config_explain(FILE *out)
{
	for (unsigned int i = 0; i < TD_SECTION_KINDS; i++) {
		enum td_section_kind kind = (enum td_section_kind)i;
		const struct td_section_info *section = td_section_info(kind);

		fprintf(out, "%s[%s%s]\n", i > 0 ? "\n\n" : "", section->word, section->shown);
		td_layout_text(out, &plain_section_text, section->help);
		for (enum td_key key = next_key(kind, 0); key != TD_KEYS; key = next_key(kind, key + 1U))
			plain_key(out, td_key_info(key));
	}
}

/* --- mdoc ------------------------------------------------------------------------------------- */

static const struct td_layout mdoc_text = {.mdoc = true};

static void mdoc_key(FILE *out, const struct td_key_info *info)
{
	char line[FACTS_MAX];

	fprintf(out, ".It Ic %s No = Ar %s\n", info->name, td_type_placeholder(info->type));
	td_layout_text(out, &mdoc_text, info->help);
	facts(info, line);
	td_layout_text(out, &mdoc_text, line);
}

void td_config_explain_mdoc(FILE *out)
{
	for (unsigned int i = 0; i < TD_SECTION_KINDS; i++) {
		enum td_section_kind kind = (enum td_section_kind)i;
		const struct td_section_info *section = td_section_info(kind);

		fprintf(out, ".Ss [%s%s]\\&\n", section->word, section->shown);
		td_layout_text(out, &mdoc_text, section->help);
		fputs(".Bl -tag -width Ds\n", out);
		for (enum td_key key = next_key(kind, 0); key != TD_KEYS; key = next_key(kind, key + 1U))
			mdoc_key(out, td_key_info(key));
		fputs(".El\n", out);
	}
}
