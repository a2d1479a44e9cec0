/* SPDX-License-Identifier: MIT */
/* R18 with the real processes: a cart that turns on its cable until it may not, and is freed by its keeper. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/stage.h"

enum { FORWARD = 1, LATE_MS = 20 };

/* Thirty degrees instead of three turns. */
static void shorten_cable(const struct stage *stage)
{
	static const char was[] = "limit_degrees = 1080";
	static char text[65536];
	FILE *file = fopen(stage->config, "r");

	assert_non_null(file);
	size_t length = fread(text, 1, sizeof(text) - 1, file);

	(void)fclose(file);
	text[length] = '\0';
	char *at = strstr(text, was);

	assert_non_null(at);
	memcpy(at, "limit_degrees =   30", sizeof(was) - 1);
	file = fopen(stage->config, "w");
	assert_non_null(file);
	assert_int_equal(fwrite(text, 1, length, file), length);
	assert_int_equal(fclose(file), 0);
}

static int set_up(void **state)
{
	static struct stage stage;

	stage_open(&stage);
	stage_end_daemon(&stage);
	shorten_cable(&stage);
	stage_start_daemon(&stage);
	*state = &stage;
	return 0;
}

static int tear_down(void **state)
{
	stage_close(*state);
	return 0;
}

/* "untwisted" or why not. */
static const char *untwist(struct td_link *link)
{
	static char word[64];
	json_t *answer = stage_call(link, "untwisted", NULL);
	const json_t *data = json_object_get(answer, "data");
	const char *cause = json_string_value(json_object_get(data ? data : answer, "cause"));

	(void)snprintf(word, sizeof(word), "%s", cause ? cause : "");
	json_decref(answer);
	return word;
}

/* At its left stop the cart turns 30 degrees a second, and a tenth of that is doubt: 30 / 33 s. */
static void r18_the_drive_is_cut_at_the_limit_and_freed_by_the_keeper(void **state)
{
	struct stage *stage = *state;
	struct td_link *visitor = stage_link(stage, "visitor.sock");

	assert_string_equal(stage_hold(stage->keeper, "steering", "left", 1, TD_S(3)), "hold-limit");
	stage_sleep(TD_MS(300));
	assert_string_equal(stage_hold(stage->keeper, "drive", "forward", 2, TD_S(5)), "twist-cut");
	td_ns powered_ns = stage_fall_ns(stage, "drive", FORWARD) - stage_rise_ns(stage, "drive", FORWARD);

	printf("# measured: the drive was powered %.1f ms, 909.1 are right\n", (double)powered_ns / 1e6);
	assert_true(powered_ns > TD_MS(908) && powered_ns < TD_MS(909 + LATE_MS));
	stage_sleep(TD_MS(500));
	assert_string_equal(stage_hold(stage->keeper, "drive", "forward", 3, TD_S(1)), "twist-limit");
	assert_string_equal(stage_hold(stage->keeper, "drive", "backward", 4, TD_MS(300)), "still-held");
	stage_request(stage->keeper, "drive", "backward", 5, 0, 300);
	assert_string_equal(untwist(stage->keeper), "still-moving");
	stage_sleep(TD_S(1));
	assert_string_equal(untwist(visitor), "not-allowed");
	assert_string_equal(untwist(stage->keeper), "untwisted");
	assert_false(stage_any_high(stage));
	stage_sleep(TD_MS(500));
	/* a link that has not heard how the hold before ended */
	struct td_link *fresh = stage_link(stage, "keeper.sock");

	assert_string_equal(stage_hold(fresh, "drive", "forward", 1, TD_S(5)), "twist-cut");
	td_link_close(fresh);
	td_link_close(visitor);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(r18_the_drive_is_cut_at_the_limit_and_freed_by_the_keeper,
						set_up, tear_down),
	};

	return cmocka_run_group_tests_name("twist", tests, NULL, NULL);
}
