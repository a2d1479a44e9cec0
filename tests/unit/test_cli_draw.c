/* SPDX-License-Identifier: MIT */
/* What tripdog status draws. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/client/draw_bar.h"
#include "tests/unit/cli_page.h"

static const char *const states[] = {RESTING, BUSY, STOPPED, SLOWED, REFUSED, TWISTED, LONG_NAMES, LOCKED};
enum { STATES = sizeof(states) / sizeof(states[0]) };

/* clang-format off */
static void at_rest_every_axis_has_a_line(void **state)
{
	(void)state;
	expect_page(RESTING, 80, true,
	            " glasshouse cart                                                          armed\n"
	            "────────────────────────────────────────────────────────────────────────────────\n"
	            " latched stop off\n"
	            "\n"
	            " axis   state         way                  position                       lease\n"
	            " drive  still                     backward ┊───── unknown ─────┊ forward\n"
	            " boom   still                        lower ■●──────────────────□ raise\n"
	            " vent   still                        close □───── unknown ─────□ open\n"
	            "\n"
	            " ■ end switch active   □ clear   ┊ none fitted   ● estimated\n"
	            "\n"
	            " switches: boom_bottom ACTIVE, boom_top clear, vent_shut clear, vent_open clear,\n"
	            "   stop_contact clear\n");
}

static void what_moves_or_waits_shows_way_lease_and_wait_in_ascii(void **state)
{
	(void)state;
	expect_page(BUSY, 80, false,
	            " glasshouse cart                                                          armed\n"
	            "--------------------------------------------------------------------------------\n"
	            " latched stop off\n"
	            "\n"
	            " axis   state         way                  position                       lease\n"
	            " drive  waits 120 ms  < backward  backward :----- unknown -----: forward  290 ms\n"
	            " boom   moves         > raise        lower |-------------->----| raise    1.3 s\n"
	            " vent   coasts                       close |------------------o# open\n"
	            "\n"
	            " # end switch active   | clear   : none fitted   o estimated\n"
	            "\n"
	            " switches: boom_bottom clear, boom_top clear\n");
}

static void stops_show_sentence_remedy_and_command(void **state)
{
	(void)state;
	expect_page(STOPPED, 80, true,
	            " glasshouse cart                                                      NOT ARMED\n"
	            "────────────────────────────────────────────────────────────────────────────────\n"
	            " latched stop ON\n"
	            "\n"
	            " axis   state         way                  position                       lease\n"
	            " drive  still                     backward ┊───── unknown ─────┊ forward\n"
	            " boom   TRIPPED                      lower ■───── unknown ─────■ raise\n"
	            " vent   TRIPPED                      close □───────●───────────□ open\n"
	            "\n"
	            " ■ end switch active   □ clear   ┊ none fitted   ● estimated\n"
	            "\n"
	            " ! not armed: the machine is not armed (R14)\n"
	            "   see the start messages of the daemon for what is missing\n"
	            "\n"
	            " ! latched stop: the emergency-stop input is active (R10)\n"
	            "   release the wired emergency stop, then reset as keeper:\n"
	            "   tripdog --keeper reset\n"
	            "\n"
	            " ! latched stop: it was on before (R10)\n"
	            "   see why:\n"
	            "   tripdog --keeper reset\n"
	            "\n"
	            " ! boom: both end switches of the axis are active at once (R8)\n"
	            "   check the switches and their common wire; then reset:\n"
	            "   tripdog --keeper reset boom\n"
	            "\n"
	            " ! vent: something newer than this client (R99)\n"
	            "   read on:\n"
	            "   tripdog --keeper reset vent\n"
	            "\n"
	            " switches: boom_bottom ACTIVE, stop_contact ACTIVE\n");
}

static void a_narrow_page_gives_each_axis_two_lines(void **state)
{
	(void)state;
	expect_page(STOPPED, 40, false,
	            " glasshouse cart              NOT ARMED\n"
	            "----------------------------------------\n"
	            " latched stop ON\n"
	            "\n"
	            " drive  still\n"
	            "   backward :---- unknown -----: forward\n"
	            " boom   TRIPPED\n"
	            "      lower #---- unknown -----# raise\n"
	            " vent   TRIPPED\n"
	            "      close |-------o----------| open\n"
	            "\n"
	            " ! not armed: the machine is not armed\n"
	            "   (R14)\n"
	            "   see the start messages of the daemon\n"
	            "   for what is missing\n"
	            "\n"
	            " ! latched stop: the emergency-stop\n"
	            "   input is active (R10)\n"
	            "   release the wired emergency stop,\n"
	            "   then reset as keeper:\n"
	            "   tripdog --keeper reset\n"
	            "\n"
	            " ! latched stop: it was on before (R10)\n"
	            "   see why:\n"
	            "   tripdog --keeper reset\n"
	            "\n"
	            " ! boom: both end switches of the axis\n"
	            "   are active at once (R8)\n"
	            "   check the switches and their common\n"
	            "   wire; then reset:\n"
	            "   tripdog --keeper reset boom\n"
	            "\n"
	            " ! vent: something newer than this\n"
	            "   client (R99)\n"
	            "   read on:\n"
	            "   tripdog --keeper reset vent\n"
	            "\n"
	            " switches: boom_bottom ACTIVE,\n"
	            "   stop_contact ACTIVE\n");
}

