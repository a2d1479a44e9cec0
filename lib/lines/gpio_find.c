/* SPDX-License-Identifier: MIT */
/* Looks places up on all chips: a label must be on one chip, a name on one line of all. */
#include "lines/gpio_find.h"

#include <errno.h>
#include <string.h>

#include "lines/gpio_text.h"

void td_gpio_chips_open(struct td_gpio_chips *chips)
{
	char paths[TD_GPIO_CHIPS_MAX][TD_GPIO_PATH_MAX];

	memset(chips, 0, sizeof(*chips));
	chips->count = td_gpio_chip_paths(paths);
	for (size_t i = 0; i < chips->count; i++) {
		struct td_gpio_chip_at *at = &chips->at[i];

		memcpy(at->path, paths[i], sizeof(at->path));
		at->error = td_gpio_chip_open(at->path, &at->chip);
	}
}

void td_gpio_chips_close(struct td_gpio_chips *chips)
{
	for (size_t i = 0; i < chips->count; i++)
		td_gpio_chip_close(chips->at[i].chip);
	chips->count = 0;
}

/* --- what was looked at, for the sentences -------------------------------------------------------- */

static void begin(struct td_gpio_text *text, const char *file, const struct td_gpio_wanted *wanted)
{
	memset(text, 0, sizeof(*text));
	if (file && *file)
		td_gpio_text_add(text, "%s:%d: ", file, wanted->place.file_line);
	td_gpio_text_add(text, "%s: ", wanted->use);
}

static int end(const struct td_gpio_text *text, struct td_error *err)
{
	return td_error_set(err, "%s", text->text);
}

static int end_absent(const struct td_gpio_text *text, struct td_error *err)
{
	(void)end(text, err);
	return TD_GPIO_ABSENT;
}

static void add_closed_chips(struct td_gpio_text *text, const struct td_gpio_chips *chips)
{
	for (size_t i = 0; i < chips->count; i++) {
		if (!chips->at[i].chip)
			td_gpio_text_add(text, "; %s cannot be opened: %s%s", chips->at[i].path,
					 strerror(-chips->at[i].error),
					 chips->at[i].error == -EACCES || chips->at[i].error == -EPERM
						 ? " (put this user into the group that owns it)"
						 : "");
	}
}

static void add_labels(struct td_gpio_text *text, const struct td_gpio_chips *chips)
{
	const char *before = "; there is ";

	for (size_t i = 0; i < chips->count; i++) {
		if (!chips->at[i].chip)
			continue;
		td_gpio_text_add(text, "%s\"%s\" (%s)", before, td_gpio_chip_label(chips->at[i].chip),
				 chips->at[i].path);
		before = ", ";
	}
}

static int no_chips(struct td_gpio_text *text, const struct td_gpio_chips *chips, struct td_error *err)
{
	td_gpio_text_add(text, chips->count
				       ? "no GPIO chip can be used"
				       : "this machine shows no GPIO chip: load its driver, and let this "
					 "service see /dev/gpiochip*");
	add_closed_chips(text, chips);
	return end_absent(text, err);
}

static bool any_open(const struct td_gpio_chips *chips)
{
	for (size_t i = 0; i < chips->count; i++)
		if (chips->at[i].chip)
			return true;
	return false;
}

/* --- by label and offset -------------------------------------------------------------------------- */

static bool has_label(const struct td_gpio_chip_at *at, const char *label)
{
	return at->chip && strcmp(td_gpio_chip_label(at->chip), label) == 0;
}

static int no_label(struct td_gpio_text *text, const struct td_gpio_chips *chips, const char *label,
		    struct td_error *err)
{
	td_gpio_text_add(text, "no GPIO chip has the label \"%s\"", label);
	add_labels(text, chips);
	add_closed_chips(text, chips);
	return end_absent(text, err);
}

static int several_labels(struct td_gpio_text *text, const struct td_gpio_chips *chips, const char *label,
			  struct td_error *err)
{
	const char *before = "";

	td_gpio_text_add(text, "several GPIO chips have the label \"%s\": ", label);
	for (size_t i = 0; i < chips->count; i++) {
		if (!has_label(&chips->at[i], label))
			continue;
		td_gpio_text_add(text, "%s%s", before, chips->at[i].path);
		before = ", ";
	}
	td_gpio_text_add(text, "; use the name of the line instead, if it has one");
	return end(text, err);
}

