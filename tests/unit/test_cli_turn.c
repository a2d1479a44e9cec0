/* SPDX-License-Identifier: MIT */
/* What a client makes of the turn that status tells: its parts, and one sentence for a person. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "daemon/client/turn.h"

static void expect_sentence(const char *turn, const char *sentence)
{
	json_t *document = json_loads(turn, 0, NULL);
	struct td_turn_view view = td_turn_view_read(document);
	char text[TD_TURN_SENTENCE_MAX];

	assert_non_null(document);
	td_turn_sentence(&view, text);
	assert_string_equal(text, sentence);
	json_decref(document);
}

#define TURN(needed, yours, closed, line, place)                                                             \
	"{\"needed\":" needed ",\"yours\":" yours ",\"closed\":" closed ",\"line\":" line                    \
	",\"place\":" place ",\"wait_ms\":125000,\"left_ms\":8000}"

static void each_case_has_its_sentence(void **state)
{
	(void)state;
	expect_sentence(TURN("false", "false", "false", "0", "null"), "");
	expect_sentence(TURN("false", "false", "false", "2", "null"),
			"2 visitors in line; a turn would come in 125.0 s at the latest");
	expect_sentence(TURN("true", "false", "false", "1", "null"),
			"1 visitor in line; a turn would come in 125.0 s at the latest");
	expect_sentence(TURN("true", "false", "false", "4", "3"),
			"3 before you; your turn comes in 125.0 s at the latest");
	expect_sentence(TURN("true", "true", "false", "1", "0"), "the turn is yours, 8.0 s left");
	expect_sentence(TURN("true", "true", "false", "2", "0"),
			"the turn is yours, 8.0 s left; others wait");
	expect_sentence(TURN("true", "false", "true", "2", "0"), "closed to visitors; 2 in line");
}

static void what_is_missing_or_malformed_means_no_turn_is_needed(void **state)
{
	struct td_turn_view view = td_turn_view_read(NULL);

	(void)state;
	assert_false(view.needed);
	assert_int_equal(view.place, -1);
	expect_sentence("{}", "");
	expect_sentence("{\"needed\":1,\"place\":\"x\",\"line\":\"y\"}", "");
	expect_sentence("[]", "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_case_has_its_sentence),
		cmocka_unit_test(what_is_missing_or_malformed_means_no_turn_is_needed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
