/* SPDX-License-Identifier: MIT */
/* The parts a drawing is made of: text, time axis, places of number plates. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "sim/draw_place.h"
#include "sim/draw_text.h"
#include "sim/draw_time.h"

/* --- text ----------------------------------------------------------------------------------------- */

#define SHOWN "\xef\xbf\xbd"

/* Predefined entities: XML 1.0, section 4.6; characters allowed: section 2.2. UTF-8: RFC 3629, section 3 and
 * the byte sequences it forbids. */
static const struct {
	const char *text;
	const char *escaped;
	size_t length;
} escapes[] = {
	{"", "", 0},
	{"plain", "plain", 5},
	{"<a & 'b' \"c\">", "&lt;a &amp; &#39;b&#39; &quot;c&quot;&gt;", 13},
	{"\xc2\xb5s \xe2\x82\xac \xf0\x9f\x8c\xb1", "\xc2\xb5s \xe2\x82\xac \xf0\x9f\x8c\xb1", 6},
	{"\x01\x1b\r", SHOWN SHOWN SHOWN, 3},
	{"\ttab\n", "\ttab\n", 5},
	{"\xff\xfe", SHOWN SHOWN, 2},
	{"cut \xe2\x82", "cut " SHOWN SHOWN, 6},
	{"\xc0\xaf", SHOWN SHOWN, 2},                     /* an overlong '/' */
	{"\xed\xa0\x80", SHOWN SHOWN SHOWN, 3},           /* a surrogate */
	{"\xf4\x90\x80\x80", SHOWN SHOWN SHOWN SHOWN, 4}, /* past U+10FFFF */
	{"\xe0\x80\xaf", SHOWN SHOWN SHOWN, 3},
	{"\xef\xbf\xbf", SHOWN SHOWN SHOWN, 3}, /* U+FFFF */
};

static void text_is_escaped_and_mended(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(escapes) / sizeof(escapes[0]); i++) {
		char *made = NULL;
		size_t size = 0;
		FILE *out = open_memstream(&made, &size);

		td_draw_escape(out, escapes[i].text, strlen(escapes[i].text));
		(void)fclose(out);
		assert_string_equal(made, escapes[i].escaped);
		assert_int_equal(td_draw_length(escapes[i].text, strlen(escapes[i].text)), escapes[i].length);
		free(made);
	}
}

static void text_is_cut_between_characters(void **state)
{
	const char *text = "\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac";
	double one = td_draw_width(1, 10);

	(void)state;
	assert_int_equal(td_draw_fit(text, 0, 10), 0);
	assert_int_equal(td_draw_fit(text, one * 2.5, 10), 6);
	assert_int_equal(td_draw_fit(text, one * 100, 10), 9);
}

static void lines_break_between_words_and_lose_nothing(void **state)
{
	const char *text = "the end switch did not clear after averyveryveryverylongword of a driver";
	double width = td_draw_width(12, 10);
	char joined[128] = "";
	int lines = 0;

	(void)state;
	for (const char *rest = text; *rest; lines++) {
		const char *line = rest;
		size_t bytes = td_draw_line(line, width, 10, &rest);

		assert_true(bytes > 0 && bytes <= 12);
		assert_true(rest > line);
		strncat(joined, line, (size_t)(rest - line));
	}
	assert_string_equal(joined, text);
	assert_int_equal(lines, 8);
}

static void a_line_too_narrow_for_anything_still_moves_on(void **state)
{
	const char *rest = "abc";

	(void)state;
	assert_int_equal(td_draw_line(rest, 0, 10, &rest), 1);
	assert_string_equal(rest, "bc");
}

/* --- time ----------------------------------------------------------------------------------------- */

static const struct {
	td_ns span_ns;
	td_ns step_ns;
	const char *unit;
	int decimals;
	int minor;
} axes[] = {
	{7, 1, "nanoseconds", 0, 1},
	{900, 100, "nanoseconds", 0, 5},
	{TD_US(1), 100, "microseconds", 1, 5},
	{TD_US(25), TD_US(5), "microseconds", 0, 5},
	{TD_MS(2), TD_US(200), "milliseconds", 1, 4},
	{TD_MS(999), TD_MS(100), "milliseconds", 0, 5},
	{TD_S(1), TD_MS(100), "seconds", 1, 5},
	{TD_S(7), TD_S(1), "seconds", 0, 5},
	{TD_S(12), TD_S(2), "seconds", 0, 4},
	{TD_S(59), TD_S(10), "seconds", 0, 5},
	{TD_S(599), TD_S(100), "seconds", 0, 5},
	{TD_S(600), TD_S(60), "minutes", 0, 5},
	{TD_S(3600), TD_S(600), "minutes", 0, 5},
	{TD_S(36000), TD_S(3600), "hours", 0, 5},
	{TD_S(86400), TD_S(18000), "hours", 0, 5},
};

