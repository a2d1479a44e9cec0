/* SPDX-License-Identifier: MIT */
/* Traces of the daemon's own as drawings: what is shown of them, and the window around the last trip. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "sim/draw_trace.h"
#include "sim/draw_trip.h"
#include "sim/verbs.h"
#include "tests/support/retold.h"

static struct retold told;
static char path[] = "/tmp/tripdog-draw-XXXXXX";
static char svg_path[] = "/tmp/tripdog-draw-XXXXXX";

/* Half a minute of a cart: a pulse on a switch, a jam after 20 s, entries that are lost, somebody turned away. */
static int make(void **state)
{
	struct td_entry refused = {.kind = TD_ENTRY_REFUSED};

	(void)state;
	(void)close(mkstemp(path));
	(void)close(mkstemp(svg_path));
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, path, "trip");
	retold_run(&told, 17000);
	retold_ask(&told, "boom", "raise");
	retold_run(&told, 120);
	retold_switch(&told, "boom_bottom", false);
	retold_run(&told, 5000);
	retold_drop(&told, "boom");
	refused.at_ns = told.now_ns;
	refused.as.session = (struct td_entry_session){.session = 3, .cause = TD_CAUSE_NOT_ALLOWED};
	assert_int_equal(td_tape_put(told.tape, &refused, &(struct td_error){""}), 0);
	told.number += 41;
	retold_run(&told, 8000);
	retold_record_end(&told);
	return 0;
}

static int unmake(void **state)
{
	(void)state;
	(void)unlink(svg_path);
	return unlink(path);
}

static char *drawn(const struct td_trace_view *view)
{
	struct td_error err = {""};
	char *svg = NULL;
	size_t size = 0;
	FILE *in = fopen(path, "r");
	FILE *out = open_memstream(&svg, &size);

	assert_non_null(in);
	struct td_drawing *drawing = td_drawing_of_trace(in, path, view, &err);
	if (!drawing || td_drawing_write_svg(drawing, out, &err) != 0)
		fail_msg("%s", err.text);
	td_drawing_free(drawing);
	(void)fclose(in);
	(void)fclose(out);
	return svg;
}

static int count(const char *text, const char *part)
{
	int found = 0;

	for (const char *at = strstr(text, part); at; at = strstr(at + 1, part))
		found++;
	return found;
}

static void what_only_a_replay_needs_is_left_out_unless_asked_for(void **state)
{
	const struct td_trace_view view = {.to_ns = TD_NEVER};
	const struct td_trace_view with_all = {.to_ns = TD_NEVER, .all = true};
	char *svg = drawn(&view);
	char *all = drawn(&with_all);
	static const char *const inner[] = {"lease_ns", ">event<", ">clients<", ">latch<", "shift_ns"};

	(void)state;
	for (size_t i = 0; i < sizeof(inner) / sizeof(inner[0]); i++) {
		assert_null(strstr(svg, inner[i]));
		assert_non_null(strstr(all, inner[i]));
	}
	free(svg);
	free(all);
}

static void a_switch_is_one_row_of_level_and_meaning(void **state)
{
	char *svg = drawn(&(struct td_trace_view){.to_ns = TD_NEVER});

	(void)state;
	assert_int_equal(count(svg, ">boom_bottom<"), 1);
	assert_null(strstr(svg, "active_boom_bottom"));
	assert_non_null(strstr(svg, ">switch active<"));
	/* boom_bottom until it was left, vent_shut all the time, and the legend's sample */
	assert_int_equal(count(svg, "url(#td-hatched)"), 3);
	free(svg);
}

/* Somebody held the boom once, and nobody the vent. */
static void a_single_request_is_a_change(void **state)
{
	const struct td_trace_view view = {.to_ns = TD_NEVER, .changed_only = true};
	char *svg = drawn(&view);

	(void)state;
	assert_int_equal(count(svg, ">request<"), 1);
	assert_null(strstr(svg, ">vent<"));
	free(svg);
}

