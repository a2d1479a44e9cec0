/* SPDX-License-Identifier: MIT */
#include <string.h>

#include "config/check.h"
#include "config/place.h"

typedef bool same(const char *a, const char *b);

static bool same_place(const char *a, const char *b)
{
	struct td_place place_a;
	struct td_place place_b;

	/* only places that were found to be good are compared */
	(void)td_place_parse(a, &place_a);
	(void)td_place_parse(b, &place_b);
	return td_place_same(&place_a, &place_b);
}

/* Over "/", "//" and "/./", which the kernel takes for one. */
static const char *skip_slashes(const char *path)
{
	while (path[0] == '/' && (path[1] == '/' || (path[1] == '.' && path[2] == '/')))
		path += path[1] == '/' ? 1 : 2;
	return path;
}

static const char *skip_here(const char *path)
{
	while (path[0] == '.' && path[1] == '/') {
		path += 2;
		while (path[0] == '/')
			path++;
	}
	return path;
}

static bool same_path(const char *a, const char *b)
{
	for (a = skip_here(a), b = skip_here(b);; a++, b++) {
		a = skip_slashes(a);
		b = skip_slashes(b);
		if (*a != *b)
			return false;
		if (*a == '\0')
			return true;
	}
}

/* One value of those that must all differ. */
struct claim {
	const struct td_draft_section *section;
	enum td_key key;
};

/* Reports `claim` if its value equals one of the `count` before it. */
static void check_claim(const struct claim *claims, size_t count, same *equal, const char *noun,
			struct td_report *report)
{
	struct claim claim = claims[count];
	const char *text = claim.section->value[claim.key].text;
	char label[TD_LABEL_MAX];

	for (size_t i = 0; i < count; i++) {
		if (!equal(text, claims[i].section->value[claims[i].key].text))
			continue;
		td_draft_label(claims[i].section, label);
		td_report_add(report, td_draft_line(claim.section, claim.key),
			      "%s = %s: this %s is already the %s of %s, line %d; allowed: one use of each "
			      "%s; correct one",
			      td_key_info(claim.key)->name, text, noun, td_key_info(claims[i].key)->name,
			      label, td_draft_line(claims[i].section, claims[i].key), noun);
		return;
	}
}

static bool applies(const struct td_draft_section *section, enum td_key key)
{
	return td_key_info(key)->section == section->kind && section->value[key].good &&
	       section->value[key].text;
}

/* Checks all values of `keys` in the file against each other. */
static void check_keys(const struct td_draft *draft, const enum td_key *keys, size_t count, same *equal,
		       const char *noun, struct td_report *report)
{
	struct claim claims[TD_SECTIONS_MAX + TD_SECTION_KINDS];
	size_t found = 0;

	for (size_t i = 0; i < draft->sections; i++)
		for (size_t k = 0; k < count; k++)
			if (applies(&draft->section[i], keys[k])) {
				claims[found] = (struct claim){&draft->section[i], keys[k]};
				check_claim(claims, found++, equal, noun, report);
			}
}

void td_check_places(struct td_draft *draft, struct td_report *report)
{
	/* at most one key of each list stands in a section */
	static const enum td_key lines[] = {TD_KEY_MACHINE_HEARTBEAT, TD_KEY_WAY_INPUT, TD_KEY_SWITCH_LINE};
	static const enum td_key sockets[] = {TD_KEY_MACHINE_BOARD, TD_KEY_KEEPER_SOCKET,
					      TD_KEY_VISITOR_SOCKET};

	check_keys(draft, lines, sizeof(lines) / sizeof(lines[0]), same_place, "line", report);
	check_keys(draft, sockets, sizeof(sockets) / sizeof(sockets[0]), same_path, "socket", report);
}
