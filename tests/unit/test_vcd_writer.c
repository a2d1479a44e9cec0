/* SPDX-License-Identifier: MIT */
/* Traces as they are written. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/story.h"
#include "trace/vcd_writer.h"

struct page {
	FILE *file;
	char *text;
	size_t size;
	struct td_vcd_writer *writer;
	struct td_error err;
};

static void open_page(struct page *page, const struct td_vcd_head *head)
{
	*page = (struct page){0};
	page->file = open_memstream(&page->text, &page->size);
	page->writer = td_vcd_writer_new(page->file, head, &page->err);
	assert_non_null(page->writer);
}

static void close_page(struct page *page)
{
	td_vcd_writer_free(page->writer);
	(void)fclose(page->file);
	free(page->text);
}

static void assert_page(struct page *page, const char *expected)
{
	(void)fflush(page->file);
	assert_string_equal(page->text, expected);
}

static void assert_story(struct page *page, const char *expected)
{
	(void)fflush(page->file);
	char *story = story_of_bytes(page->text, page->size);
	assert_string_equal(story, expected);
	free(story);
}

/* One scope with a level, a state and a begun file at 5 ms. */
static void open_small(struct page *page, int *level, int *number)
{
	open_page(page, &(struct td_vcd_head){0});
	assert_int_equal(td_vcd_writer_enter(page->writer, "boom", NULL), 0);
	*level = td_vcd_writer_signal(page->writer, "out_raise", 1, td_vcd_number(0), NULL);
	*number = td_vcd_writer_signal(page->writer, "state", 3, td_vcd_number(1), NULL);
	assert_int_equal(td_vcd_writer_begin(page->writer, TD_MS(5), NULL), 0);
}

static void a_trace_is_written_word_for_word(void **state)
{
	const struct td_vcd_head head = {"2026-11-25", "tripdog test", TD_VCD_SCALE_1US};
	struct page page;
	struct td_vcd_writer *w;

	(void)state;
	open_page(&page, &head);
	w = page.writer;
	assert_int_equal(td_vcd_writer_comment(w, "invented cart", NULL), 0);
	assert_int_equal(td_vcd_writer_enter(w, "cart", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "armed", 1, td_vcd_unknown(), NULL), 0);
	assert_int_equal(td_vcd_writer_enter(w, "boom", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "state", 3, td_vcd_number(1), NULL), 1);
	assert_int_equal(td_vcd_writer_begin(w, TD_MS(7), NULL), 0);
	assert_int_equal(td_vcd_writer_set(w, 1, TD_MS(7) + 1999, td_vcd_number(4), NULL), 0);
	assert_int_equal(td_vcd_writer_set(w, 0, TD_MS(7) + 1999, td_vcd_number(1), NULL), 0);
	assert_int_equal(td_vcd_writer_finish(w, TD_MS(8), NULL), 0);
	assert_page(&page, "$date 2026-11-25 $end\n"
			   "$version tripdog test $end\n"
			   "$timescale 1 us $end\n"
			   "$comment invented cart $end\n"
			   "$scope module cart $end\n"
			   "$var wire 1 ! armed $end\n"
			   "$scope module boom $end\n"
			   "$var wire 3 \" state [2:0] $end\n"
			   "$upscope $end\n"
			   "$upscope $end\n"
			   "$enddefinitions $end\n"
			   "#0\n$dumpvars\nx!\nb1 \"\n$end\n"
			   "#1\nb100 \"\n1!\n"
			   "#1000\n");
	close_page(&page);
}

static void what_was_written_is_read_back(void **state)
{
	struct page page;
	int level;
	int number;

	(void)state;
	open_small(&page, &level, &number);
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(5) + 3, td_vcd_number(1), NULL), 0);
	assert_int_equal(td_vcd_writer_set(page.writer, number, TD_MS(6), (struct td_vcd_value){4, 2}, NULL),
			 0);
	assert_int_equal(td_vcd_writer_finish(page.writer, TD_MS(9), NULL), 0);
	assert_story(&page, "signal boom out_raise 1\nsignal boom state 3\nbegin\n"
			    "time 0\n0 boom.out_raise = 0\n0 boom.state = 001\n"
			    "time 3\n3 boom.out_raise = 1\n"
			    "time 1000000\n1000000 boom.state = 1z0\n"
			    "time 4000000\nend 4000000\n");
	close_page(&page);
}

