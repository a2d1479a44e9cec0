/* SPDX-License-Identifier: MIT */
/* R14: why the machine is not armed, as status, the log of refusals and the client's page tell it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/client/draw.h"
#include "tests/support/front_rig.h"

static void add(struct td_sentences *sentences, const char *text)
{
	(void)snprintf(sentences->sentence[sentences->count++].text, TD_ERROR_MAX, "%s", text);
}

/* A front that was told these, has seen the whole machine, and has one visitor. */
static struct rig_client *start(struct rig *rig, bool armed)
{
	struct td_note notes[] = {rig_machine_note(armed, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
				  rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	rig_start(rig, false);
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(rig, &notes[i]);
	return rig_connect(rig, TD_ROLE_VISITOR);
}

static void expect_list(const json_t *status, const char *member, const struct td_sentences *wanted)
{
	const json_t *list = json_object_get(status, member);

	assert_true(json_is_array(list));
	assert_int_equal(json_array_size(list), wanted->count);
	for (unsigned i = 0; i < wanted->count; i++)
		assert_string_equal(json_string_value(json_array_get(list, i)), wanted->sentence[i].text);
}

static void r14_status_tells_every_reason_and_what_was_accepted(void **state)
{
	struct rig rig;

	(void)state;
	rig_prepare(&rig);
	add(&rig.arming.why_not, "the greenhouse door is open; shut it");
	add(&rig.arming.why_not, "the \"mast\" is not up; raise it");
	add(&rig.arming.accepted, "the vent is on a risky line; accepted by accept_risky_line = yes");
	struct rig_client *visitor = start(&rig, false);
	json_t *answer = rig_call(visitor, "status", "", 1);
	const json_t *status = json_object_get(answer, "result");

	assert_true(json_is_false(json_object_get(status, "armed")));
	expect_list(status, "why_not", &rig.arming.why_not);
	expect_list(status, "accepted", &rig.arming.accepted);
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void r14_of_an_armed_machine_both_lists_are_empty(void **state)
{
	struct rig rig;

	(void)state;
	rig_prepare(&rig);
	struct rig_client *visitor = start(&rig, true);
	json_t *answer = rig_call(visitor, "status", "", 1);

	expect_list(json_object_get(answer, "result"), "why_not", &rig.arming.why_not);
	expect_list(json_object_get(answer, "result"), "accepted", &rig.arming.accepted);
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* As many reasons as there can be, as long as they can be: the visitor is behind in reading by no more than
 * is allowed, and gets them all. */
static void r14_the_most_and_longest_reasons_reach_the_client(void **state)
{
	struct rig rig;
	char longest[TD_ERROR_MAX];

	(void)state;
	rig_prepare(&rig);
	memset(longest, 'x', sizeof(longest) - 1);
	longest[sizeof(longest) - 1] = '\0';
	while (rig.arming.why_not.count < TD_ARMING_MAX)
		add(&rig.arming.why_not, longest);
	while (rig.arming.accepted.count < TD_ARMING_MAX)
		add(&rig.arming.accepted, longest);
	struct rig_client *visitor = start(&rig, false);
	json_t *answer = rig_call(visitor, "status", "", 1);

	expect_list(json_object_get(answer, "result"), "why_not", &rig.arming.why_not);
	expect_list(json_object_get(answer, "result"), "accepted", &rig.arming.accepted);
	json_decref(answer);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- the client -------------------------------------------------------------------------------------- */

/* The page as text; free() it. NULL: the answer is not one of this protocol. */
static char *draw(const char *armed, const char *members)
{
	char text[1024];
	struct td_view view;
	char *page = NULL;
	size_t length = 0;

	(void)snprintf(
		text, sizeof(text),
		"{\"machine\":\"glasshouse cart\",\"armed\":%s,\"latch\":[],\"outputs\":[],\"axes\":[],"
		"\"switches\":[]%s}",
		armed, members);
	json_t *status = json_loads(text, 0, NULL);
	assert_non_null(status);
	if (td_view_read(status, NULL, &view, NULL) != 0) {
		json_decref(status);
		return NULL;
	}
	struct td_pen pen = {.out = open_memstream(&page, &length), .width = 80, .utf8 = false};

	assert_non_null(pen.out);
	td_draw_status(&pen, &view);
	assert_int_equal(fclose(pen.out), 0);
	json_decref(status);
	return page;
}

static void r14_the_page_shows_each_reason(void **state)
{
	char *page =
		draw("false", ",\"why_not\":[\"the greenhouse door is open; shut it\",\"the mast is not up; "
			      "raise it\"],\"accepted\":[\"the vent is on a risky line\"]");

	(void)state;
	assert_non_null(page);
	assert_non_null(strstr(page, "NOT ARMED\n"));
	assert_non_null(strstr(page, "\n ! not armed: the greenhouse door is open; shut it (R14)\n"));
	assert_non_null(strstr(page, "\n ! not armed: the mast is not up; raise it (R14)\n"));
	assert_non_null(strstr(page, "\n ! risk accepted: the vent is on a risky line (R14)\n"));
	assert_null(strstr(page, "the machine is not armed"));
	free(page);
}

static void r14_an_accepted_risk_shows_on_an_armed_machine(void **state)
{
	char *page = draw("true", ",\"why_not\":[],\"accepted\":[\"the vent is on a risky line\"]");

	(void)state;
	assert_non_null(page);
	assert_null(strstr(page, "NOT ARMED"));
	assert_non_null(strstr(page, "risk accepted: the vent is on a risky line"));
	free(page);
}

static void r14_a_long_reason_is_folded_whole(void **state)
{
	static const char *const members = ",\"why_not\":[\"outputs outlive this process "
					   "(module/pinctrl/parameters is Y), so a motor may run "
					   "on after a crash; put dtparam=strict_gpiod into config.txt, "
					   "start the computer anew, and fit "
					   "pull-downs at the bridge inputs\"]";
	char *page = draw("false", members);

	(void)state;
	assert_non_null(page);
	assert_non_null(strstr(page, "dtparam=strict_gpiod"));
	assert_non_null(strstr(page, "inputs (R14)\n"));
	free(page);
}

static void an_answer_with_other_things_than_sentences_is_refused(void **state)
{
	static const char *const members[] = {",\"why_not\":{}", ",\"why_not\":\"x\"", ",\"why_not\":[1]",
					      ",\"accepted\":[null]", ",\"accepted\":[\"a\",[]]"};

	(void)state;
	for (size_t i = 0; i < sizeof(members) / sizeof(members[0]); i++)
		assert_null(draw("false", members[i]));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r14_status_tells_every_reason_and_what_was_accepted),
		cmocka_unit_test(r14_of_an_armed_machine_both_lists_are_empty),
		cmocka_unit_test(r14_the_most_and_longest_reasons_reach_the_client),
		cmocka_unit_test(r14_the_page_shows_each_reason),
		cmocka_unit_test(r14_an_accepted_risk_shows_on_an_armed_machine),
		cmocka_unit_test(r14_a_long_reason_is_folded_whole),
		cmocka_unit_test(an_answer_with_other_things_than_sentences_is_refused),
	};

	return cmocka_run_group_tests_name("arming as it is told", tests, NULL, NULL);
}
