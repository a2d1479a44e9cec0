/* SPDX-License-Identifier: MIT */
/*
 * A trace against a core with one number of one rule changed: the first difference is where the trace's story leaves
 * that number behind, and it is explained.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/replay_case.h"

enum { SAYS_MAX = 6 };

static struct row {
	const char *scenario;
	const char *section;
	const char *key;
	const char *value; /* NULL: the line is gone */
	const char *says[SAYS_MAX];
} rows[] = {
	{"R2 the end switch of the way stops it after the confirm time",
	 "[switch top]",
	 "confirm_ms",
	 "20",
	 {"+2.502000 s, time passed",
	  "the trace:   levels-seen; end-reached boom; outputs none; boom: coast; top: active",
	  "this core:   nothing; outputs still boom.raise",
	  "R2   end-reached, in the trace only: the end switch of this way is active"}},
	{"R2 release bounce does not free the way early",
	 "[switch top]",
	 "clear_ms",
	 "10",
	 {"+1.010000 s, when a time of this core was over", "R2   levels-seen, of this core only"}},
	{"R3 the dead time lies between opposite ways",
	 "[axis drive]",
	 "dead_time_ms",
	 "500",
	 {"+1.900000 s, time passed", "the trace:   started drive; outputs drive.back; drive: run",
	  "R3   queued, before: the request waits until dead time or rest has passed"}},
	{"R3 the dead time lies between opposite ways",
	 "[axis drive]",
	 "dead_time_ms",
	 "350",
	 {"+1.850000 s, when a time of this core was over", "this core:   started drive; outputs drive.back",
	  "its next step is at +1.899000 s", "R3   queued, before"}},
	{"R3 the rest time lies between starts of the same way",
	 "[axis drive]",
	 "rest_ms",
	 "250",
	 {"+1.750000 s, when a time of this core was over", "this core:   started drive; outputs drive.ahead",
	  "R3   queued, before"}},
	{"R4 an end not reached in the learned time with margin is a trip",
	 "[way boom raise]",
	 "margin_percent",
	 "113",
	 {"+3.260000 s, when a time of this core was over", "this core:   travel-limit boom; outputs none",
	  "its next step is at +3.300000 s",
	  "R4   travel-limit, of this core only: the end was not reached in the learned time"}},
	{"R4 an end not reached in the learned time with margin is a trip",
	 "[way boom raise]",
	 "margin_percent",
	 "150",
	 {"+3.600000 s, time passed", "the trace:   travel-limit boom; outputs none; boom: tripped",
	  "this core:   nothing; outputs still boom.raise; boom: run",
	  "R4   travel-limit, in the trace only"}},
	{"R5 an end switch that does not clear after driving away is a trip",
	 "[way boom raise]",
	 "leave_ms",
	 "333",
	 {"+1.333000 s, when", "this core:   leave-limit boom; outputs none",
	  "R5   leave-limit, of this core only"}},
	{"R6 an axis without end switches is cut after its stroke",
	 "[way wheel left]",
	 "hold_limit_ms",
	 "410",
	 {"+1.410000 s, when", "this core:   hold-limit wheel; outputs none",
	  "R6   hold-limit, of this core only"}},
	{"R8 an end reached after half the learned time is an end",
	 "[way boom raise]",
	 "early_percent",
	 "80",
	 {"+2.000000 s, time passed", "the trace:   levels-seen; end-reached boom",
	  "this core:   levels-seen; end-too-early boom", "R8   end-too-early, of this core only"}},
	{"R8 as many changes as are allowed are none too many",
	 "[switch top]",
	 "chatter_changes",
	 "5",
	 {"+1.750000 s, top goes high (active)",
	  "this core:   contact-chatters; chatter boom; outputs none; boom: tripped",
	  "R8   chatter, of this core only"}},
	{"R9 a broken wire of a normally-closed switch stops the way",
	 "[switch top]",
	 "contact",
	 "normally-open",
	 {"step 1. Before it:\n    nothing",
	  "top: clear\n    this core:   both-ends boom; boom: tripped; top: active",
	  "(R9: and at which level)", "R8   both-ends"}},
	{"R10 the emergency-stop input latches at once",
	 "[switch stop]",
	 "confirm_ms",
	 "15",
	 {"+1.100000 s, stop goes high (active)", "latched stop on, by the input",
	  "this core:   nothing; outputs still drive.ahead; drive: run; stop: clear; latched stop off",
	  "R10  latch-input, in the trace only"}},
	{"R11 visitors' resets are counted over an hour, whichever axis, and the keeper's are not",
	 "[machine]",
	 "visitor_resets_per_hour",
	 "1",
	 {"+14.000000 s, reset of vent by session 1, visitor", "the trace:   reset-done",
	  "this core:   resets-spent",
	  "R11  resets-spent, answered by this core only: visitors have made all the resets"}},
	{"R12 the budget of a minute",
	 "[axis drive]",
	 "minute_s",
	 "8",
	 {"+9.000000 s", "this core:   duty-cut drive; outputs none", "R12  duty-cut, of this core only"}},
	{"R13 starts keep a gap",
	 "[machine]",
	 "start_gap_ms",
	 "100",
	 {"+1.300000 s", "this core:   started wheel; outputs wheel.left, drive.ahead",
	  "R13  supply-wait, before"}},
	{"R13 an axis waits until the others leave enough",
	 "[machine]",
	 "supply_ma",
	 "4500",
	 {"+1.100000 s", "this core:   started wheel",
	  "R13  supply-wait, before: the request waits until the supply can bear another start"}},
	{"R17 a way is refused while the other axis moves",
	 "[way boom raise]",
	 "bars",
	 NULL,
	 {"+1.500000 s, session 1 asks for boom raise (hold 2)", "the trace:   barred-start",
	  "this core:   started", "R17  barred-start, in the trace only: another axis forbids this way now"}},
	{"R18 at the limit the other side is free ahead, and this side back",
	 "[twist]",
	 "limit_degrees",
	 "300",
	 {"+10.333330 s, when", "this core:   twist-cut drive; outputs none",
	  "R18  twist-cut, of this core only"}},
	{"M14 ten whole travels are learned, then slower ones are warned of, once",
	 "[way boom raise]",
	 "slower_warn_percent",
	 "0",
	 {"+93.900000 s", "the trace:   levels-seen; way-slower boom; end-reached boom",
	  "way-slower, in the trace only: this way takes longer than it used to"}},
};

