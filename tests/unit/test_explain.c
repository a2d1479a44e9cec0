/* SPDX-License-Identifier: MIT */
/* What --explain-SUBJECT prints: nothing of the tables is missing, as text and as mdoc. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/cause.h"
#include "daemon/explain.h"
#include "layout.h"
#include "wire/method.h"
#include "wire/notice.h"

static char *text;

static void explain(enum td_subject subject, bool mdoc)
{
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	assert_non_null(out);
	td_explain(subject, mdoc, out);
	assert_int_equal(ferror(out), 0);
	assert_int_equal(fclose(out), 0);
}

static int forget(void **state)
{
	(void)state;
	free(text);
	text = NULL;
	return 0;
}

/* What is said is compared without line breaks and indentation. */
static void flatten(void)
{
	char *to = text;

	for (const char *from = text; *from; from++) {
		if (*from != '\n' && *from != ' ')
			*to++ = *from;
		else if (to == text || to[-1] != ' ')
			*to++ = ' ';
	}
	*to = '\0';
}

/* Finds the words behind `from`; a first letter may have become a capital one. */
static const char *must_say(const char *from, const char *words)
{
	const char *at = strstr(from, words + 1);

	if (!at || (at[-1] | 32) != (words[0] | 32))
		fail_msg("\"%s\" is missing", words);
	return at;
}

static void every_cause(bool mdoc)
{
	const struct td_cause_info *info;
	unsigned int count = 0;

	explain(TD_SUBJECT_CAUSES, mdoc);
	flatten();
	for (unsigned int i = 0; (info = td_cause_at(i)); i++) {
		char head[64];

		(void)snprintf(head, sizeof(head), mdoc ? ".It Ic %s Pq %d" : " %s (%d", info->name,
			       (int)info->cause);
		if (info->kind == TD_KIND_NONE) {
			assert_null(strstr(text, head));
			continue;
		}
		const char *at = must_say(text, head);

		at = must_say(at, info->sentence);
		at = must_say(at, info->remedy);
		assert_true(at - strstr(text, head) < 600);
		if (info->kind == TD_KIND_TRIP)
			must_say(at, td_cause_visitor_resets(info->cause)
					     ? "Reset by the keeper or a visitor."
					     : "Reset by the keeper alone.");
		count++;
	}
	assert_true(count > 50);
}

static void every_cause_is_told_with_what_to_do(void **state)
{
	(void)state;
	every_cause(false);
	assert_int_equal(forget(NULL), 0);
	every_cause(true);
}

static void every_method(bool mdoc)
{
	const struct td_method *method;
	const struct td_param *param;

	explain(TD_SUBJECT_PROTOCOL, mdoc);
	flatten();
	for (unsigned int m = 0; (method = td_method_at(m)); m++) {
		char words[128];

		(void)snprintf(words, sizeof(words), mdoc ? ".Ss %s " : " %s ", method->name);
		const char *at = must_say(must_say(text, words), method->help);

		must_say(at, method->role == TD_ROLE_KEEPER ? "For the keeper alone" : "For everybody");
		for (unsigned int p = 0; (param = td_method_param(method, p)); p++) {
			(void)snprintf(words, sizeof(words), "%s, %lld to %lld",
				       param->type == TD_PARAM_NAME ? "string" : "whole number",
				       (long long)param->least, (long long)param->most);
			at = must_say(must_say(must_say(at, param->name), words), param->help);
		}
	}
}

static void every_method_is_told_with_its_parameters(void **state)
{
	(void)state;
	every_method(false);
	assert_int_equal(forget(NULL), 0);
	every_method(true);
}

static void every_notification_and_code_is_told(void **state)
{
	const struct td_code_info *code;
	const struct td_notice_info *notice;

	(void)state;
	explain(TD_SUBJECT_PROTOCOL, false);
	flatten();
	for (unsigned int i = 0; (notice = td_notice_at(i)); i++)
		must_say(must_say(text, notice->name), notice->help);
	for (unsigned int i = 0; (code = td_code_at(i)); i++) {
		char words[64];

		(void)snprintf(words, sizeof(words), " %d (%s) ", (int)code->code, code->message);
		must_say(must_say(text, words), code->when);
	}
	must_say(text, "at most 4096 bytes");
}

static void the_keys_are_told_by_the_same_door(void **state)
{
	(void)state;
	explain(TD_SUBJECT_CONFIG, false);
	must_say(text, "\n  lease_ms = number\n");
	assert_int_equal(forget(NULL), 0);
	explain(TD_SUBJECT_CONFIG, true);
	must_say(text, "\n.It Ic lease_ms No = Ar number\n");
}

static void lines_are_short_and_macros_are_ours(void **state)
{
	static const char *const macros[] = {".Sh ", ".Ss ", ".Bl ", ".It ", ".El\n"};

	(void)state;
	for (int form = 0; form < 2 * TD_SUBJECTS; form++) {
		explain((enum td_subject)(form / 2), form % 2 == 1);
		for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
			bool macro = form % 2 == 1 && line[0] == '.';
			bool known = !macro && (form % 2 == 0 || line[0] != '\'');

			for (size_t i = 0; i < sizeof(macros) / sizeof(macros[0]); i++)
				known = known || strncmp(line, macros[i], strlen(macros[i])) == 0;
			assert_true(known);
			assert_true(macro || strcspn(line, "\n") <= 78);
		}
		assert_int_equal(forget(NULL), 0);
	}
}