static int find_by_label(const struct td_gpio_chips *chips, const struct td_place *place,
			 struct td_gpio_text *text, struct td_gpio_spot *spot, struct td_error *err)
{
	unsigned matches = 0;

	for (unsigned i = 0; i < chips->count; i++) {
		if (!has_label(&chips->at[i], place->chip))
			continue;
		*spot = (struct td_gpio_spot){.chip = i, .offset = place->offset};
		matches++;
	}
	if (matches == 0)
		return no_label(text, chips, place->chip, err);
	if (matches > 1)
		return several_labels(text, chips, place->chip, err);
	uint32_t lines = td_gpio_chip_lines(chips->at[spot->chip].chip);

	if (spot->offset < lines)
		return 0;
	td_gpio_text_add(text, "the chip \"%s\" has %u lines, 0 to %u, so %u is none of them", place->chip,
			 lines, lines - 1, place->offset);
	return end(text, err);
}

/* --- by name -------------------------------------------------------------------------------------- */

enum { NAMES_LISTED = 12 };

struct search {
	const char *name;
	unsigned matches;
	struct td_gpio_spot first;
	struct td_gpio_text matching; /* "label:offset", with commas */
	struct td_gpio_text others;   /* names of other lines, with commas */
	unsigned others_listed;
};

static void look_at(struct search *search, const struct td_gpio_chips *chips, struct td_gpio_spot spot)
{
	struct td_gpio_chip *chip = chips->at[spot.chip].chip;
	struct td_gpio_line_info info;

	if (td_gpio_chip_line(chip, spot.offset, &info) < 0 || !info.name[0])
		return;
	if (strcmp(info.name, search->name) != 0) {
		if (search->others_listed++ < NAMES_LISTED)
			td_gpio_text_add(&search->others, "%s\"%s\"", search->others.length ? ", " : "",
					 info.name);
		return;
	}
	if (search->matches++ == 0)
		search->first = spot;
	td_gpio_text_add(&search->matching, "%s%s:%u (%s)", search->matching.length ? ", " : "",
			 td_gpio_chip_label(chip), spot.offset, chips->at[spot.chip].path);
}

static void look_everywhere(struct search *search, const struct td_gpio_chips *chips)
{
	for (unsigned i = 0; i < chips->count; i++) {
		uint32_t lines = chips->at[i].chip ? td_gpio_chip_lines(chips->at[i].chip) : 0;

		for (uint32_t offset = 0; offset < lines; offset++)
			look_at(search, chips, (struct td_gpio_spot){.chip = i, .offset = offset});
	}
}

static int no_name(const struct search *search, const struct td_gpio_chips *chips, struct td_gpio_text *text,
		   struct td_error *err)
{
	td_gpio_text_add(text, "no line is named \"%s\"", search->name);
	if (search->others_listed == 0)
		td_gpio_text_add(text, ", nor has any other a name: use \"LABEL:OFFSET\"");
	else
		td_gpio_text_add(text, "; there are %s%s", search->others.text,
				 search->others_listed > NAMES_LISTED ? " and more" : "");
	add_closed_chips(text, chips);
	return end_absent(text, err);
}

static int find_by_name(const struct td_gpio_chips *chips, const struct td_place *place,
			struct td_gpio_text *text, struct td_gpio_spot *spot, struct td_error *err)
{
	struct search search = {.name = place->name};

	look_everywhere(&search, chips);
	*spot = search.first;
	if (search.matches == 1)
		return 0;
	if (search.matches == 0)
		return no_name(&search, chips, text, err);
	td_gpio_text_add(text, "several lines are named \"%s\": %s; use one of these places instead",
			 place->name, search.matching.text);
	return end(text, err);
}

int td_gpio_find(const struct td_gpio_chips *chips, const char *file, const struct td_gpio_wanted *wanted,
		 struct td_gpio_spot *spot, struct td_error *err)
{
	struct td_gpio_text text;

	begin(&text, file, wanted);
	if (!any_open(chips))
		return no_chips(&text, chips, err);
	if (wanted->place.chip[0])
		return find_by_label(chips, &wanted->place, &text, spot, err);
	return find_by_name(chips, &wanted->place, &text, spot, err);
}
