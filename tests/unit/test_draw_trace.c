/* SPDX-License-Identifier: MIT */
/* Traces as drawings, and `tripdog-sim draw`. Every number is invented. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <getopt.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "core/axis.h"
#include "core/cause.h"
#include "sim/draw_trace.h"
#include "sim/verbs.h"
#include "tests/support/outside.h"
#include "trace/layout.h"
#include "trace/vcd_writer.h"

/* --- a trace in our own layout -------------------------------------------------------------------- */

struct boom {
	int lower;
	int raise;
	int ask_raise;
	int state;
	int cause;
	int position;
	int teeth;
	int top;
};

static void declare(struct td_vcd_writer *w, struct boom *boom)
{
	td_vcd_writer_enter(w, "boom", NULL);
	boom->lower = td_vcd_writer_signal(w, "lower", 1, td_vcd_number(0), NULL);
	boom->raise = td_vcd_writer_signal(w, "raise", 1, td_vcd_number(0), NULL);
	boom->ask_raise = td_vcd_writer_signal(w, TD_TRACE_ASK "raise", 1, td_vcd_number(0), NULL);
	boom->state = td_vcd_writer_signal(w, TD_TRACE_STATE, TD_TRACE_STATE_BITS,
					   td_vcd_number(TD_AXIS_STILL), NULL);
	boom->cause = td_vcd_writer_signal(w, TD_TRACE_CAUSE, TD_TRACE_CAUSE_BITS, td_vcd_number(0), NULL);
	boom->position = td_vcd_writer_signal(w, TD_TRACE_POSITION, 32, td_vcd_number(250000), NULL);
	boom->teeth = td_vcd_writer_signal(w, TD_TRACE_TEETH, 32, td_vcd_number(0), NULL);
	td_vcd_writer_leave(w, NULL);
	td_vcd_writer_enter(w, TD_TRACE_SWITCHES, NULL);
	boom->top = td_vcd_writer_signal(w, "boom_top", 1, td_vcd_unknown(), NULL);
	td_vcd_writer_leave(w, NULL);
}

static void set(struct td_vcd_writer *w, int signal, int64_t at_ms, uint64_t value)
{
	assert_int_equal(td_vcd_writer_set(w, signal, TD_MS(at_ms), td_vcd_number(value), NULL), 0);
}

/* Raise from 1 s on; a trip at 3 s with the gear skipping; the end at 5 s. */
static void tell(struct td_vcd_writer *w, const struct boom *boom)
{
	set(w, boom->top, 10, 0);
	set(w, boom->ask_raise, 1000, 1);
	set(w, boom->state, 1000, TD_AXIS_RUN);
	set(w, boom->raise, 1000, 1);
	set(w, boom->cause, 1000, td_trace_cause(TD_CAUSE_STARTED, 1));
	set(w, boom->cause, 1100, td_trace_cause(TD_CAUSE_RENEWED, 2));
	set(w, boom->position, 2000, 1000000);
	for (int i = 1; i <= 50; i++)
		set(w, boom->teeth, 2000 + i, (uint64_t)i);
	set(w, boom->state, 3000, TD_AXIS_TRIPPED);
	set(w, boom->cause, 3000, td_trace_cause(TD_CAUSE_TRAVEL_LIMIT, 3));
	set(w, boom->raise, 3000, 0);
	set(w, boom->ask_raise, 3000, 0);
	td_vcd_writer_comment_at(w, TD_MS(4000), "the keeper looks", NULL);
	set(w, boom->cause, 4500, td_trace_cause(TD_CAUSE_TRIPPED, 4));
	set(w, boom->cause, 4600, td_trace_cause(TD_CAUSE_TRIPPED, 5));
	td_vcd_writer_finish(w, TD_S(5), NULL);
}

static char *own_trace(size_t *length)
{
	const struct td_vcd_head head = {.version = TD_TRACE_VERSION " test"};
	struct boom boom;
	char *text = NULL;
	FILE *out = open_memstream(&text, length);
	struct td_vcd_writer *w = td_vcd_writer_new(out, &head, NULL);

	td_vcd_writer_comment(w, "not a moment", NULL);
	declare(w, &boom);
	assert_int_equal(td_vcd_writer_begin(w, 0, NULL), 0);
	tell(w, &boom);
	td_vcd_writer_free(w);
	(void)fclose(out);
	return text;
}

/* --- drawing it ----------------------------------------------------------------------------------- */

static char *drawn(const char *trace, size_t length, td_ns from_ns, td_ns to_ns)
{
	const struct td_trace_view view = {.from_ns = from_ns, .to_ns = to_ns};
	struct td_error err = {""};
	char *svg = NULL;
	size_t size = 0;
	FILE *in = outside_reader(trace, length);
	FILE *out = open_memstream(&svg, &size);
	struct td_drawing *drawing = td_drawing_of_trace(in, "cart.vcd", &view, &err);

	if (!drawing || td_drawing_write_svg(drawing, out, &err))
		(void)fprintf(out, "error: %s", err.text);
	td_drawing_free(drawing);
	(void)fclose(in);
	(void)fclose(out);
	return svg;
}