/* --- docs/faults.md: how to look for it, beside what the table says ----------------------------------- */

static void read_faults(void)
{
	enum { PAGE_MAX = 65536 };
	FILE *in = fopen("docs/faults.md", "r");

	assert_non_null(in);
	text = calloc(1, PAGE_MAX);
	assert_non_null(text);
	assert_in_range(fread(text, 1, PAGE_MAX - 1, in), 1000, PAGE_MAX - 2);
	(void)fclose(in);
}

static void every_cause_with_something_to_do_is_among_the_faults(void **state)
{
	const struct td_cause_info *info;

	(void)state;
	read_faults();
	for (unsigned int i = 0; (info = td_cause_at(i)); i++) {
		char words[64];

		(void)snprintf(words, sizeof(words), info->kind == TD_KIND_TRIP ? "\n### `%s`\n" : "`%s`",
			       info->name);
		if (strncmp(info->remedy, "nothing", 7) != 0 && !strstr(text, words))
			fail_msg("docs/faults.md does not tell what to do about %s", info->name);
	}
}

static bool is_cause(const char *name, size_t length)
{
	const struct td_cause_info *info;

	for (unsigned int i = 0; (info = td_cause_at(i)); i++)
		if (strlen(info->name) == length && strncmp(info->name, name, length) == 0)
			return true;
	return false;
}

/* In headings and in the first column of a table stand names of causes and nothing else. */
static void nothing_else_is_among_the_faults(void **state)
{
	unsigned int found = 0;

	(void)state;
	read_faults();
	for (const char *line = text; *line; line += strcspn(line, "\n") + 1) {
		bool row = strncmp(line, "| `", 3) == 0;
		size_t length = row ? 2 + strcspn(line + 2, "|\n") : strcspn(line, "\n");

		if (!row && strncmp(line, "### ", 4) != 0)
			continue;
		for (const char *at = memchr(line, '`', length); at && at < line + length; found++) {
			size_t name = strcspn(at + 1, "`");

			if (!is_cause(at + 1, name))
				fail_msg("docs/faults.md tells of %.*s, which is no cause", (int)name,
					 at + 1);
			at += name + 2;
			at = at < line + length ? memchr(at, '`', (size_t)(line + length - at)) : NULL;
		}
	}
	assert_true(found > 40);
}

/* --- the layout underneath ------------------------------------------------------------------------------- */

static void a_text_is_broken_between_words_and_sentences(void **state)
{
	static const struct td_layout plain = {.indent = 70};
	static const struct td_layout mdoc = {.mdoc = true};
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	(void)state;
	assert_non_null(out);
	td_layout_text(out, &plain, "one two three. four a-word-longer-than-there-is-room");
	td_layout_sentence(out, &mdoc, "%s and .dot 'quote. next", "first");
	td_layout_text(out, &mdoc, ".It is none. 'Nor this.");
	td_layout_text(out, &mdoc, "two  blanks");
	assert_int_equal(fclose(out), 0);
	char *end = strstr(text, "First");

	assert_non_null(end);
	assert_string_equal(
		end, "First and \\&.dot \\&'quote.\nnext\n\\&.It is none.\n\\&'Nor this.\ntwo  blanks\n");
	*end = '\0';
	static const char *const words[] = {"one two", "three.", "four", "a-word-longer-than-there-is-room"};
	char *line = strtok(text, "\n");

	for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); i++, line = strtok(NULL, "\n")) {
		assert_non_null(line);
		assert_int_equal(strspn(line, " "), plain.indent);
		assert_string_equal(line + plain.indent, words[i]);
	}
	assert_null(line);
}

static void an_item_says_what_is_told_of_it(void **state)
{
	static const struct td_layout plain = {.indent = 2};
	static const struct td_layout mdoc = {.mdoc = true};
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	(void)state;
	assert_non_null(out);
	for (int i = 0; i < 2; i++) {
		const struct td_layout *layout = i == 0 ? &plain : &mdoc;

		td_layout_list(out, layout);
		td_layout_item(out, layout, "axis", "required");
		td_layout_item(out, layout, "news", "");
		td_layout_list_end(out, layout);
	}
	assert_int_equal(fclose(out), 0);
	assert_string_equal(text, "\n  axis (required)\n\n  news\n"
				  ".Bl -tag -width Ds\n.It Ic axis Pq required\n.It Ic news\n.El\n");
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test_teardown(every_cause_is_told_with_what_to_do, forget),
		cmocka_unit_test_teardown(every_method_is_told_with_its_parameters, forget),
		cmocka_unit_test_teardown(every_notification_and_code_is_told, forget),
		cmocka_unit_test_teardown(the_keys_are_told_by_the_same_door, forget),
		cmocka_unit_test(lines_are_short_and_macros_are_ours),
		cmocka_unit_test_teardown(every_cause_with_something_to_do_is_among_the_faults, forget),
		cmocka_unit_test_teardown(nothing_else_is_among_the_faults, forget),
		cmocka_unit_test_teardown(a_text_is_broken_between_words_and_sentences, forget),
		cmocka_unit_test_teardown(an_item_says_what_is_told_of_it, forget),
	};

	return cmocka_run_group_tests_name("explain", tests, NULL, NULL);
}
