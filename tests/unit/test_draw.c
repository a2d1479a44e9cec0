/* SPDX-License-Identifier: MIT */
/* Drawings as SVG. That they are XML is checked by a parser from outside (xmllint of libxml2). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "sim/draw.h"
#include "tests/support/outside.h"

static char *svg_of(struct td_drawing *drawing, size_t *length)
{
	char *svg = NULL;
	size_t size = 0;
	struct td_error err = {""};
	FILE *out = open_memstream(&svg, &size);

	assert_int_equal(td_drawing_write_svg(drawing, out, &err), 0);
	(void)fclose(out);
	if (length)
		*length = size;
	return svg;
}

static void assert_is_xml(const char *svg)
{
	outside_write("a.svg", svg, strlen(svg));
	if (outside_run((const char *const[]){"xmllint", "--nonet", "--noout", "a.svg", NULL}) != 0) {
		char *said = outside_bytes("said", NULL);

		fail_msg("%s", said);
	}
}

static size_t count(const char *text, const char *piece)
{
	size_t found = 0;

	for (const char *at = strstr(text, piece); at; at = strstr(at + 1, piece))
		found++;
	return found;
}

/* Every kind of row, look and mark once. */
static struct td_drawing *full_drawing(void)
{
	struct td_drawing *drawing = td_drawing_new("Boom against its end", "Invented numbers.");
	int row;

	assert_non_null(drawing);
	td_drawing_group(drawing, "boom");
	row = td_drawing_add_row(drawing, TD_ROW_SPANS, "state");
	assert_int_equal(row, 0);
	for (int look = 0; look < TD_LOOKS; look++) {
		td_drawing_add_span(drawing, row, TD_S(look), TD_S(look + 1), (enum td_look)look,
				    "span label");
		td_drawing_explain(drawing, (enum td_look)look, "meaning of a look");
	}
	row = td_drawing_add_row(drawing, TD_ROW_OUTPUT, "raise");
	td_drawing_add_level(drawing, row, 0, TD_LEVEL_UNKNOWN);
	td_drawing_add_level(drawing, row, TD_S(1), TD_LEVEL_HIGH);
	td_drawing_add_level(drawing, row, TD_S(3), TD_LEVEL_LOW);
	row = td_drawing_add_row(drawing, TD_ROW_LEVEL, "boom_top");
	td_drawing_add_level(drawing, row, TD_S(1), TD_LEVEL_LOW);
	td_drawing_add_level(drawing, row, TD_S(2), TD_LEVEL_HIGH);
	row = td_drawing_add_curve(drawing, "position", "lower", "raise");
	td_drawing_add_point(drawing, row, 0, 0);
	td_drawing_add_point(drawing, row, TD_S(3), 1000000);
	td_drawing_add_mark(drawing, TD_S(3), 1, TD_MARK_GRAVE, "the second moment");
	td_drawing_add_mark(drawing, TD_S(1), 0, TD_MARK_PLAIN, "the first moment");
	return drawing;
}

static void a_drawing_of_everything_is_xml_and_says_everything(void **state)
{
	static const char *const said[] = {
		">Boom against its end</title>",
		"<desc>Invented numbers. Timing diagram with 4 rows from 0.000 s to 6.000 s",
		">boom</text>",
		">state</text>",
		">raise</text>",
		">boom_top</text>",
		">position</text>",
		">lower</text>",
		">seconds</text>",
		">span label</text>",
		">meaning of a look</text>",
		">output high</text>",
		">level high</text>",
		">unknown</text>",
		">the first moment</text>",
		">the second moment</text>",
		">1.000 s</text>",
		">3.000 s</text>",
		"role=\"img\"",
		"viewBox=",
	};
	struct td_drawing *drawing = full_drawing();
	char *svg = svg_of(drawing, NULL);

	(void)state;
	assert_is_xml(svg);
	for (size_t i = 0; i < sizeof(said) / sizeof(said[0]); i++)
		if (!strstr(svg, said[i]))
			fail_msg("missing: %s", said[i]);
	assert_int_equal(count(svg, ">meaning of a look<"), TD_LOOKS);
	free(svg);
	td_drawing_free(drawing);
}