static void ticks_are_1_2_or_5_times_a_power_of_ten_of_a_sensible_unit(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(axes) / sizeof(axes[0]); i++) {
		struct td_draw_axis axis = td_draw_axis(axes[i].span_ns, 10);

		assert_int_equal(axis.step_ns, axes[i].step_ns);
		assert_string_equal(axis.unit_long, axes[i].unit);
		assert_int_equal(axis.decimals, axes[i].decimals);
		assert_int_equal(axis.minor, axes[i].minor);
	}
}

static void no_window_has_too_many_or_too_few_ticks(void **state)
{
	int fewest = 100;
	int windows = 0;

	(void)state;
	for (td_ns span_ns = 1; span_ns < TD_S(1000000); span_ns += span_ns / 7 + 1) {
		struct td_draw_axis axis = td_draw_axis(span_ns, 10);
		int ticks = (int)(span_ns / axis.step_ns);

		assert_true(ticks <= 10);
		if (span_ns >= 10 && ticks < fewest)
			fewest = ticks;
		assert_true(axis.step_ns % axis.minor == 0);
		windows++;
	}
	assert_true(fewest >= 4);
	print_message("# measured: %d windows, %d to 10 ticks\n", windows, fewest);
}

static const struct {
	td_ns at_ns;
	td_ns unit_ns;
	int decimals;
	const char *text;
} times[] = {
	{0, TD_S(1), 0, "0"},
	{TD_MS(1500), TD_S(1), 1, "1.5"},
	{TD_MS(50), TD_S(1), 3, "0.050"},
	{TD_MS(1999), TD_S(1), 1, "2.0"},
	{1, TD_S(1), 9, "0.000000001"},
	{TD_S(9223372036), 1, 0, "9223372036000000000"},
	{TD_S(90), TD_S(60), 1, "1.5"},
};

static void times_are_written_with_their_decimals(void **state)
{
	char text[TD_DRAW_TIME_MAX];

	(void)state;
	for (size_t i = 0; i < sizeof(times) / sizeof(times[0]); i++) {
		td_draw_time(times[i].at_ns, times[i].unit_ns, times[i].decimals, text);
		assert_string_equal(text, times[i].text);
	}
}

static void lists_show_seconds_where_the_axis_shows_minutes(void **state)
{
	char text[TD_DRAW_TIME_MAX];
	struct td_draw_axis axis = td_draw_axis(TD_S(3600), 10);

	(void)state;
	td_draw_moment(&axis, TD_MS(754120), text);
	assert_string_equal(text, "754.120 s");
	axis = td_draw_axis(TD_MS(20), 10);
	td_draw_moment(&axis, TD_MS(3) + 4567, text);
	assert_string_equal(text, "3.005 ms");
	axis = td_draw_axis(400, 10);
	td_draw_moment(&axis, 123, text);
	assert_string_equal(text, "123 ns");
}

static const struct {
	const char *text;
	td_ns at_ns; /* -1 = refused */
} typed[] = {
	{"0s", 0},
	{"2s", TD_S(2)},
	{"1.25s", TD_MS(1250)},
	{"300ms", TD_MS(300)},
	{"15us", TD_US(15)},
	{"40ns", 40},
	{"1.5min", TD_S(90)},
	{"1.50000000000s", TD_MS(1500)},
	{"9223372034s", TD_S(9223372034)},
	{"0.000000001s", 1},
	{"0.0000000001s", -1},
	{"1.5ns", -1},
	{"99999999999s", -1},
	{"99999999999999999999ns", -1},
	{"", -1},
	{"2", -1},
	{"s", -1},
	{".5s", -1},
	{"1.s", -1},
	{"1.2.3s", -1},
	{"-1s", -1},
	{"+1s", -1},
	{"1 s", -1},
	{"1sec", -1},
	{"1e3ms", -1},
	{"1S", -1},
};