static void a_value_that_did_not_change_writes_nothing(void **state)
{
	struct page page;
	int level;
	int number;

	(void)state;
	open_small(&page, &level, &number);
	(void)fflush(page.file);
	size_t before = page.size;
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(6), td_vcd_number(0), NULL), 0);
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(6), td_vcd_number(2), NULL), 0);
	(void)fflush(page.file);
	assert_int_equal(page.size, before);
	close_page(&page);
}

static void every_change_at_one_moment_is_kept(void **state)
{
	struct page page;
	int level;
	int number;

	(void)state;
	open_small(&page, &level, &number);
	for (uint64_t value = 2; value < 5; value++)
		assert_int_equal(td_vcd_writer_set(page.writer, number, TD_MS(5), td_vcd_number(value), NULL),
				 0);
	assert_story(&page, "signal boom out_raise 1\nsignal boom state 3\nbegin\n"
			    "time 0\n0 boom.out_raise = 0\n0 boom.state = 001\n"
			    "0 boom.state = 010\n0 boom.state = 011\n0 boom.state = 100\nend 0\n");
	close_page(&page);
}

static void time_that_runs_backwards_is_refused_and_the_trace_goes_on(void **state)
{
	struct page page;
	int level;
	int number;

	(void)state;
	open_small(&page, &level, &number);
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(8), td_vcd_number(1), NULL), 0);
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(8) - 1, td_vcd_number(0), &page.err),
			 -1);
	assert_non_null(strstr(page.err.text, "backwards"));
	assert_int_equal(td_vcd_writer_finish(page.writer, TD_MS(7), &page.err), -1);
	assert_int_equal(td_vcd_writer_comment_at(page.writer, TD_MS(7), "late", &page.err), -1);
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_NEVER, td_vcd_number(0), &page.err), -1);
	assert_false(td_vcd_writer_broken(page.writer));
	assert_int_equal(td_vcd_writer_set(page.writer, level, TD_MS(9), td_vcd_number(0), &page.err), 0);
	assert_story(&page, "signal boom out_raise 1\nsignal boom state 3\nbegin\n"
			    "time 0\n0 boom.out_raise = 0\n0 boom.state = 001\n"
			    "time 3000000\n3000000 boom.out_raise = 1\n"
			    "time 4000000\n4000000 boom.out_raise = 0\nend 4000000\n");
	close_page(&page);
}

static void names_that_would_break_the_file_are_refused(void **state)
{
	static const char *const bad[] = {"",      "two words", "$end", "a.b",  "bus[3]",
					  "tab\t", "\xc3\xa9",  "x\n",  "x\x7f"};
	char longest[TD_VCD_NAME_MAX + 1];
	struct page page;

	(void)state;
	open_page(&page, &(struct td_vcd_head){0});
	assert_int_equal(td_vcd_writer_enter(page.writer, "cart", NULL), 0);
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		assert_int_equal(td_vcd_writer_enter(page.writer, bad[i], &page.err), -1);
		assert_int_equal(td_vcd_writer_signal(page.writer, bad[i], 1, td_vcd_number(0), &page.err),
				 -1);
		assert_non_null(strstr(page.err.text, "cannot name"));
	}
	memset(longest, 'a', sizeof(longest));
	longest[TD_VCD_NAME_MAX] = '\0';
	assert_int_equal(td_vcd_writer_signal(page.writer, longest, 1, td_vcd_number(0), &page.err), -1);
	longest[TD_VCD_NAME_MAX - 1] = '\0';
	assert_int_equal(td_vcd_writer_signal(page.writer, longest, 1, td_vcd_number(0), &page.err), 0);
	assert_int_equal(td_vcd_writer_begin(page.writer, 0, NULL), 0);
	char expected[3 * TD_VCD_NAME_MAX];
	(void)snprintf(expected, sizeof(expected), "signal cart %s 1\nbegin\ntime 0\n0 cart.%s = 0\nend 0\n",
		       longest, longest);
	assert_story(&page, expected);
	close_page(&page);
}