static void marks_are_numbered_in_the_order_of_time(void **state)
{
	struct td_drawing *drawing = full_drawing();
	char *svg = svg_of(drawing, NULL);
	const char *first = strstr(svg, ">the first moment<");
	const char *second = strstr(svg, ">the second moment<");

	(void)state;
	assert_true(first && second && first < second);
	free(svg);
	td_drawing_free(drawing);
}

static void nothing_is_told_by_colour_alone(void **state)
{
	struct td_drawing *drawing = full_drawing();
	char *svg = svg_of(drawing, NULL);

	(void)state;
	/* the looks differ by pattern or border */
	assert_true(count(svg, "url(#td-slanted)") >= 2);
	assert_true(count(svg, "url(#td-dotted)") >= 2);
	assert_true(count(svg, "url(#td-crossed)") >= 2);
	assert_true(count(svg, "url(#td-unknown)") >= 2);
	/* a grave mark has square corners, on its plate and in the list, a plain one round ones */
	assert_int_equal(count(svg, "rx=\"0\" "), 2);
	assert_int_equal(count(svg, "rx=\"7\" "), 2);
	free(svg);
	td_drawing_free(drawing);
}

static void a_drawing_needs_nothing_from_elsewhere(void **state)
{
	struct td_drawing *drawing = full_drawing();
	char *svg = svg_of(drawing, NULL);

	(void)state;
	assert_int_equal(count(svg, "http"), 1);
	assert_int_equal(count(svg, "xmlns=\"http://www.w3.org/2000/svg\""), 1);
	assert_null(strstr(svg, "@import"));
	assert_null(strstr(svg, "@font-face"));
	assert_null(strstr(svg, "<script"));
	assert_null(strstr(svg, "href"));
	free(svg);
	td_drawing_free(drawing);
}

static void the_same_drawing_is_the_same_file(void **state)
{
	struct td_drawing *drawing = full_drawing();
	char *one = svg_of(drawing, NULL);
	char *other = svg_of(drawing, NULL);

	(void)state;
	assert_string_equal(one, other);
	free(one);
	free(other);
	td_drawing_free(drawing);
}

static void an_empty_drawing_is_a_drawing(void **state)
{
	struct td_drawing *drawing = td_drawing_new("", "");
	char *svg = svg_of(drawing, NULL);

	(void)state;
	assert_is_xml(svg);
	free(svg);
	td_drawing_free(drawing);
	td_drawing_free(NULL);
}

/* Text from anywhere: markup, control characters, bytes that are no UTF-8, endless words. */
static const char *const nasty[] = {
	"<svg onload=\"x\">",
	"]]>",
	"--><script>",
	"&amp;",
	"\x01\x02\x1b[31m",
	"\xff\xfe\xc0\x80",
	"'\"",
	"averyveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryverylon"
	"gword"
	"averyveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryveryverylon"
	"gword",
	"\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2"
	"\x82\xac",
};

static void any_text_ends_as_xml(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(nasty) / sizeof(nasty[0]); i++) {
		struct td_drawing *drawing = td_drawing_new(nasty[i], nasty[i]);

		td_drawing_group(drawing, nasty[i]);
		int spans = td_drawing_add_row(drawing, TD_ROW_SPANS, nasty[i]);
		td_drawing_add_span(drawing, spans, 0, TD_MS(5), TD_LOOK_SLANTED, nasty[i]);
		td_drawing_add_span(drawing, spans, TD_MS(5), TD_MS(9), TD_LOOK_SOLID, nasty[i]);
		td_drawing_explain(drawing, TD_LOOK_SOLID, nasty[i]);
		(void)td_drawing_add_curve(drawing, nasty[i], nasty[i], nasty[i]);
		td_drawing_add_mark(drawing, TD_MS(3), spans, TD_MARK_PLAIN, nasty[i]);
		char *svg = svg_of(drawing, NULL);
		assert_is_xml(svg);
		assert_null(strstr(svg, "<script"));
		assert_null(strstr(svg, "<svg onload"));
		free(svg);
		td_drawing_free(drawing);
	}
}

