/* SPDX-License-Identifier: MIT */
/* Hold numbers as the front sees them (R11). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/front_rig.h"

static void ask(struct rig_client *client, const char *axis, unsigned int hold, unsigned int seq, int id)
{
	char line[200];

	(void)snprintf(
		line, sizeof(line),
		"{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"request\",\"params\":{\"axis\":\"%s\",\"way\":"
		"\"%s\","
		"\"hold\":%u,\"seq\":%u,\"token\":\"@\"}}",
		id, axis, strcmp(axis, "boom") == 0 ? "raise" : "forward", hold, seq);
	rig_send(client, line);
}

static bool answer_of(struct rig_client *client, int id, const char *outcome)
{
	for (;;) {
		json_t *answer = rig_receive(client);
		bool found = rig_id(answer) == id;
		bool right = found && strcmp(rig_outcome(answer), outcome) == 0;

		if (found && !right)
			print_message("# %s instead of %s\n", rig_outcome(answer), outcome);
		json_decref(answer);
		if (found)
			return right;
	}
}

/* Whatever became of the first hold, and of whatever axis: a start that is said twice starts once. */
static void test_R11_a_hold_number_is_used_once_in_a_connection(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_VISITOR);

	ask(client, "boom", 3, 0, 1);
	rig_answer(&rig, rig_order(rig.orders).tag, TD_CAUSE_STARTED);
	assert_true(answer_of(client, 1, "started"));
	ask(client, "boom", 3, 0, 2);
	assert_true(answer_of(client, 2, "hold-ended"));
	ask(client, "drive", 2, 0, 3);
	assert_true(answer_of(client, 3, "hold-ended"));
	ask(other, "drive", 2, 0, 4); /* another connection counts for itself */
	assert_int_equal(rig_order(rig.orders).hold, 2);
	ask(client, "boom", 3, 1, 5); /* a renewal is no start */
	assert_int_equal(rig_order(rig.orders).seq, 1);
	rig_close(other);
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_R11_a_hold_number_is_used_once_in_a_connection),
	};

	return cmocka_run_group_tests_name("front_hold", tests, NULL, NULL);
}