static void run(void **state)
{
	const struct row *row = *state;
	struct taped taped;
	static struct td_config config;
	static struct td_config_faults faults;

	assert_int_equal(tape_scenario(replay_scenario(row->scenario), &taped), 0);
	char *text = replay_edit(taped.config_text, row->section, row->key, row->value);

	if (!td_config_read_text(text, strlen(text), "changed", &config, &faults))
		fail_msg("%s", faults.fault[0].text);
	struct replayed same = replay_bytes(taped.trace, taped.length, NULL, false);
	struct replayed other = replay_bytes(taped.trace, taped.length, &config, false);
	bool fine = same.verdict == TD_REPLAY_SAME && other.verdict == TD_REPLAY_DIFFERENT;

	for (int i = 0; i < SAYS_MAX && row->says[i]; i++)
		fine = fine && strstr(other.told, row->says[i]);
	if (!fine)
		fail_msg("%s\n%s%s\n%s%s", row->scenario, same.told, same.err.text, other.told,
			 other.err.text);
	free(same.told);
	free(other.told);
	free(text);
	taped_free(&taped);
}

int main(void)
{
	enum { ROWS = sizeof(rows) / sizeof(rows[0]) };
	static char name[ROWS][160];
	struct CMUnitTest test[ROWS];

	for (int i = 0; i < ROWS; i++) {
		(void)snprintf(name[i], sizeof(name[i]), "%s: but %s %s", rows[i].scenario, rows[i].key,
			       rows[i].value ? rows[i].value : "is gone");
		test[i] = (struct CMUnitTest){name[i], run, NULL, NULL, &rows[i]};
	}
	return _cmocka_run_group_tests("changed", test, ROWS, NULL, NULL);
}