static void a_million_changes_make_a_light_picture(void **state)
{
	struct td_drawing *drawing = td_drawing_new("Chatter", "");
	int level = td_drawing_add_row(drawing, TD_ROW_LEVEL, "chatter");
	int curve = td_drawing_add_curve(drawing, "curve", "low", "high");
	size_t length;

	(void)state;
	for (int i = 0; i < 1000000; i++) {
		td_drawing_add_level(drawing, level, TD_US(10) * i, i % 2 ? TD_LEVEL_HIGH : TD_LEVEL_LOW);
		td_drawing_add_point(drawing, curve, TD_US(10) * i, i % 1000 * 1000);
	}
	char *svg = svg_of(drawing, &length);
	assert_is_xml(svg);
	assert_true(length < 60000);
	print_message("# measured: %zu bytes of SVG for 2000000 changes\n", length);
	free(svg);
	td_drawing_free(drawing);
}

static void one_short_pulse_is_never_lost(void **state)
{
	struct td_drawing *drawing = td_drawing_new("Pulse", "");
	int row = td_drawing_add_row(drawing, TD_ROW_OUTPUT, "pulse");

	(void)state;
	td_drawing_add_level(drawing, row, 0, TD_LEVEL_LOW);
	td_drawing_add_level(drawing, row, TD_S(500), TD_LEVEL_HIGH);
	td_drawing_add_level(drawing, row, TD_S(500) + 1, TD_LEVEL_LOW);
	td_drawing_window(drawing, 0, TD_S(1000));
	char *svg = svg_of(drawing, NULL);
	assert_non_null(strstr(svg, "width=\"1.2\" height=\"14\" fill=\"#0e5a63\""));
	free(svg);
	td_drawing_free(drawing);
}

static void more_moments_than_can_be_listed_are_counted(void **state)
{
	struct td_drawing *drawing = td_drawing_new("Many", "");

	(void)state;
	for (int i = 0; i < 1000; i++)
		td_drawing_add_mark(drawing, TD_MS(i), TD_NO_ROW, TD_MARK_PLAIN, "a moment");
	char *svg = svg_of(drawing, NULL);
	assert_is_xml(svg);
	assert_int_equal(count(svg, ">a moment<"), 300);
	assert_non_null(strstr(svg, ">and 700 more moments; a shorter window shows them<"));
	free(svg);
	td_drawing_free(drawing);
}

static void only_the_window_is_shown(void **state)
{
	struct td_drawing *drawing = full_drawing();

	(void)state;
	td_drawing_window(drawing, TD_MS(2500), TD_MS(3500));
	char *svg = svg_of(drawing, NULL);
	assert_is_xml(svg);
	assert_null(strstr(svg, ">the first moment<"));
	assert_non_null(strstr(svg, ">the second moment<"));
	assert_non_null(strstr(svg, "from 2.500 s to 3.500 s"));
	free(svg);
	td_drawing_free(drawing);
}

static void rows_in_which_nothing_changes_can_be_left_out(void **state)
{
	struct td_drawing *drawing = td_drawing_new("Still", "");
	int row;

	(void)state;
	td_drawing_group(drawing, "first group");
	(void)td_drawing_add_row(drawing, TD_ROW_LEVEL, "empty");
	row = td_drawing_add_row(drawing, TD_ROW_LEVEL, "still");
	td_drawing_add_level(drawing, row, 0, TD_LEVEL_HIGH);
	row = td_drawing_add_row(drawing, TD_ROW_LEVEL, "busy");
	td_drawing_add_level(drawing, row, 0, TD_LEVEL_HIGH);
	td_drawing_add_level(drawing, row, TD_S(1), TD_LEVEL_LOW);
	td_drawing_group(drawing, "second group");
	(void)td_drawing_add_row(drawing, TD_ROW_SPANS, "gone");
	td_drawing_group(drawing, "third group");
	row = td_drawing_add_row(drawing, TD_ROW_SPANS, "marked");
	td_drawing_add_mark(drawing, TD_S(1), row, TD_MARK_PLAIN, "a mark");
	td_drawing_drop_still(drawing);
	char *svg = svg_of(drawing, NULL);
	assert_non_null(strstr(svg, ">first group<"));
	assert_non_null(strstr(svg, ">busy<"));
	assert_non_null(strstr(svg, ">third group<"));
	assert_non_null(strstr(svg, ">marked<"));
	assert_int_equal(count(svg, "<circle cx="), 2); /* one in a pattern, one for the mark */
	assert_null(strstr(svg, ">empty<"));
	assert_null(strstr(svg, ">still<"));
	assert_null(strstr(svg, ">second group<"));
	assert_null(strstr(svg, ">gone<"));
	free(svg);
	td_drawing_free(drawing);
}

