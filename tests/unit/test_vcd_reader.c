/* SPDX-License-Identifier: MIT */
/* Traces as they are read: good ones, foreign ones, cut-off ones, broken ones. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/outside.h"
#include "tests/support/story.h"
#include "trace/vcd_reader.h"

/* Two signals, a level "!" and a number "#" of four bits. */
#define HEAD                                                                                                 \
	"$timescale 1 ns $end\n$scope module cart $end\n$var wire 1 ! level $end\n"                          \
	"$var wire 4 # number [3:0] $end\n$upscope $end\n$enddefinitions $end\n"
#define HEAD_STORY "signal cart level 1\nsignal cart number 4\nbegin\n"

static void assert_story_is(const char *trace, const char *expected)
{
	char *story = story_of_bytes(trace, strlen(trace));

	assert_string_equal(story, expected);
	free(story);
}

/* Forms the grammar of IEEE 1364-2005 18.2.2 and 18.2.3 allows, each with what it means. */
static const struct {
	const char *trace;
	const char *story;
} good[] = {
	{HEAD "#0\n$dumpvars\n0!\nb0 #\n$end\n#7\n1!\n",
	 HEAD_STORY "time 0\n0 cart.level = 0\n0 cart.number = 0000\ntime 7\n7 cart.level = 1\nend 7\n"},
	{HEAD "#5 1! bx1 # #6 Z! BZ #\n",
	 HEAD_STORY "time 5\n5 cart.level = 1\n5 cart.number = xxx1\ntime 6\n6 cart.level = z\n"
		    "6 cart.number = zzzz\nend 6\n"},
	{HEAD "$dumpvars 1! $end #3 $dumpoff x! bx # $end #4 $dumpon 0! b1 # $end #5 $dumpall 0! b1 # $end\n",
	 HEAD_STORY "0 cart.level = 1\ntime 3\n3 cart.level = x\n3 cart.number = xxxx\ntime 4\n"
		    "4 cart.level = 0\n4 cart.number = 0001\ntime 5\n5 cart.level = 0\n"
		    "5 cart.number = 0001\nend 5\n"},
	{HEAD "b1 !\n1#\n", HEAD_STORY "0 cart.level = 1\n0 cart.number = 0001\nend 0\n"},
	{HEAD "#1\n$comment a mark $end\n1!\n",
	 HEAD_STORY "time 1\ntext 1 comment [a mark]\n1 cart.level = 1\nend 1\n"},
	{HEAD, HEAD_STORY "end 0\n"},
	{HEAD "#1\f1!\v#2\n", HEAD_STORY "time 1\n1 cart.level = 1\ntime 2\nend 2\n"},
	{"$timescale 1 ns $end $var realtime 64 ! t $end $enddefinitions $end r2 !\n",
	 "signal  t real\nbegin\n0 t = 2\nend 0\n"},
	{"$date\n    today\n$end\n$version v $end\n$comment $end\n$timescale\n\t10us\n$end\n$enddefinitions "
	 "$end\n#3\n",
	 "text 0 date [    today]\ntext 0 version [v]\ntext 0 comment []\nbegin\ntime 30000\nend 30000\n"},
	{"$timescale 1ns $end $var wire 1 ! data [2] $end $var wire 2 \" data[1:0] $end $var reg 1 $ $ $end "
	 "$enddefinitions $end 1! b1 \" 1$\n",
	 "signal  data[2] 1\nsignal  data 2\nsignal  $ 1\nbegin\n0 data[2] = 1\n0 data = 01\n0 $ = 1\nend "
	 "0\n"},
	{"$timescale 1 ns $end $scope module a $end $scope begin b $end $var event 1 ! e $end $upscope $end "
	 "$var real 64 \" r $end $upscope $end $enddefinitions $end #1 1! r-1.5e3 \" #2 1! r0.25 \"\n",
	 "signal a.b e event\nsignal a r real\nbegin\ntime 1\n1 a.b.e = 1\n1 a.r = -1500\ntime 2\n"
	 "2 a.b.e = 1\n2 a.r = 0.25\nend 2\n"},
	{"$timescale 1 ns $end $scope module a $end $var wire 1 ! x $end $upscope $end $scope module b $end "
	 "$var wire 1 ! y $end $upscope $end $enddefinitions $end #1 1!\n",
	 "signal a x 1\nsignal b y 1\nbegin\ntime 1\n1 a.x = 1\n1 b.y = 1\nend 1\n"},
	{"$timescale 100 ps $end $enddefinitions $end #9 #10 #25\n",
	 "begin\ntime 0\ntime 1\ntime 2\nend 2\n"},
	{"$timescale 1 s $end $enddefinitions $end #9223372036\n",
	 "begin\ntime 9223372036000000000\nend 9223372036000000000\n"},
};

