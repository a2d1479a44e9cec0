/* SPDX-License-Identifier: MIT */
#include "config/scan.h"

#include <ini.h>
#include <string.h>

#include "config/line_form.h"
#include "config/nearest.h"
#include "config/words.h"

_Static_assert(TD_CONFIG_LINE_MAX + 3 <= INI_MAX_LINE, "inih would cut a line");

struct scan {
	struct td_draft *draft;
	struct td_report *report;
	int line;
	struct td_draft_section *section; /* NULL: none yet, or a faulty one whose keys are passed over */
	bool passing_over;
	bool full_reported;
};

/* --- headings --------------------------------------------------------------------------------- */

static void report_unknown_section(struct scan *scan, const char *word)
{
	struct td_nearest nearest = td_nearest_to(word);

	for (unsigned int kind = 0; kind < TD_SECTION_KINDS; kind++)
		td_nearest_offer(&nearest, td_section_info((enum td_section_kind)kind)->word);
	if (nearest.best)
		td_report_add(scan->report, scan->line, "unknown section [%s]; did you mean [%s]?", word,
			      nearest.best);
	else
		td_report_add(scan->report, scan->line,
			      "unknown section [%s]; allowed: machine, keeper, visitor, twist, axis NAME, "
			      "way AXIS WAY, "
			      "switch NAME; correct or remove it",
			      word);
}

static bool names_ok(struct scan *scan, enum td_section_kind kind, const struct td_words *words)
{
	const struct td_section_info *info = td_section_info(kind);

	if (words->count != 1 + info->names) {
		td_report_add(scan->report, scan->line, "wrong number of names in the heading; write [%s%s]",
			      info->word, info->shown);
		return false;
	}
	for (size_t i = 1; i < words->count; i++)
		if (!td_name_well_formed(words->word[i])) {
			td_report_add(scan->report, scan->line,
				      "'%s' is not a well-formed name; allowed: 1 to %d of a-z, 0-9, '_' and "
				      "'-', a letter first; rename it everywhere",
				      words->word[i], TD_NAME_MAX - 1);
			return false;
		}
	return true;
}

static void report_full(struct scan *scan)
{
	if (!scan->full_reported)
		td_report_add(scan->report, scan->line,
			      "too many sections, the rest is passed over; at most %d; remove some",
			      TD_SECTIONS_MAX);
	scan->full_reported = true;
}

static void open_section(struct scan *scan, enum td_section_kind kind, const struct td_words *words)
{
	struct td_draft_section *former = td_draft_find(scan->draft, kind, words->word[1], words->word[2]);

	if (former) {
		char label[TD_LABEL_MAX];

		td_draft_label(former, label);
		td_report_add(scan->report, scan->line,
			      "section %s stands twice, first in line %d; put all its keys into one", label,
			      former->line);
		return;
	}
	if (scan->draft->sections < TD_SECTIONS_MAX)
		scan->section = td_draft_add(scan->draft, kind, scan->line, words->word[1], words->word[2]);
	else
		report_full(scan);
}

/* Whether nothing but blanks or a comment stands behind the heading. */
static bool ends_well(const char *rest)
{
	size_t blanks = strspn(rest, " \t");

	return rest[blanks] == '\0' || (blanks > 0 && rest[blanks] == ';');
}

static void take_heading(struct scan *scan, const char *line)
{
	const char *end = strchr(line, ']');
	struct td_words words;
	enum td_section_kind kind;

	scan->section = NULL;
	scan->passing_over = true;
	if (!end) {
		td_report_add(scan->report, scan->line, "the heading is not closed; end it with ']'");
		return;
	}
	if (!ends_well(end + 1)) {
		td_report_add(scan->report, scan->line,
			      "text stands behind the heading; begin a new line, or a comment with a blank "
			      "and ';'");
		return;
	}
	td_words_split(line + 1, (size_t)(end - line) - 1, &words);
	kind = td_section_find(words.word[0]);
	if (kind == TD_SECTION_KINDS)
		report_unknown_section(scan, words.word[0]);
	else if (names_ok(scan, kind, &words))
		open_section(scan, kind, &words);
}

/* --- keys ------------------------------------------------------------------------------------- */

static const struct td_section_info *section_with_key(const char *name)
{
	for (unsigned int key = 0; key < TD_KEYS; key++)
		if (strcmp(td_key_info((enum td_key)key)->name, name) == 0)
			return td_section_info(td_key_info((enum td_key)key)->section);
	return NULL;
}