static char *own_drawn(td_ns from_ns, td_ns to_ns)
{
	size_t length;
	char *trace = own_trace(&length);
	char *svg = drawn(trace, length, from_ns, to_ns);

	free(trace);
	return svg;
}

static void assert_has(const char *svg, const char *const pieces[])
{
	for (; *pieces; pieces++)
		if (!strstr(svg, *pieces))
			fail_msg("missing: %s", *pieces);
}

static void assert_has_none(const char *svg, const char *const pieces[])
{
	for (; *pieces; pieces++)
		if (strstr(svg, *pieces))
			fail_msg("should not be there: %s", *pieces);
}

static void our_own_traces_are_drawn_by_what_they_mean(void **state)
{
	static const char *const wanted[] = {
		">cart.vcd</title>",
		">boom</text>",
		">request</text>",
		">state</text>",
		">position</text>",
		">skipped_teeth</text>",
		">switches</text>",
		">boom_top</text>",
		">still</text>",
		"class=\"td-white\">raise</text>",
		"<title>tripped: travel-limit</title>",
		">1.000 s</text>",
		">boom: the way is powered (started)</text>",
		">3.000 s</text>",
		">boom: the end was not reached in the learned time (travel-limit, R4)</text>",
		">4.000 s</text>",
		">the keeper looks</text>",
		">4.500 s</text>",
		">4.600 s</text>",
		">boom: the axis has tripped (tripped, R11)</text>",
		"<title>1 \xe2\x80\xa6 49</title>",
		"<title>50</title>",
		"<title>raise</title>",
		NULL};
	static const char *const unwanted[] = {"not a moment", "renewed",      "ask_",
					       ">cause<",      "position_ppm", NULL};
	char *svg = own_drawn(0, TD_NEVER);

	(void)state;
	assert_has(svg, wanted);
	assert_has_none(svg, unwanted);
	outside_write("own.svg", svg, strlen(svg));
	assert_int_equal(outside_run((const char *const[]){"xmllint", "--nonet", "--noout", "own.svg", NULL}),
			 0);
	free(svg);
}

static void a_view_shows_what_holds_at_its_beginning(void **state)
{
	static const char *const wanted[] = {"from 1.500 s to 3.500 s", "class=\"td-white\">raise</text>",
					     "(travel-limit, R4)", NULL};
	static const char *const unwanted[] = {"(started)", "the keeper looks", ">still<", NULL};
	char *svg = own_drawn(TD_MS(1500), TD_MS(3500));

	(void)state;
	assert_has(svg, wanted);
	assert_has_none(svg, unwanted);
	free(svg);
}

static void a_view_past_the_end_is_refused_with_where_the_end_is(void **state)
{
	char *svg = own_drawn(TD_S(6), TD_NEVER);

	(void)state;
	assert_string_equal(
		svg, "error: cart.vcd: nothing to draw: the trace ends 5.000000 s after its beginning");
	free(svg);
}

static void a_trace_without_its_end_is_drawn_as_far_as_it_goes(void **state)
{
	size_t length;
	char *trace = own_trace(&length);
	int drawings = 0;

	(void)state;
	for (size_t cut = length; cut > length / 2; cut -= 7) {
		char *svg = drawn(trace, cut, 0, TD_NEVER);

		assert_true(strncmp(svg, "<?xml", 5) == 0);
		drawings++;
		free(svg);
	}
	assert_true(drawings > 50);
	free(trace);
}

static void foreign_traces_are_drawn_by_their_form(void **state)
{
	static const char foreign[] =
		"$version some analyser $end $timescale 1 us $end $scope module top $end "
		"$var wire 1 ! clock $end $var wire 3 \" state [2:0] $end "
		"$var event 1 # tick $end $var real 1 $ volts $end $upscope $end "
		"$enddefinitions $end\n#0 0! b0 \" r1.5 $\n#10 1! b100 \" 1#\n"
		"#20 x! bx \" 1#\n#30\n";
	static const char *const wanted[] = {">top</text>",
					     ">clock</text>",
					     ">state</text>",
					     "<title>4</title>",
					     "<title>x</title>",
					     ">tick</text>",
					     ">10.000 \xc2\xb5s</text>",
					     ">20.000 \xc2\xb5s</text>",
					     "url(#td-unknown)\"/>",
					     NULL};
	static const char *const unwanted[] = {"volts", "waits", NULL};
	char *svg = drawn(foreign, strlen(foreign), 0, TD_NEVER);

	(void)state;
	assert_has(svg, wanted);
	assert_has_none(svg, unwanted);
	free(svg);
}