static void every_form_the_standard_allows_is_read(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++)
		assert_story_is(good[i].trace, good[i].story);
}

static void line_ends_of_other_systems_are_read(void **state)
{
	(void)state;
	assert_story_is(
		"$timescale 1 ns $end\r\n$var wire 1 ! a $end\r\n$enddefinitions $end\r\n#1\r\n1!\r\n",
		"signal  a 1\nbegin\ntime 1\n1 a = 1\nend 1\n");
}

/* What is wrong, where the reader must say it is, and words the sentence must hold. */
static const struct {
	const char *trace;
	const char *says;
	const char *why;
} bad[] = {
	{"", "byte 0, line 1:", "ends before $enddefinitions"},
	{"\n\n", "byte 2, line 3:", "ends before $enddefinitions"},
	{"hello\n", "byte 0, line 1:", "\"hello\" is no declaration"},
	{"$timescale 1 ns $end\n$var wire 1 ! a $end\n", "byte 42, line 3:", "holds no values"},
	{"$enddefinitions $end\n", "line 1:", "no $timescale"},
	{"$timescale 3 us $end\n", "byte 16, line 1:", "\"3us\" is not 1, 10 or 100"},
	{"$timescale 1 min $end\n", "line 1:", "\"1min\""},
	{"$timescale 10000000000000000000000 ns $end\n", "line 1:", "is not 1, 10 or 100"},
	{"$timescale 1 ns more $end\n", "byte 16, line 1:", "where $end belongs"},
	{"$timescale $end\n", "line 1:", "is not 1, 10 or 100"},
	{"$var wire 1 ! $end\n", "byte 14, line 1:", "needs type, size, code and name"},
	{"$var lamp 1 ! a $end\n", "line 1:", "\"lamp\" is no type of signal"},
	{"$var wire 0 ! a $end\n", "line 1:", "size of \"0\""},
	{"$var wire 65 ! a $end\n", "line 1:", "1 to 64 bits"},
	{"$var wire -1 ! a $end\n", "line 1:", "size of \"-1\""},
	{"$var wire 4x ! a $end\n", "line 1:", "size of \"4x\""},
	{"$var wire 99999999999999999999 ! a $end\n", "line 1:", "1 to 64 bits"},
	{"$var wire 1 0123456789 a $end\n", "line 1:", "no identifier code"},
	{"$var wire 1 \xc3\xa4 a $end\n", "line 1:", "no identifier code"},
	{"$var wire 1 ! a b $end\n", "byte 16, line 1:", "goes on with \"b\""},
	{"$var wire 1 ! a $end\n$var wire 2 ! b $end\n", "line 2:", "different kind or size"},
	{"$var wire 1 ! a $end\n$var event 1 ! b $end\n", "line 2:", "different kind or size"},
	{"$upscope $end\n", "line 1:", "without an open $scope"},
	{"$upscope now $end\n", "line 1:", "without an open $scope"},
	{"$scope garden a $end\n", "byte 7, line 1:", "\"garden\" is no type of scope"},
	{"$scope module a b $end\n", "line 1:", "$scope goes on with \"b\""},
	{"$end\n", "line 1:", "is no declaration"},
	{HEAD "#0\n2!\n", "byte 140, line 8:", "\"2!\" is neither a time nor a value"},
	{HEAD "1?\n", "byte 137, line 7:", "code \"?\""},
	{HEAD "1\n", "line 7:", "code \"\""},
	{HEAD "b1 ?\n", "byte 140, line 7:", "code \"?\""},
	{HEAD "b10101 #\n", "line 7:", "\"10101\" is no value of a signal of 4 bits"},
	{HEAD "b12 #\n", "line 7:", "\"12\" is no value"},
	{HEAD "b #\n", "line 7:", "\"\" is no value"},
	{HEAD "r1.5 !\n", "line 7:", "its signal takes none"},
	{HEAD "#100\n#50\n", "byte 142, line 8:", "backwards: 50 ns after 100 ns"},
	{HEAD "#\n", "line 7:", "is no time"},
	{HEAD "#-5\n", "line 7:", "is no time"},
	{HEAD "#1.5\n", "line 7:", "is no time"},
	{HEAD "#9223372036854775807\n", "line 7:", "292 years"},
	{HEAD "#99999999999999999999999999\n", "line 7:", "292 years"},
	{HEAD "$end\n", "line 7:", "no place among the values"},
	{HEAD "$dumpvars\n#1\n", "line 8:", "inside a block"},
	{HEAD "$dumpvars $dumpall $end\n", "line 7:", "no place among the values"},
	{HEAD "$var wire 1 & late $end\n", "line 7:", "no place among the values"},
	{"$timescale 1 ns $end $var real 1 ! r $end $enddefinitions $end 1!\n", "line 1:", "no value"},
	{"$timescale 1 ns $end $var real 1 ! r $end $enddefinitions $end r1,5 !\n",
	 "line 1:", "is no number"},
	{"$timescale 1 ns $end $var real 1 ! r $end $enddefinitions $end r !\n", "line 1:", "is no number"},
};

