/* SPDX-License-Identifier: MIT */
/* Traces that another build of the program made: the bytes of its core mean nothing here, its portable record does. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/replay_case.h"
#include "trace/tape_parts.h"

static const char begin[] = "$comment ";

/* The trace with another tag of the build in its head. The caller's to free. */
static char *of_another_build(const struct taped *taped, size_t *length)
{
	static struct td_tape_opening opening;
	static char head[TD_TAPE_HEAD_TEXT_MAX];
	static char text[TD_TAPE_HEAD_TEXT_MAX];
	struct td_error err = {""};
	const char *from = strstr(taped->trace, begin) + strlen(begin);
	const char *to = strstr(from, " $end");
	char *trace = NULL;

	assert_true((size_t)(to - from) < sizeof(head));
	memcpy(head, from, (size_t)(to - from));
	if (td_tape_head_read(head, &opening, &err) != 0)
		fail_msg("%s", err.text);
	(void)snprintf(opening.build, sizeof(opening.build), "0.0.1 another");
	td_tape_head_text(text, &opening);
	FILE *out = open_memstream(&trace, length);

	fprintf(out, "%.*s%s%s", (int)(from - taped->trace), taped->trace, text, to);
	fclose(out);
	return trace;
}

static void is_compared_from_the_first_rest_on(void **state)
{
	const char *name = "R3 the dead time lies between opposite ways";
	struct taped taped;
	size_t length = 0;

	(void)state;
	assert_int_equal(tape_scenario(replay_scenario(name), &taped), 0);
	char *trace = of_another_build(&taped, &length);
	struct replayed replayed = replay_bytes(trace, length, NULL, false);

	if (replayed.verdict != TD_REPLAY_SAME ||
	    !strstr(replayed.told, "record, for the bytes of the core are another build's") ||
	    !strstr(replayed.told, "Compared from +1.000000 s on"))
		fail_msg("%s%s", replayed.told, replayed.err.text);
	free(replayed.told);
	free(trace);
	taped_free(&taped);
}

/* It ends while the axes still count as moving after the start. */
static void never_at_rest_it_proves_nothing_and_says_so(void **state)
{
	struct taped taped;
	size_t length = 0;

	(void)state;
	assert_int_equal(
		tape_scenario(replay_scenario("R3 the dead time lies between opposite ways"), &taped), 0);
	char *trace = of_another_build(&taped, &length);
	char *end = strstr(trace, "\n#300000000\n");

	assert_non_null(end);
	struct replayed replayed = replay_bytes(trace, (size_t)(end - trace) + 1, NULL, false);

	if (replayed.verdict != TD_REPLAY_UNUSABLE || !strstr(replayed.told, "Nothing could be compared") ||
	    !strstr(replayed.err.text, "no step could be compared; take a longer trace"))
		fail_msg("%s%s", replayed.told, replayed.err.text);
	free(replayed.told);
	free(trace);
	taped_free(&taped);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(is_compared_from_the_first_rest_on),
		cmocka_unit_test(never_at_rest_it_proves_nothing_and_says_so),
	};

	return cmocka_run_group_tests_name("build", tests, NULL, NULL);
}