/* --- mistakes of the caller ----------------------------------------------------------------------- */

static void wrong_row(struct td_drawing *drawing)
{
	td_drawing_add_level(drawing, 99, 0, TD_LEVEL_LOW);
}

static void no_row(struct td_drawing *drawing)
{
	td_drawing_add_span(drawing, TD_NO_ROW, 0, 1, TD_LOOK_LINE, "");
}

static void level_among_spans(struct td_drawing *drawing)
{
	td_drawing_add_level(drawing, 0, TD_S(99), TD_LEVEL_LOW);
}

static void span_among_levels(struct td_drawing *drawing)
{
	td_drawing_add_span(drawing, 1, TD_S(98), TD_S(99), TD_LOOK_LINE, "");
}

static void point_among_levels(struct td_drawing *drawing)
{
	td_drawing_add_point(drawing, 1, TD_S(99), 0);
}

static void level_backwards(struct td_drawing *drawing)
{
	td_drawing_add_level(drawing, 1, TD_MS(2999), TD_LEVEL_LOW);
}

static void spans_overlap(struct td_drawing *drawing)
{
	td_drawing_add_span(drawing, 0, TD_MS(5999), TD_S(7), TD_LOOK_LINE, "");
}

static void span_inside_out(struct td_drawing *drawing)
{
	td_drawing_add_span(drawing, 0, TD_S(9), TD_S(8), TD_LOOK_LINE, "");
}

static void window_inside_out(struct td_drawing *drawing)
{
	td_drawing_window(drawing, TD_S(2), TD_S(2));
}

static void mistakes_come_out_when_writing(void **state)
{
	static const struct {
		void (*make)(struct td_drawing *drawing);
		const char *says;
	} mistakes[] = {
		{wrong_row, "does not exist"},
		{no_row, "does not exist"},
		{level_among_spans, "own kind"},
		{span_among_levels, "own kind"},
		{point_among_levels, "own kind"},
		{level_backwards, "backwards"},
		{spans_overlap, "backwards"},
		{span_inside_out, "backwards"},
		{window_inside_out, "before it begins"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(mistakes) / sizeof(mistakes[0]); i++) {
		struct td_drawing *drawing = full_drawing();
		struct td_error err = {""};
		FILE *out = fopen("/dev/null", "w");

		mistakes[i].make(drawing);
		assert_int_equal(td_drawing_write_svg(drawing, out, &err), -1);
		assert_non_null(strstr(err.text, mistakes[i].says));
		(void)fclose(out);
		td_drawing_free(drawing);
	}
}

/* A device that is always full stands in for the disk. */
static void a_full_disk_is_reported(void **state)
{
	struct td_drawing *drawing = full_drawing();
	struct td_error err = {""};
	FILE *out = fopen("/dev/full", "w");

	(void)state;
	assert_int_equal(td_drawing_write_svg(drawing, out, &err), -1);
	assert_non_null(strstr(err.text, "No space left"));
	(void)fclose(out);
	td_drawing_free(drawing);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_drawing_of_everything_is_xml_and_says_everything),
		cmocka_unit_test(marks_are_numbered_in_the_order_of_time),
		cmocka_unit_test(nothing_is_told_by_colour_alone),
		cmocka_unit_test(a_drawing_needs_nothing_from_elsewhere),
		cmocka_unit_test(the_same_drawing_is_the_same_file),
		cmocka_unit_test(an_empty_drawing_is_a_drawing),
		cmocka_unit_test(any_text_ends_as_xml),
		cmocka_unit_test(a_million_changes_make_a_light_picture),
		cmocka_unit_test(one_short_pulse_is_never_lost),
		cmocka_unit_test(more_moments_than_can_be_listed_are_counted),
		cmocka_unit_test(only_the_window_is_shown),
		cmocka_unit_test(rows_in_which_nothing_changes_can_be_left_out),
		cmocka_unit_test(mistakes_come_out_when_writing),
		cmocka_unit_test(a_full_disk_is_reported),
	};

	return cmocka_run_group_tests(tests, outside_make, outside_remove);
}
