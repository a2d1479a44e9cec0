/* SPDX-License-Identifier: MIT */
#include "config/place.h"

#include <string.h>

#include "config/key_table.h"

static const struct td_value_fault bad_offset = {
	"has no whole number after the colon",
	"write the offset in digits only, without blanks or leading zero"};
static const struct td_value_fault far_offset = {"has an offset that is out of range",
						 "choose an offset in that range"};
static const struct td_value_fault no_label = {"has no chip label before the colon",
					       "write the label, a colon and the offset"};
static const struct td_value_fault too_long = {"is too long",
					       "copy label or line name as the kernel shows it"};
static const struct td_value_fault blank_end = {"has a blank beside the colon", "leave the blanks out"};
static const struct td_value_fault bare_number = {"is a number alone",
						  "write the chip's label and a colon before it"};
static const struct td_value_fault chip_number = {
	"names a chip by its number or device, which may change at every start",
	"write the chip's label instead"};

static bool all_digits(const char *text)
{
	return *text && text[strspn(text, "0123456789")] == '\0';
}

static bool is_chip_number(const char *label)
{
	static const char prefix[] = "gpiochip";

	return strncmp(label, "/dev/", 5) == 0 ||
	       (strncmp(label, prefix, strlen(prefix)) == 0 && all_digits(label + strlen(prefix)));
}

static const struct td_value_fault *parse_offset(const char *digits, uint32_t *offset)
{
	if (!all_digits(digits) || (digits[0] == '0' && digits[1]))
		return &bad_offset;
	*offset = 0;
	for (; *digits; digits++) {
		*offset = *offset * 10 + (uint32_t)(*digits - '0');
		if (*offset > TD_OFFSET_MAX)
			return &far_offset;
	}
	return NULL;
}

static const struct td_value_fault *parse_chip(const char *text, const char *colon, struct td_place *place)
{
	size_t length = (size_t)(colon - text);

	if (length == 0)
		return &no_label;
	if (length > TD_PLACE_PART_MAX)
		return &too_long;
	if (colon[-1] == ' ' || colon[-1] == '\t' || colon[1] == ' ' || colon[1] == '\t')
		return &blank_end;
	memcpy(place->chip, text, length);
	if (is_chip_number(place->chip))
		return &chip_number;
	return parse_offset(colon + 1, &place->offset);
}

static const struct td_value_fault *parse_name(const char *text, struct td_place *place)
{
	size_t length = strlen(text);

	if (length > TD_PLACE_PART_MAX)
		return &too_long;
	if (all_digits(text))
		return &bare_number;
	memcpy(place->name, text, length);
	return is_chip_number(place->name) ? &chip_number : NULL;
}

const struct td_value_fault *td_place_parse(const char *text, struct td_place *place)
{
	const char *colon = strrchr(text, ':');
	const struct td_value_fault *fault;

	memset(place, 0, sizeof(*place));
	fault = colon ? parse_chip(text, colon, place) : parse_name(text, place);
	if (fault)
		memset(place, 0, sizeof(*place));
	return fault;
}

bool td_place_same(const struct td_place *a, const struct td_place *b)
{
	return strcmp(a->chip, b->chip) == 0 && strcmp(a->name, b->name) == 0 && a->offset == b->offset;
}
