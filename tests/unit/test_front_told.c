/* SPDX-License-Identifier: MIT */
/* In which order a follower is told what comes all at one time. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/front_rig.h"

enum { FOLLOWERS = 20, NEWS = 40 };

static void what_came_of_a_call_is_told_before_its_answer(void **state)
{
	static const char *const told[] = {"news", "axis"};
	struct rig rig;
	struct td_note news = rig_news_note(TD_CAUSE_STARTED, RIG_BOOM, RIG_RAISE, 1, 1);
	struct td_note axis = rig_axis_note(RIG_BOOM, TD_AXIS_RUN);

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *one = rig_connect(&rig, TD_ROLE_VISITOR);

	json_decref(rig_call(one, "follow", "", 1));
	rig_send(one, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"stop\"}");
	struct td_order order = rig_order(rig.urgent);

	assert_int_equal(kill(rig.pid, SIGSTOP), 0);
	rig_note(&rig, &news);
	rig_note(&rig, &axis);
	rig_answer(&rig, order.tag, TD_CAUSE_STOPPED);
	assert_int_equal(kill(rig.pid, SIGCONT), 0);
	for (size_t i = 0; i < 2; i++) {
		json_t *line = rig_receive(one);

		assert_string_equal(json_string_value(json_object_get(line, "method")), told[i]);
		json_decref(line);
	}
	json_t *answer = rig_receive(one);

	assert_int_equal(rig_id(answer), 2);
	json_decref(answer);
	rig_close(one);
	assert_int_equal(rig_end(&rig), 0);
}

static void every_follower_hears_every_news_in_order(void **state)
{
	struct rig rig;
	struct rig_client *follower[FOLLOWERS];
	struct td_note news = rig_news_note(TD_CAUSE_TRAVEL_LIMIT, RIG_BOOM, RIG_RAISE, 0, 0);

	(void)state;
	rig_start_ready(&rig);
	for (int i = 0; i < FOLLOWERS; i++) {
		follower[i] = rig_connect(&rig, i % 2 ? TD_ROLE_KEEPER : TD_ROLE_VISITOR);
		json_decref(rig_call(follower[i], "follow", "", 1));
	}
	for (int n = 0; n < NEWS; n++)
		rig_note(&rig, &news);
	for (int i = 0; i < FOLLOWERS; i++) {
		for (int n = 1; n <= NEWS; n++) {
			json_t *line = rig_receive(follower[i]);
			const json_t *params = json_object_get(line, "params");

			assert_int_equal(json_integer_value(json_object_get(params, "n")), n);
			json_decref(line);
		}
		rig_close(follower[i]);
	}
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_came_of_a_call_is_told_before_its_answer),
		cmocka_unit_test(every_follower_hears_every_news_in_order),
	};

	return cmocka_run_group_tests_name("front_told", tests, NULL, NULL);
}
