/* SPDX-License-Identifier: MIT */
/* Many clients at a time: as many as the configuration says, and none that waits for the others. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/front_rig.h"

enum { CROWD = 100 };

static void test_visitors_are_as_many_as_the_configuration_says(void **state)
{
	struct rig rig;
	struct rig_client *visitor[CROWD];

	(void)state;
	rig_prepare(&rig);
	rig.config.visitors_max = CROWD;
	rig_start(&rig, false);
	for (int i = 0; i < CROWD; i++) {
		visitor[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor[i]);
	}
	struct rig_client *late = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_receive(late);

	assert_int_equal(rig_code(answer), -32003);
	assert_non_null(strstr(rig_sentence(answer), "100 connections"));
	json_decref(answer);
	assert_true(rig_closed(late));
	rig_close(late);
	for (int i = 0; i < CROWD; i++)
		rig_close(visitor[i]);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_visitors_are_as_many_as_the_configuration_says),
	};

	return cmocka_run_group_tests_name("front_load", tests, NULL, NULL);
}