static void what_is_no_trace_is_refused_with_the_readers_sentence(void **state)
{
	static const char text[] = "hello\n";
	char *svg = drawn(text, strlen(text), 0, TD_NEVER);

	(void)state;
	assert_string_equal(svg, "error: cart.vcd: byte 0, line 1: \"hello\" is no declaration of a trace");
	free(svg);
}

/* A cause of a later version, states that do not exist: shown, not believed. */
static void numbers_nobody_knows_are_shown_as_numbers(void **state)
{
	static const char odd[] =
		"$version tripdog 99 $end $timescale 1 ms $end $scope module boom $end "
		"$var wire 3 ! state $end $var wire 16 \" cause $end $upscope $end "
		"$enddefinitions $end\n#0 b111 ! b0 \"\n#100 b1 ! b11111111 \"\n#200 bx !\n#300\n";
	static const char *const wanted[] = {
		"<title>state 7</title>", ">boom: cause 255, which this program does not know</text>", NULL};
	char *svg = drawn(odd, strlen(odd), 0, TD_NEVER);

	(void)state;
	assert_has(svg, wanted);
	free(svg);
}

/* --- the verb ------------------------------------------------------------------------------------- */

static int verb(const char *const arguments[])
{
	char *copy[12];
	int count = 0;

	for (; arguments[count]; count++)
		copy[count] = strdup(arguments[count]);
	copy[count] = NULL;
	int status = td_verb_draw(count, copy);
	while (count > 0)
		free(copy[--count]);
	return status;
}

static void the_verb_writes_a_file(void **state)
{
	char in[300];
	char out[300];
	size_t length;
	char *trace = own_trace(&length);

	(void)state;
	outside_write("in.vcd", trace, length);
	free(trace);
	(void)snprintf(in, sizeof(in), "%s", outside_path("in.vcd"));
	(void)snprintf(out, sizeof(out), "%s", outside_path("out.svg"));
	assert_int_equal(verb((const char *const[]){"draw", in, "--from", "500ms", "--to", "3.5s",
						    "--changed", "--title", "Boom", "-o", out, NULL}),
			 TD_VERB_OK);
	char *svg = outside_bytes("out.svg", NULL);
	assert_non_null(strstr(svg, ">Boom</title>"));
	assert_non_null(strstr(svg, "from 0.500 s to 3.500 s"));
	assert_non_null(strstr(svg, ">position<"));
	assert_null(strstr(svg, ">boom_top<")); /* nothing changes there */
	free(svg);
}

static void the_verb_says_what_is_wrong_by_its_exit_status(void **state)
{
	char in[300];
	static const char *const wrong_lines[][8] = {
		{"draw"},
		{"draw", "a", "b"},
		{"draw", "a", "--from", "soon"},
		{"draw", "a", "--from", "2s", "--to", "1s"},
		{"draw", "a", "--from", "2s", "--to", "2s"},
		{"draw", "a", "--colour"},
		{"draw", "a", "-o"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(wrong_lines) / sizeof(wrong_lines[0]); i++)
		assert_int_equal(verb(wrong_lines[i]), TD_VERB_USAGE);
	assert_int_equal(verb((const char *const[]){"draw", "/does/not/exist", NULL}), TD_VERB_FAILED);
	assert_int_equal(verb((const char *const[]){"draw", "/dev/null", NULL}), TD_VERB_FAILED);
	(void)snprintf(in, sizeof(in), "%s", outside_path("in.vcd"));
	assert_int_equal(verb((const char *const[]){"draw", in, "-o", "/does/not/exist.svg", NULL}),
			 TD_VERB_FAILED);
	assert_int_equal(verb((const char *const[]){"draw", in, "-o", "/dev/full", NULL}), TD_VERB_FAILED);
	assert_int_equal(access("/dev/full", F_OK), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(our_own_traces_are_drawn_by_what_they_mean),
		cmocka_unit_test(a_view_shows_what_holds_at_its_beginning),
		cmocka_unit_test(a_view_past_the_end_is_refused_with_where_the_end_is),
		cmocka_unit_test(a_trace_without_its_end_is_drawn_as_far_as_it_goes),
		cmocka_unit_test(foreign_traces_are_drawn_by_their_form),
		cmocka_unit_test(what_is_no_trace_is_refused_with_the_readers_sentence),
		cmocka_unit_test(numbers_nobody_knows_are_shown_as_numbers),
		cmocka_unit_test(the_verb_writes_a_file),
		cmocka_unit_test(the_verb_says_what_is_wrong_by_its_exit_status),
	};

	return cmocka_run_group_tests(tests, outside_make, outside_remove);
}