static void calls_out_of_order_are_refused(void **state)
{
	struct page page;
	struct td_vcd_writer *w;

	(void)state;
	open_page(&page, &(struct td_vcd_head){0});
	w = page.writer;
	assert_int_equal(td_vcd_writer_signal(w, "homeless", 1, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_leave(w, &page.err), -1);
	assert_int_equal(td_vcd_writer_set(w, 0, 1, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_finish(w, 1, &page.err), -1);
	assert_int_equal(td_vcd_writer_enter(w, "cart", &page.err), 0);
	assert_int_equal(td_vcd_writer_signal(w, "none", 0, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_signal(w, "wide", TD_VCD_WIDTH_MAX + 1, td_vcd_number(0), &page.err),
			 -1);
	assert_int_equal(td_vcd_writer_begin(w, -1, &page.err), -1);
	assert_int_equal(td_vcd_writer_begin(w, 1, &page.err), 0);
	assert_int_equal(td_vcd_writer_begin(w, 1, &page.err), -1);
	assert_int_equal(td_vcd_writer_enter(w, "late", &page.err), -1);
	assert_int_equal(td_vcd_writer_signal(w, "late", 1, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_set(w, 0, 1, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_set(w, -1, 1, td_vcd_number(0), &page.err), -1);
	assert_story(&page, "begin\ntime 0\nend 0\n");
	close_page(&page);
}

static void as_many_signals_as_promised_and_not_one_more(void **state)
{
	struct page page;
	char name[16];

	(void)state;
	open_page(&page, &(struct td_vcd_head){0});
	assert_int_equal(td_vcd_writer_enter(page.writer, "cart", NULL), 0);
	for (int i = 0; i < TD_VCD_SIGNALS_MAX; i++) {
		(void)snprintf(name, sizeof(name), "s%d", i);
		assert_int_equal(td_vcd_writer_signal(page.writer, name, 1, td_vcd_number(0), NULL), i);
	}
	assert_int_equal(td_vcd_writer_signal(page.writer, "more", 1, td_vcd_number(0), &page.err), -1);
	assert_int_equal(td_vcd_writer_begin(page.writer, 0, NULL), 0);
	(void)fflush(page.file);
	char *story = story_of_bytes(page.text, page.size);
	assert_null(strstr(story, "bad "));
	assert_non_null(strstr(story, "0 cart.s1023 = 0\nend 0\n"));
	free(story);
	close_page(&page);
}

static const char *const texts[] = {
	"",
	"one",
	"two words",
	" blanks around ",
	"tail \n",
	"[machine]\nname = glasshouse cart\n\n# $endless\n",
	"$ending here, and a$end",
	"\xc3\xa4 \xe2\x82\xac",
	"line\r\n",
	"\t",
};

static void texts_come_back_byte_for_byte(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++) {
		char expected[256];
		struct page page;

		open_page(&page, &(struct td_vcd_head){0});
		assert_int_equal(td_vcd_writer_comment(page.writer, texts[i], NULL), 0);
		assert_int_equal(td_vcd_writer_begin(page.writer, 0, NULL), 0);
		assert_int_equal(td_vcd_writer_comment_at(page.writer, 1500, texts[i], NULL), 0);
		(void)snprintf(
			expected, sizeof(expected),
			"text 0 comment [%s]\nbegin\ntime 0\ntime 1500\ntext 1500 comment [%s]\nend 1500\n",
			texts[i], texts[i]);
		assert_story(&page, expected);
		close_page(&page);
	}
}

static void a_text_as_long_as_promised_comes_back(void **state)
{
	char *longest = malloc(TD_VCD_TEXT_MAX + 1);
	struct page page;

	(void)state;
	memset(longest, 'k', TD_VCD_TEXT_MAX + 1);
	longest[TD_VCD_TEXT_MAX] = '\0';
	open_page(&page, &(struct td_vcd_head){0});
	assert_int_equal(td_vcd_writer_comment(page.writer, longest, &page.err), -1);
	longest[TD_VCD_TEXT_MAX - 1] = '\0';
	assert_int_equal(td_vcd_writer_comment(page.writer, longest, &page.err), 0);
	assert_int_equal(td_vcd_writer_begin(page.writer, 0, NULL), 0);
	(void)fflush(page.file);
	char *story = story_of_bytes(page.text, page.size);
	assert_non_null(strstr(story, longest));
	free(story);
	free(longest);
	close_page(&page);
}

static void texts_that_would_break_the_file_are_refused(void **state)
{
	static const char *const bad[] = {"$end",    "a $end b", "a\n$end",
					  "$end\tb", "bell\a",   "escape\x1b[1m"};
	struct page page;

	(void)state;
	open_page(&page, &(struct td_vcd_head){0});
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++)
		assert_int_equal(td_vcd_writer_comment(page.writer, bad[i], &page.err), -1);
	assert_int_equal(td_vcd_writer_begin(page.writer, 0, NULL), 0);
	assert_int_equal(td_vcd_writer_comment_at(page.writer, 9, "$end", &page.err), -1);
	assert_story(&page, "begin\ntime 0\nend 0\n");
	assert_null(td_vcd_writer_new(page.file, &(struct td_vcd_head){.date = "$end"}, &page.err));
	close_page(&page);
}

/* A device that is always full stands in for the disk. */
static void a_full_disk_is_reported_once_and_for_all(void **state)
{
	FILE *full = fopen("/dev/full", "w");
	struct td_error err = {""};
	struct td_error later = {""};

	(void)state;
	assert_non_null(full);
	assert_int_equal(setvbuf(full, NULL, _IOFBF, 4096), 0);
	struct td_vcd_writer *w = td_vcd_writer_new(full, &(struct td_vcd_head){0}, &err);
	assert_non_null(w);
	assert_int_equal(td_vcd_writer_enter(w, "cart", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "armed", 1, td_vcd_number(0), NULL), 0);
	assert_int_equal(td_vcd_writer_begin(w, 0, &err), 0);
	assert_false(td_vcd_writer_broken(w));
	assert_int_equal(td_vcd_writer_finish(w, 10, &err), -1);
	assert_true(td_vcd_writer_broken(w));
	assert_non_null(strstr(err.text, "No space left"));
	assert_int_equal(td_vcd_writer_set(w, 0, 20, td_vcd_number(1), &later), -1);
	assert_string_equal(later.text, err.text);
	td_vcd_writer_free(w);
	(void)fclose(full);

	full = fopen("/dev/full", "w");
	assert_int_equal(setvbuf(full, NULL, _IONBF, 0), 0);
	assert_null(td_vcd_writer_new(full, &(struct td_vcd_head){0}, &err));
	(void)fclose(full);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_trace_is_written_word_for_word),
		cmocka_unit_test(what_was_written_is_read_back),
		cmocka_unit_test(a_value_that_did_not_change_writes_nothing),
		cmocka_unit_test(every_change_at_one_moment_is_kept),
		cmocka_unit_test(time_that_runs_backwards_is_refused_and_the_trace_goes_on),
		cmocka_unit_test(names_that_would_break_the_file_are_refused),
		cmocka_unit_test(calls_out_of_order_are_refused),
		cmocka_unit_test(as_many_signals_as_promised_and_not_one_more),
		cmocka_unit_test(texts_come_back_byte_for_byte),
		cmocka_unit_test(a_text_as_long_as_promised_comes_back),
		cmocka_unit_test(texts_that_would_break_the_file_are_refused),
		cmocka_unit_test(a_full_disk_is_reported_once_and_for_all),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
