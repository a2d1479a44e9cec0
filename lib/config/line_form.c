/* SPDX-License-Identifier: MIT */
#include "config/line_form.h"

#include <jansson.h>
#include <stdbool.h>
#include <string.h>

static const struct td_value_fault too_long = {"the line is too long",
					       "shorten it; a comment may go on in the next line"};
static const struct td_value_fault nul = {"the line has a NUL byte",
					  "remove it; save the file as plain UTF-8 text"};
static const struct td_value_fault control = {"the line has a control character",
					      "remove it; only tabs and line ends are allowed"};
static const struct td_value_fault encoding = {"the line is not valid UTF-8", "save the file as UTF-8"};
static const struct td_value_fault mark = {"the line has a byte order mark inside the file",
					   "remove it; one may stand at the very beginning only"};

static bool is_utf8(const char *line, size_t length)
{
	json_t *string = json_stringn(line, length);

	json_decref(string);
	return string != NULL;
}

/* C0 but for the tab, DEL, and C1 (U+0080 ... U+009F: C2 80 ... C2 9F) */
static bool has_control(const unsigned char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if ((bytes[i] < ' ' && bytes[i] != '\t') || bytes[i] == 0x7f ||
		    (i > 0 && bytes[i - 1] == 0xc2 && bytes[i] < 0xa0))
			return true;
	return false;
}

static bool has_mark(const char *line, size_t length)
{
	return length >= 3 && memmem(line, length, "\xef\xbb\xbf", 3) != NULL;
}

const struct td_value_fault *td_line_form(const char *line, size_t length)
{
	if (length > TD_CONFIG_LINE_MAX)
		return &too_long;
	if (length == 0)
		return NULL;
	if (memchr(line, '\0', length))
		return &nul;
	if (!is_utf8(line, length))
		return &encoding;
	if (has_control((const unsigned char *)line, length))
		return &control;
	return has_mark(line, length) ? &mark : NULL;
}