static void report_unknown_key(struct scan *scan, const char *name)
{
	const struct td_section_info *elsewhere = section_with_key(name);
	struct td_nearest nearest = td_nearest_to(name);
	char label[TD_LABEL_MAX];

	td_draft_label(scan->section, label);
	for (unsigned int key = 0; key < TD_KEYS; key++)
		if (td_key_info((enum td_key)key)->section == scan->section->kind)
			td_nearest_offer(&nearest, td_key_info((enum td_key)key)->name);
	if (elsewhere)
		td_report_add(scan->report, scan->line, "key '%s' does not belong in %s; move it to [%s%s]",
			      name, label, elsewhere->word, elsewhere->shown);
	else if (nearest.best)
		td_report_add(scan->report, scan->line, "unknown key '%s' in %s; did you mean '%s'?", name,
			      label, nearest.best);
	else
		td_report_add(scan->report, scan->line,
			      "unknown key '%s' in %s; remove it (tripdogd --explain-config lists all keys)",
			      name, label);
}

static void take_value(struct scan *scan, enum td_key key, const char *text)
{
	const char *name = td_key_info(key)->name;
	const struct td_draft_value *former = &scan->section->value[key];

	if (former->line) {
		td_report_add(scan->report, scan->line,
			      "key '%s' stands twice in this section, first in line %d; keep one of them",
			      name, former->line);
		return;
	}
	td_draft_set(scan->draft, scan->section, key, scan->line, text);
}

/* inih's callback for one key and value. */
static int take_pair(void *user, const char *section, const char *name, const char *value)
{
	struct scan *scan = user;
	enum td_key key;

	(void)section; /* every line is parsed alone; the section is ours */
	if (!scan->section) {
		if (!scan->passing_over)
			td_report_add(
				scan->report, scan->line,
				"key '%s' stands before the first section; put a heading such as [machine] "
				"before it",
				name);
		return 1;
	}
	key = td_key_find(scan->section->kind, name);
	if (key == TD_KEYS)
		report_unknown_key(scan, name);
	else
		take_value(scan, key, value);
	return 1;
}

/* --- lines ------------------------------------------------------------------------------------ */

static void report_form(struct scan *scan, const struct td_value_fault *fault, const char *line,
			size_t length)
{
	td_report_add(scan->report, scan->line, "%s; allowed: UTF-8 text, at most %d bytes in a line; %s",
		      fault->what, TD_CONFIG_LINE_MAX, fault->mend);
	if (length > 0 && line[0] == '[') {
		scan->section = NULL;
		scan->passing_over = true;
	}
}

static void take_line(struct scan *scan, const char *line, size_t length)
{
	char copy[TD_CONFIG_LINE_MAX + 1];
	const struct td_value_fault *fault = td_line_form(line, length);

	/* inih would take an indented line for the continuation of the one before */
	while (length > 0 && (line[0] == ' ' || line[0] == '\t')) {
		line++;
		length--;
	}
	if (fault) {
		report_form(scan, fault, line, length);
		return;
	}
	memcpy(copy, line, length);
	copy[length] = '\0';
	if (copy[0] == '[')
		take_heading(scan, copy);
	else if (ini_parse_string(copy, take_pair, scan) != 0)
		td_report_add(
			scan->report, scan->line,
			"neither a heading nor a key with its value; write 'key = value', or begin a comment "
			"with '#'");
}

static void add_missing_sections(struct td_draft *draft)
{
	for (unsigned int kind = 0; kind < TD_SECTION_KINDS; kind++)
		if (td_section_info((enum td_section_kind)kind)->names == 0 &&
		    !td_draft_next(draft, (enum td_section_kind)kind, NULL))
			td_draft_add(draft, (enum td_section_kind)kind, 1, "", "");
}

static size_t skip_mark(const char *text, size_t length)
{
	return length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
}

void td_scan(const char *text, size_t length, struct td_draft *draft, struct td_report *report)
{
	struct scan scan = {.draft = draft, .report = report};

	for (size_t at = skip_mark(text, length); at < length;) {
		const char *end = memchr(text + at, '\n', length - at);
		size_t whole = end ? (size_t)(end - text) - at : length - at;
		size_t bare = whole > 0 && text[at + whole - 1] == '\r' ? whole - 1 : whole;

		scan.line++;
		take_line(&scan, text + at, bare);
		at += whole + 1;
	}
	add_missing_sections(draft);
}
