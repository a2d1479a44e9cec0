/* SPDX-License-Identifier: MIT */
/* A status as text, drawn as a page: for the tests of what `tripdog status` draws. Included by one file each. */
#ifndef TD_TESTS_UNIT_CLI_PAGE_H
#define TD_TESTS_UNIT_CLI_PAGE_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/client/draw.h"
#include "tests/unit/cli_states.h"

static inline json_t *parse(const char *text)
{
	json_error_t where;
	json_t *document = json_loads(text, JSON_REJECT_DUPLICATES, &where);

	if (!document)
		fail_msg("%s in %s", where.text, text);
	return document;
}

/* The page as text; free() it. */
static inline char *draw(const char *status_text, size_t width, bool utf8, bool colour)
{
	json_t *status = parse(status_text);
	json_t *describe = parse(DESCRIBE);
	struct td_view view;
	struct td_error err = {""};
	char *page = NULL;
	size_t length = 0;

	if (td_view_read(status, describe, &view, &err) != 0)
		fail_msg("%s", err.text);
	struct td_pen pen = {
		.out = open_memstream(&page, &length), .width = width, .utf8 = utf8, .colour = colour};
	assert_non_null(pen.out);
	td_draw_status(&pen, &view);
	assert_int_equal(fclose(pen.out), 0);
	json_decref(status);
	json_decref(describe);
	return page;
}

static inline void expect_page(const char *status, size_t width, bool utf8, const char *wanted)
{
	char *page = draw(status, width, utf8, false);

	assert_string_equal(page, wanted);
	free(page);
}

#endif