static void moments_have_their_time_of_day(void **state)
{
	const struct td_trace_view view = {.to_ns = TD_NEVER};
	const struct td_trace_view with_words = {.to_ns = TD_NEVER, .description = "My own words."};
	char *svg = drawn(&view);
	char *own = drawn(&with_words);

	(void)state;
	assert_non_null(
		strstr(svg, "Time 0 is 2026-11-25 02:13:45.000 UTC; times of day below are UTC, too."));
	assert_non_null(strstr(svg, "19.600 s \xc2\xb7 02:14:04.600<"));
	assert_non_null(strstr(own, "My own words."));
	assert_null(strstr(own, "Time 0 is"));
	free(svg);
	free(own);
}

static void lost_entries_and_clients_turned_away_are_moments(void **state)
{
	char *svg = drawn(&(struct td_trace_view){.to_ns = TD_NEVER});

	(void)state;
	assert_non_null(strstr(svg, "41 entries are missing in the recording before this"));
	assert_non_null(strstr(svg, "clients: this role may not do that (not-allowed, R11)"));
	free(svg);
}

static void the_last_trip_is_found(void **state)
{
	struct td_error err = {""};
	td_ns at_ns = 0;
	FILE *in = fopen(path, "r");

	(void)state;
	assert_int_equal(td_draw_last_trip(in, "x", &at_ns, &err), 0);
	assert_true(at_ns - TD_MS(19600) < TD_US(1) && at_ns >= TD_MS(19600));
	(void)fclose(in);
}

static char *read_back(void)
{
	static char text[200000];
	FILE *in = fopen(svg_path, "r");

	assert_non_null(in);
	text[fread(text, 1, sizeof(text) - 1, in)] = '\0';
	(void)fclose(in);
	return text;
}

static void trip_draws_ten_seconds_before_it_and_three_after(void **state)
{
	char words[][12] = {"draw", "--trip", "-o"};
	char *args[] = {words[0], words[1], path, words[2], svg_path, NULL};

	(void)state;
	assert_int_equal(td_verb_draw(5, args), TD_VERB_OK);
	assert_non_null(strstr(read_back(), "rows from 9.600 s to 22.600 s and "));
}

static void trip_and_a_window_of_ones_own_exclude_each_other(void **state)
{
	char words[][12] = {"draw", "--trip", "--from", "2s"};
	char *args[] = {words[0], words[1], words[2], words[3], path, NULL};

	(void)state;
	assert_int_equal(td_verb_draw(5, args), TD_VERB_USAGE);
}

static void a_trace_without_a_trip_says_so(void **state)
{
	struct td_error err = {""};
	td_ns at_ns = 0;

	(void)state;
	retold_open(&told, TD_ACCOUNT_TRIP, true);
	retold_record(&told, svg_path, "run");
	retold_run(&told, 500);
	retold_record_end(&told);
	FILE *in = fopen(svg_path, "r");
	assert_int_equal(td_draw_last_trip(in, "x.vcd", &at_ns, &err), -1);
	assert_non_null(strstr(err.text, "x.vcd: no trip is recorded in it; leave out --trip"));
	(void)fclose(in);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_only_a_replay_needs_is_left_out_unless_asked_for),
		cmocka_unit_test(a_switch_is_one_row_of_level_and_meaning),
		cmocka_unit_test(a_single_request_is_a_change),
		cmocka_unit_test(moments_have_their_time_of_day),
		cmocka_unit_test(lost_entries_and_clients_turned_away_are_moments),
		cmocka_unit_test(the_last_trip_is_found),
		cmocka_unit_test(trip_draws_ten_seconds_before_it_and_three_after),
		cmocka_unit_test(trip_and_a_window_of_ones_own_exclude_each_other),
		cmocka_unit_test(a_trace_without_a_trip_says_so),
	};

	return cmocka_run_group_tests(tests, make, unmake);
}