static void names_too_long_are_cut(void **state)
{
	(void)state;
	expect_page(LONG_NAMES, 24, true,
	            " glasshouse cart  armed\n"
	            "────────────────────────\n"
	            " latched stop off\n"
	            "\n"
	            " an-axis…  waits 100.0 s\n"
	            "   the-f… □──▶──□ the-o…\n");
}

/* clang-format on */

static void no_page_has_a_line_longer_than_its_width(void **state)
{
	(void)state;
	for (size_t i = 0; i < STATES; i++) {
		for (size_t width = 1; width <= 120; width++) {
			char *page = draw(states[i], width, true, false);
			size_t most = width < TD_DRAW_WIDTH_MIN ? TD_DRAW_WIDTH_MIN : width;

			for (char *line = strtok(page, "\n"); line; line = strtok(NULL, "\n"))
				if (td_pen_columns(line) > most)
					fail_msg("state %zu at width %zu: %s", i, width, line);
			free(page);
		}
	}
}

static void no_line_ends_in_blanks_and_ascii_pages_are_ascii(void **state)
{
	(void)state;
	for (size_t i = 0; i < STATES; i++) {
		char *page = draw(states[i], 80, false, false);

		assert_null(strstr(page, " \n"));
		assert_int_equal(page[strlen(page) - 1], '\n');
		for (const char *at = page; *at; at++)
			assert_true(*at == '\n' || (*at >= ' ' && *at <= '~'));
		free(page);
	}
}

/* ECMA-48: ESC [ parameters m. */
static void strip_escapes(char *page)
{
	char *to = page;

	for (const char *from = page; *from;) {
		if (*from == '\033')
			from += strcspn(from, "m") + 1;
		else
			*to++ = *from++;
	}
	*to = '\0';
}

static void colour_adds_nothing_but_escapes(void **state)
{
	(void)state;
	for (size_t i = 0; i < STATES; i++) {
		char *plain = draw(states[i], 80, true, false);
		char *coloured = draw(states[i], 80, true, true);

		assert_null(strchr(plain, '\033'));
		assert_non_null(strstr(coloured, "\033[1m"));
		strip_escapes(coloured);
		assert_string_equal(plain, coloured);
		free(plain);
		free(coloured);
	}
}

static size_t mark_at(int32_t position_ppm, size_t columns)
{
	const struct td_view_axis axis = {
		.way = TD_NO_WAY, .fitted = {true, true}, .position_ppm = position_ppm};
	char bar[64] = "";
	struct td_pen pen = {.out = fmemopen(bar, sizeof(bar), "w"), .width = 80};

	assert_non_null(pen.out);
	td_draw_bar(&pen, &axis, columns);
	assert_int_equal(fclose(pen.out), 0);
	assert_int_equal(strlen(bar), columns);
	return (size_t)(strchr(bar, 'o') - bar);
}

static void the_mark_stands_in_proportion_between_the_ends(void **state)
{
	(void)state;
	assert_int_equal(mark_at(0, 13), 1);
	assert_int_equal(mark_at(49999, 13), 1);
	assert_int_equal(mark_at(50000, 13), 2);
	assert_int_equal(mark_at(500000, 13), 6);
	assert_int_equal(mark_at(949999, 13), 10);
	assert_int_equal(mark_at(950000, 13), 11);
	assert_int_equal(mark_at(1000000, 13), 11);
	assert_int_equal(mark_at(1000000, 3), 1);
}

