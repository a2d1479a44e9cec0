/* SPDX-License-Identifier: MIT */
/* R10: the latched stop is on the disk before anybody is told that it is on, and "off" is written only
 * after it was on. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/state.h"
#include "tests/support/front_rig.h"

static const char latch[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"latch\"}";

static bool on_disk(const struct rig *rig)
{
	struct td_state state = {.latched = false};
	struct td_error err = {.text = ""};

	if (td_state_load(rig->dir, &state, &err) != 0)
		fail_msg("%s", err.text);
	return state.latched;
}

static void note_latch(struct rig *rig, uint8_t bits, struct rig_client *client)
{
	struct td_note note = rig_machine_note(true, bits);

	rig_note(rig, &note);
	rig_sync(client);
}

static void save(const struct rig *rig, bool latched)
{
	const struct td_state state = {.latched = latched};
	struct td_error err;

	assert_int_equal(td_state_save(rig->dir, &state, &err), 0);
}

static void test_R10_the_answer_to_a_latch_comes_once_it_is_on_the_disk(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_send(visitor, latch);
	struct td_order order = rig_order(rig.urgent);
	rig_sync(visitor);
	assert_false(on_disk(&rig));
	rig_answer(&rig, order.tag, TD_CAUSE_LATCH_ASKED);
	json_t *answer = rig_receive(visitor);
	assert_true(on_disk(&rig));
	assert_string_equal(rig_outcome(answer), "latch-asked");
	assert_true(json_is_true(json_object_get(json_object_get(answer, "result"), "kept")));
	assert_null(json_object_get(json_object_get(answer, "result"), "fault"));
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R10_a_latch_from_the_input_is_kept_and_a_reset_clears_it(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	note_latch(&rig, TD_LATCH_INPUT, keeper);
	assert_true(on_disk(&rig));
	note_latch(&rig, TD_LATCH_INPUT | TD_LATCH_ASKED, keeper);
	assert_true(on_disk(&rig));
	note_latch(&rig, 0, keeper);
	assert_false(on_disk(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static bool latched_after_reset(const char *params, enum td_cause outcome)
{
	struct rig rig;
	char line[100];

	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	note_latch(&rig, TD_LATCH_ASKED, keeper);
	(void)snprintf(line, sizeof(line), "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"reset\"%s}", params);
	rig_send(keeper, line);
	rig_answer(&rig, rig_order(rig.orders).tag, outcome);
	json_decref(rig_receive(keeper));
	bool latched = on_disk(&rig);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
	return latched;
}

static void test_R10_the_answer_to_a_reset_comes_once_the_disk_knows(void **state)
{
	static const char boom[] = ",\"params\":{\"axis\":\"boom\"}";

	(void)state;
	assert_false(latched_after_reset("", TD_CAUSE_RESET_DONE));
	assert_true(latched_after_reset("", TD_CAUSE_STILL_THERE));
	assert_true(latched_after_reset("", TD_CAUSE_NOTHING_TO_RESET));
	assert_true(latched_after_reset(boom, TD_CAUSE_RESET_DONE));
}

/* The first notes may be older than what the file told the mover. */
static void test_R10_off_is_not_written_before_the_kept_latch_was_seen_on(void **state)
{
	struct rig rig;

	(void)state;
	rig_prepare(&rig);
	save(&rig, true);
	rig_start(&rig, true);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	note_latch(&rig, 0, keeper);
	note_latch(&rig, 0, keeper);
	assert_true(on_disk(&rig));
	note_latch(&rig, TD_LATCH_KEPT, keeper);
	assert_true(on_disk(&rig));
	note_latch(&rig, 0, keeper);
	assert_false(on_disk(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R10_a_damaged_file_is_mended_once_the_latch_is_on(void **state)
{
	struct rig rig;
	char path[128];

	(void)state;
	rig_prepare(&rig);
	(void)snprintf(path, sizeof(path), "%s/" TD_STATE_FILE, rig.dir);
	FILE *file = fopen(path, "w");
	assert_non_null(file);
	(void)fputs("rubbish", file);
	(void)fclose(file);
	rig_start(&rig, true);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	note_latch(&rig, TD_LATCH_KEPT, keeper);
	assert_true(on_disk(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R10_a_latch_that_cannot_be_saved_is_told_logged_and_tried_again(void **state)
{
	struct rig rig;
	char in_the_way[128];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	(void)snprintf(in_the_way, sizeof(in_the_way), "%s/" TD_STATE_FILE ".new", rig.dir);
	assert_int_equal(mkdir(in_the_way, 0700), 0);
	rig_send(keeper, latch);
	rig_answer(&rig, rig_order(rig.urgent).tag, TD_CAUSE_LATCH_ASKED);
	json_t *answer = rig_receive(keeper);
	const json_t *result = json_object_get(answer, "result");
	const char *fault = json_string_value(json_object_get(result, "fault"));

	assert_string_equal(rig_outcome(answer), "latch-asked");
	assert_true(json_is_false(json_object_get(result, "kept")));
	assert_non_null(fault);
	assert_non_null(strstr(fault, "not kept over a restart"));
	json_decref(answer);
	char *log = rig_log(&rig);
	assert_non_null(strstr(log, "<3>"));
	assert_non_null(strstr(log, "not kept over a restart"));
	free(log);
	assert_int_equal(rmdir(in_the_way), 0);
	for (int i = 0; i < 300 && !on_disk(&rig); i++)
		usleep(10000);
	assert_true(on_disk(&rig));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_R10_the_answer_to_a_latch_comes_once_it_is_on_the_disk),
		cmocka_unit_test(test_R10_a_latch_from_the_input_is_kept_and_a_reset_clears_it),
		cmocka_unit_test(test_R10_the_answer_to_a_reset_comes_once_the_disk_knows),
		cmocka_unit_test(test_R10_off_is_not_written_before_the_kept_latch_was_seen_on),
		cmocka_unit_test(test_R10_a_damaged_file_is_mended_once_the_latch_is_on),
		cmocka_unit_test(test_R10_a_latch_that_cannot_be_saved_is_told_logged_and_tried_again),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