static void what_is_wrong_is_said_with_its_place(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		char *story = story_of_bytes(bad[i].trace, strlen(bad[i].trace));
		const char *sentence = strstr(story, "bad trace: byte ");

		if (!sentence || !strstr(sentence, bad[i].says) || !strstr(sentence, bad[i].why))
			fail_msg("trace %zu: wanted \"%s %s\", got: %s", i, bad[i].says, bad[i].why, story);
		free(story);
	}
	print_message("# measured: %zu broken traces refused with their place\n",
		      sizeof(bad) / sizeof(bad[0]));
}

static void assert_refused(const char *trace, const char *why)
{
	char *story = story_of_bytes(trace, strlen(trace));

	assert_non_null(strstr(story, "bad trace: byte "));
	assert_non_null(strstr(story, why));
	free(story);
}

/* `times` copies of `piece` between `head` and `tail`; the caller frees it. */
static char *repeated(const char *head, const char *piece, size_t times, const char *tail)
{
	char *text = malloc(strlen(head) + times * strlen(piece) + strlen(tail) + 1);
	char *at = stpcpy(text, head);

	for (size_t i = 0; i < times; i++)
		at = stpcpy(at, piece);
	(void)stpcpy(at, tail);
	return text;
}

static void what_exceeds_the_limits_is_refused(void **state)
{
	static const struct {
		const char *head;
		const char *piece;
		size_t times;
		const char *tail;
		const char *why;
	} rows[] = {
		{"", "$scope module a $end\n", TD_VCD_DEPTH_MAX + 1, "", "scopes inside each other"},
		{"$scope module ", "a", 140,
		 " $end $scope module bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"
		 "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb $end\n",
		 "names of the scopes together"},
		/* 140, a point and 114 are all there is room for */
		{"$scope module ", "a", 140,
		 " $end $scope module bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"
		 "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb $end $scope module c $end\n",
		 "names of the scopes together"},
		{"$var wire 1 ! ", "n", TD_VCD_NAME_MAX, " $end\n", "exceeds 127 bytes"},
		{"", "w", 200, "\n", "longer than this program reads"},
		{"$comment ", "k", TD_VCD_TEXT_MAX + 8, " $end\n", "longer than this program reads"},
		{"$var wire 1 ! a ", "[0 ", 100, "$end\n", "where $end belongs"},
		{"", "$var wire 1 ! a $end\n", TD_VCD_SIGNALS_MAX + 1, "", "more than 1024 signals"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		char *trace = repeated(rows[i].head, rows[i].piece, rows[i].times, rows[i].tail);

		assert_refused(trace, rows[i].why);
		free(trace);
	}
}

/* --- the end is missing --------------------------------------------------------------------------- */

static const char whole[] = HEAD "#0\n$dumpvars\n0!\nb0 #\n$end\n#1000\n1!\nb1010 #\n#2500\n"
				 "$comment mark one $end\n0!\n#3000\n";

/* Whether `part` tells the beginning of what `all` tells, whole lines only, before its closing lines. */
static bool is_beginning_of(const char *part, const char *all)
{
	const char *closing = strstr(part, "cut\nend ");

	if (!closing)
		closing = strstr(part, "end ");
	return closing && strncmp(part, all, (size_t)(closing - part)) == 0;
}

static void a_trace_cut_off_anywhere_among_its_values_tells_what_it_had(void **state)
{
	const size_t head = strlen(HEAD);
	char *all = story_of_bytes(whole, strlen(whole));
	int flagged = 0;

	(void)state;
	for (size_t length = head; length < strlen(whole); length++) {
		char *story = story_of_bytes(whole, length);

		if (strstr(story, "bad ") || !is_beginning_of(story, all))
			fail_msg("cut at byte %zu: %s", length, story);
		/* a whole line before the cut needs no flag, a broken one does */
		if (whole[length - 1] != '\n' && whole[length - 1] != ' ')
			assert_non_null(strstr(story, "\ncut\n"));
		flagged += strstr(story, "\ncut\n") != NULL;
		free(story);
	}
	assert_true(flagged > 0);
	print_message("# measured: %zu cuts, %d flagged\n", strlen(whole) - head, flagged);
	free(all);
}

static void a_trace_cut_off_in_its_head_is_refused(void **state)
{
	(void)state;
	for (size_t length = 0; length + 1 < strlen(HEAD); length++) {
		char *story = story_of_bytes(whole, length);

		if (!strstr(story, "bad trace: byte ") || !strstr(story, "before $enddefinitions"))
			fail_msg("cut at byte %zu: %s", length, story);
		free(story);
	}
}

static void a_number_cut_in_two_is_not_believed(void **state)
{
	(void)state;
	assert_story_is(HEAD "#10\n1!\n#12", HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	assert_story_is(HEAD "#10\n1!\nb1", HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	assert_story_is(HEAD "#10\n1!\nb1 ", HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	assert_story_is(HEAD "#10\n1!\nb1 #", HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	assert_story_is(HEAD "$dumpvars\n1!\n", HEAD_STORY "0 cart.level = 1\ncut\nend 0\n");
}

/* A file system that lost power may leave zero bytes where data was promised, with data that was written later behind
 * them (common practice, no source). */
static void zero_bytes_count_as_a_missing_end(void **state)
{
	char trace[512] = HEAD "#10\n1!\n#2";
	size_t length = strlen(trace);
	char *story = story_of_bytes(trace, sizeof(trace));

	(void)state;
	assert_string_equal(story, HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	free(story);

	(void)snprintf(trace + length + 20, 10, "\n#30\n0!\n");
	story = story_of_bytes(trace, length + 28);
	assert_string_equal(story, HEAD_STORY "time 10\n10 cart.level = 1\ncut\nend 10\n");
	free(story);
	story = story_of_bytes("\0\0\0#10\n", 7);
	assert_non_null(strstr(story, "bad trace: byte "));
	free(story);
}

/* --- robustness ----------------------------------------------------------------------------------- */

static void any_byte_replaced_ends_in_a_story_or_a_sentence(void **state)
{
	static const char nasty[] = {0, ' ', '\n', '$', '#', 'b', '0', '9', '[', (char)0xff};
	size_t length = strlen(whole);
	int runs = 0;
	int refused = 0;

	(void)state;
	for (size_t i = 0; i < length; i++) {
		for (size_t n = 0; n < sizeof(nasty); n++) {
			char *copy = strdup(whole);

			copy[i] = nasty[n];
			char *story = story_of_bytes(copy, length);
			assert_true(strstr(story, "bad trace: byte ") || strstr(story, "end "));
			refused += strstr(story, "bad trace: byte ") != NULL;
			runs++;
			free(story);
			free(copy);
		}
	}
	assert_true(refused > 0 && refused < runs);
	print_message("# measured: %d damaged traces, %d refused\n", runs, refused);
}

struct stopper {
	int calls;
	int stop_at;
};

static int count_call(struct stopper *stopper)
{
	return ++stopper->calls == stopper->stop_at;
}

static int stop_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	(void)at_ns;
	(void)kind;
	(void)text;
	return count_call(ctx);
}

static int stop_signal(void *ctx, const struct td_vcd_signal *signal)
{
	(void)signal;
	return count_call(ctx);
}

static int stop_begin(void *ctx)
{
	return count_call(ctx);
}

static int stop_time(void *ctx, td_ns at_ns)
{
	(void)at_ns;
	return count_call(ctx);
}

static int stop_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	(void)at_ns;
	(void)signal;
	(void)value;
	return count_call(ctx);
}

static enum td_vcd_result read_with(struct stopper *stopper, struct td_vcd_summary *summary)
{
	const struct td_vcd_sink sink = {stopper,   stop_text,   stop_signal, stop_begin,
					 stop_time, stop_change, NULL};
	struct td_error err;
	FILE *in = outside_reader(whole, strlen(whole));
	enum td_vcd_result result = td_vcd_read(in, "trace", &sink, summary, &err);

	(void)fclose(in);
	return result;
}

static void every_callback_can_stop_the_reading(void **state)
{
	struct td_vcd_summary summary;
	struct stopper all = {0, -1};

	(void)state;
	assert_int_equal(read_with(&all, &summary), TD_VCD_READ);
	assert_int_equal(all.calls, 2 + 1 + 4 + 5 + 1);
	for (int i = 1; i <= all.calls; i++) {
		struct stopper stopper = {0, i};

		assert_int_equal(read_with(&stopper, &summary), TD_VCD_STOPPED);
		assert_int_equal(stopper.calls, i);
	}
}

static int stop_real(void *ctx, td_ns at_ns, unsigned int signal, double value)
{
	(void)ctx;
	(void)signal;
	return at_ns == 5 && value > 2;
}

static void a_real_number_can_stop_the_reading(void **state)
{
	static const char reals[] = "$timescale 1 ns $end $var real 1 ! r $end $enddefinitions $end\n"
				    "#5\nr1.5 !\nr2.5 !\nr3.5 !\n";
	const struct td_vcd_sink sink = {.real = stop_real};
	struct td_vcd_summary summary;
	FILE *in = outside_reader(reals, strlen(reals));

	(void)state;
	assert_int_equal(td_vcd_read(in, "trace", &sink, &summary, NULL), TD_VCD_STOPPED);
	assert_int_equal(summary.changes, 2);
	(void)fclose(in);
}

static void the_summary_counts_what_was_read(void **state)
{
	const struct td_vcd_sink deaf = {0};
	struct td_vcd_summary summary;
	struct td_error err = {""};
	FILE *in = outside_reader(whole, strlen(whole));

	(void)state;
	assert_int_equal(td_vcd_read(in, "trace", &deaf, &summary, &err), TD_VCD_READ);
	assert_int_equal(summary.signals, 2);
	assert_int_equal(summary.changes, 5);
	assert_int_equal(summary.bytes, strlen(whole));
	assert_int_equal(summary.last_ns, 3000);
	assert_false(summary.cut_off);
	(void)fclose(in);
}

static void a_directory_is_no_trace(void **state)
{
	FILE *in = fopen("/", "r");
	char *story;

	(void)state;
	assert_non_null(in);
	story = story_of_file(in);
	assert_non_null(strstr(story, "cannot be read on: Is a directory"));
	free(story);
	(void)fclose(in);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_form_the_standard_allows_is_read),
		cmocka_unit_test(line_ends_of_other_systems_are_read),
		cmocka_unit_test(what_is_wrong_is_said_with_its_place),
		cmocka_unit_test(what_exceeds_the_limits_is_refused),
		cmocka_unit_test(a_trace_cut_off_anywhere_among_its_values_tells_what_it_had),
		cmocka_unit_test(a_trace_cut_off_in_its_head_is_refused),
		cmocka_unit_test(a_number_cut_in_two_is_not_believed),
		cmocka_unit_test(zero_bytes_count_as_a_missing_end),
		cmocka_unit_test(any_byte_replaced_ends_in_a_story_or_a_sentence),
		cmocka_unit_test(every_callback_can_stop_the_reading),
		cmocka_unit_test(a_real_number_can_stop_the_reading),
		cmocka_unit_test(the_summary_counts_what_was_read),
		cmocka_unit_test(a_directory_is_no_trace),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