static void control_characters_never_reach_the_page(void **state)
{
	static const struct {
		const char *text;
		const char *utf8;
		const char *ascii;
	} texts[] = {
		{"a\033[2Jb", "a?[2Jb", "a?[2Jb"},
		{"a\nb\tc\x7f", "a?b?c?", "a?b?c?"},
		{"a\xc2\x9b"
		 "b",
		 "a?b", "a?b"}, /* U+009B, a control sequence in one character */
		{"gl\xc3\xa4ss", "gl\xc3\xa4ss", "gl?ss"},
		{"\xff\xc3", "??", "??"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++) {
		for (int utf8 = 0; utf8 < 2; utf8++) {
			char page[64] = "";
			struct td_pen pen = {
				.out = fmemopen(page, sizeof(page), "w"), .width = 80, .utf8 = utf8 != 0};

			assert_non_null(pen.out);
			td_pen_text(&pen, texts[i].text);
			assert_int_equal(fclose(pen.out), 0);
			assert_string_equal(page, utf8 ? texts[i].utf8 : texts[i].ascii);
			assert_int_equal(pen.column, td_pen_columns(texts[i].text));
		}
	}
}

#define ONE(axis) MACHINE("true", "", axis, "")

#define CABLE(twist) "{\"armed\":true,\"latch\":[],\"axes\":[],\"switches\":[],\"twist\":" twist "}"

static void a_status_of_another_shape_is_refused(void **state)
{
	static const char *const shapes[] = {
		"{}",
		"[]",
		MACHINE("1", "", "", ""),
		MACHINE("true", "1,2,3,4", "", ""),
		MACHINE("true", "", "1", ""),
		MACHINE("true", "", "{}", ""),
		MACHINE("true", "", "", "{\"name\":1,\"active\":true}"),
		MACHINE("true", "", "", "{\"name\":\"a\",\"active\":0}"),
		CABLE("1"),
		CABLE("{}"),
		CABLE("{\"net_degrees\":1,\"doubt_degrees\":0,\"limit_degrees\":-1,\"blocked\":[]}"),
		CABLE("{\"net_degrees\":1,\"doubt_degrees\":0,\"limit_degrees\":\"9\",\"blocked\":[]}"),
		CABLE("{\"net_degrees\":1,\"doubt_degrees\":0,\"limit_degrees\":9,\"blocked\":[1]}"),
		CABLE("{\"net_degrees\":1,\"doubt_degrees\":0,\"limit_degrees\":9,"
		      "\"blocked\":[\"a\",\"b\",\"c\"]}"),
		ONE(AXIS("a", "b", "c", "run", "\"d\"", "true", "false", "false", "null", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "1", "true", "false", "false", "null", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "1", "false", "false", "null", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "true", "0", "false", "null", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "true", "false", "false", "-1", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "true", "false", "false", "1000001", "0", "0",
			 "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "true", "false", "false", "0.5", "0", "0", "null")),
		ONE(AXIS("a", "b", "c", "run", "null", "true", "false", "false", "null", "\"0\"", "0",
			 "null")),
	};

	(void)state;
	for (size_t i = 0; i < sizeof(shapes) / sizeof(shapes[0]); i++) {
		json_t *status = parse(shapes[i]);
		struct td_view view;
		struct td_error err = {""};

		if (td_view_read(status, NULL, &view, &err) != -1)
			fail_msg("taken: %s", shapes[i]);
		assert_non_null(strstr(err.text, "same version"));
		json_decref(status);
	}
}

static void a_status_is_moving_while_anything_is_powered_coasts_or_waits(void **state)
{
	static const struct {
		const char *status;
		bool moving;
	} cases[] = {
		{RESTING, false},
		{BUSY, true},
		{STOPPED, false},
		{ONE(AXIS("a", "b", "c", "wait", "\"b\"", "false", "false", "false", "null", "0", "1",
			  "null")),
		 true},
		{ONE(AXIS("a", "b", "c", "wait", "\"b\"", "false", "false", "false", "null", "1", "0",
			  "null")),
		 true},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		json_t *status = parse(cases[i].status);
		struct td_view view;

		assert_int_equal(td_view_read(status, NULL, &view, NULL), 0);
		assert_int_equal(td_view_moving(&view), cases[i].moving);
		json_decref(status);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(at_rest_every_axis_has_a_line),
		cmocka_unit_test(what_moves_or_waits_shows_way_lease_and_wait_in_ascii),
		cmocka_unit_test(stops_show_sentence_remedy_and_command),
		cmocka_unit_test(a_narrow_page_gives_each_axis_two_lines),
		cmocka_unit_test(names_too_long_are_cut),
		cmocka_unit_test(no_page_has_a_line_longer_than_its_width),
		cmocka_unit_test(no_line_ends_in_blanks_and_ascii_pages_are_ascii),
		cmocka_unit_test(colour_adds_nothing_but_escapes),
		cmocka_unit_test(the_mark_stands_in_proportion_between_the_ends),
		cmocka_unit_test(control_characters_never_reach_the_page),
		cmocka_unit_test(a_status_of_another_shape_is_refused),
		cmocka_unit_test(a_status_is_moving_while_anything_is_powered_coasts_or_waits),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