static void times_are_read_with_their_unit_or_refused(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(typed) / sizeof(typed[0]); i++) {
		td_ns at_ns = -1;
		bool good = td_draw_parse_time(typed[i].text, &at_ns);

		if (good != (typed[i].at_ns >= 0) || at_ns != typed[i].at_ns)
			fail_msg("\"%s\" was read as %lld", typed[i].text, (long long)at_ns);
	}
}

/* --- plates --------------------------------------------------------------------------------------- */

enum { MARKS = 300 };

static void assert_well_placed(const double *x, size_t marks, double from, double to)
{
	struct td_plate plate[MARKS];
	size_t plates = td_draw_place(x, marks, from, to, 3, plate);
	size_t next = 0;

	for (size_t i = 0; i < plates; i++) {
		assert_int_equal(plate[i].first, next);
		assert_true(plate[i].last >= plate[i].first);
		next = plate[i].last + 1;
		assert_true(plate[i].place - plate[i].width / 2 > from - 0.01);
		assert_true(plate[i].place + plate[i].width / 2 < to + 0.01);
		if (i > 0)
			assert_true(plate[i].place - plate[i].width / 2 >=
				    plate[i - 1].place + plate[i - 1].width / 2 + 3 - 0.01);
	}
	assert_int_equal(next, marks);
}

static void plates_never_overlap_and_never_leave_the_sheet(void **state)
{
	unsigned int seed = 7;
	double x[MARKS];

	(void)state;
	for (int run = 0; run < 400; run++) {
		size_t marks = (size_t)run * 3 / 4;
		double at = 100;

		for (size_t i = 0; i < marks; i++) {
			seed = seed * 1103515245U + 12345U;
			at += run % 3 == 0 ? 0 : (double)(seed >> 16 & 0xff) / (run % 3 == 1 ? 2000 : 100);
			x[i] = at > 980 ? 980 : at;
		}
		assert_well_placed(x, marks, 92, 988);
	}
	print_message("# measured: 400 sets of up to %d marks placed\n", MARKS);
}

static void a_plate_with_room_stands_at_its_moment(void **state)
{
	const double x[] = {100, 300, 500};
	struct td_plate plate[3];

	(void)state;
	assert_int_equal(td_draw_place(x, 3, 0, 1000, 3, plate), 3);
	for (int i = 0; i < 3; i++)
		assert_true(plate[i].place > x[i] - 0.01 && plate[i].place < x[i] + 0.01);
}

static void plates_of_one_moment_stand_evenly_around_it(void **state)
{
	const double x[] = {500, 500, 500};
	struct td_plate plate[3];

	(void)state;
	assert_int_equal(td_draw_place(x, 3, 0, 1000, 3, plate), 3);
	assert_true(plate[1].place > 499.9 && plate[1].place < 500.1);
	assert_true(plate[0].place + plate[2].place > 999.9 && plate[0].place + plate[2].place < 1000.1);
}

static void plates_at_the_edges_are_pushed_inwards(void **state)
{
	const double x[] = {0, 0, 1000, 1000};

	(void)state;
	assert_well_placed(x, 4, 0, 1000);
}

static void too_many_plates_are_joined_where_they_are_closest(void **state)
{
	const double x[] = {10, 50, 51, 90};
	struct td_plate plate[4];

	(void)state;
	assert_int_equal(td_draw_place(x, 4, 0, 78, 3, plate), 3);
	assert_int_equal(plate[1].first, 1);
	assert_int_equal(plate[1].last, 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(text_is_escaped_and_mended),
		cmocka_unit_test(text_is_cut_between_characters),
		cmocka_unit_test(lines_break_between_words_and_lose_nothing),
		cmocka_unit_test(a_line_too_narrow_for_anything_still_moves_on),
		cmocka_unit_test(ticks_are_1_2_or_5_times_a_power_of_ten_of_a_sensible_unit),
		cmocka_unit_test(no_window_has_too_many_or_too_few_ticks),
		cmocka_unit_test(times_are_written_with_their_decimals),
		cmocka_unit_test(lists_show_seconds_where_the_axis_shows_minutes),
		cmocka_unit_test(times_are_read_with_their_unit_or_refused),
		cmocka_unit_test(plates_never_overlap_and_never_leave_the_sheet),
		cmocka_unit_test(a_plate_with_room_stands_at_its_moment),
		cmocka_unit_test(plates_of_one_moment_stand_evenly_around_it),
		cmocka_unit_test(plates_at_the_edges_are_pushed_inwards),
		cmocka_unit_test(too_many_plates_are_joined_where_they_are_closest),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
