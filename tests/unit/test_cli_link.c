/* SPDX-License-Identifier: MIT */
/* The client's end of the socket, against a daemon made of a script. */
#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/link.h"
#include "tests/support/cli_server.h"

#define NEWS(n) ("<{\"jsonrpc\":\"2.0\",\"method\":\"news\",\"params\":{\"n\":" #n "}}")

static struct td_link *open_link(const struct fake_server *server)
{
	struct td_error err = {""};
	struct td_link *link = td_link_open(fake_path(server), &err);

	if (!link)
		fail_msg("%s", err.text);
	return link;
}

static json_int_t news_number(const json_t *news)
{
	return json_integer_value(json_object_get(json_object_get(news, "params"), "n"));
}

/* Calls once and expects this outcome and these words in the sentence. */
static void expect_call(struct td_link *link, td_ns timeout_ns, enum td_link_outcome outcome,
			const char *says)
{
	struct td_error err = {""};
	json_t *answer = NULL;

	assert_int_equal(td_link_call(link, "status", NULL, timeout_ns, &answer, &err), outcome);
	if (outcome != TD_LINK_OK && outcome != TD_LINK_REFUSED)
		assert_null(answer);
	if (!strstr(err.text, says))
		fail_msg("expected \"%s\" in \"%s\"", says, err.text);
	json_decref(answer);
}

/* The newest counts, be it of an answer or of a refusal; one of another length is none. */
static void R7_the_newest_token_is_kept(void **state)
{
	static const char newer[] = "fedcba98765432100000000100000000fedcba9876543210";
	static const char *const script[] = {">hello",
					     "=" FAKE_HELLO,
					     ">request",
					     "!{\"code\":-32001,\"message\":\"refused\",\"data\":{\"token\":"
					     "\"fedcba98765432100000000100000000fedcba9876543210\"}}",
					     ">request",
					     "={\"token\":\"short\"}",
					     NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);

	(void)state;
	assert_string_equal(td_link_token(link), "");
	assert_int_equal(td_link_call(link, "hello", NULL, TD_S(5), NULL, NULL), TD_LINK_OK);
	assert_string_equal(td_link_token(link), FAKE_TOKEN);
	assert_int_equal(td_link_call(link, "request", NULL, TD_S(5), NULL, NULL), TD_LINK_REFUSED);
	assert_string_equal(td_link_token(link), newer);
	assert_int_equal(td_link_call(link, "request", NULL, TD_S(5), NULL, NULL), TD_LINK_OK);
	assert_string_equal(td_link_token(link), newer);
	td_link_close(link);
	fake_finish(server);
}

static void a_call_gets_its_result(void **state)
{
	static const char *const script[] = {">status", "={\"armed\":true}", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	json_t *answer = NULL;

	(void)state;
	assert_int_equal(
		td_link_call(link, "status", json_pack("{s:s}", "axis", "boom"), TD_S(5), &answer, NULL),
		TD_LINK_OK);
	assert_true(json_is_true(json_object_get(answer, "armed")));
	json_decref(answer);
	td_link_close(link);

	json_t *calls = fake_end(server);
	json_t *wanted = json_pack("{s:s, s:i, s:s, s:{s:s}}", "jsonrpc", "2.0", "id", 1, "method", "status",
				   "params", "axis", "boom");
	assert_true(json_equal(json_array_get(calls, 0), wanted));
	json_decref(wanted);
	json_decref(calls);
}

static void a_call_without_parameters_sends_none(void **state)
{
	static const char *const script[] = {">status", "=true", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);

	(void)state;
	assert_int_equal(td_link_call(link, "status", NULL, TD_S(5), NULL, NULL), TD_LINK_OK);
	td_link_close(link);
	json_t *calls = fake_end(server);
	assert_null(json_object_get(json_array_get(calls, 0), "params"));
	json_decref(calls);
}

static void a_refusal_is_no_break(void **state)
{
	static const char *const script[] = {
		">status",
		("!{\"code\":-32001,\"message\":\"refused\",\"data\":{\"cause\":\"tripped\",\"rule\":\"R11\","
		 "\"sentence\":\"the axis has tripped\",\"remedy\":\"find the reason\"}}"),
		">status", "=1", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_error err = {""};
	json_t *answer = NULL;

	(void)state;
	assert_int_equal(td_link_call(link, "status", NULL, TD_S(5), &answer, &err), TD_LINK_REFUSED);
	assert_string_equal(err.text, "the axis has tripped");
	struct td_refusal refusal = td_refusal_read(answer);
	assert_int_equal(refusal.code, -32001);
	assert_int_equal(refusal.cause, TD_CAUSE_TRIPPED);
	assert_string_equal(refusal.rule, "R11");
	assert_string_equal(refusal.sentence, "the axis has tripped");
	assert_string_equal(refusal.remedy, "find the reason");
	json_decref(answer);
	expect_call(link, TD_S(5), TD_LINK_OK, "");
	td_link_close(link);
	fake_finish(server);
}

static void news_between_call_and_answer_are_kept_in_order(void **state)
{
	static const char *const script[] = {">status", NEWS(1), NEWS(2), "=7", NEWS(3), NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);

	(void)state;
	expect_call(link, TD_S(5), TD_LINK_OK, "");
	for (json_int_t n = 1; n <= 3; n++) {
		json_t *news = NULL;

		assert_int_equal(td_link_next_news(link, TD_S(5), &news, NULL), TD_LINK_OK);
		assert_int_equal(news_number(news), n);
		json_decref(news);
	}
	td_link_close(link);
	fake_finish(server);
}

static void answers_out_of_order_find_their_calls(void **state)
{
	static const char *const script[] = {">first", ">second",
					     "<{\"jsonrpc\":\"2.0\",\"id\":@,\"result\":\"second\"}",
					     "<{\"jsonrpc\":\"2.0\",\"id\":%,\"result\":\"first\"}", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_link_message message = {0};
	json_t *answer = NULL;
	int64_t id = 0;

	(void)state;
	assert_int_equal(td_link_send(link, "first", NULL, TD_S(5), &id, NULL), TD_LINK_OK);
	assert_int_equal(td_link_call(link, "second", NULL, TD_S(5), &answer, NULL), TD_LINK_OK);
	assert_string_equal(json_string_value(answer), "second");
	json_decref(answer);
	assert_int_equal(td_link_next(link, TD_S(5), &message, NULL), TD_LINK_OK);
	assert_int_equal(message.kind, TD_LINK_RESULT);
	assert_int_equal(message.id, id);
	assert_string_equal(json_string_value(message.body), "first");
	json_decref(message.body);
	td_link_close(link);
	fake_finish(server);
}

static void an_answer_set_aside_does_not_hide_news_nor_is_lost(void **state)
{
	static const char *const script[] = {">first", "=\"one\"", NEWS(5), NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_link_message message = {0};
	json_t *news = NULL;
	int64_t id = 0;

	(void)state;
	assert_int_equal(td_link_send(link, "first", NULL, TD_S(5), &id, NULL), TD_LINK_OK);
	assert_int_equal(td_link_next_news(link, TD_S(5), &news, NULL), TD_LINK_OK);
	assert_int_equal(news_number(news), 5);
	json_decref(news);
	assert_int_equal(td_link_next(link, 0, &message, NULL), TD_LINK_OK);
	assert_int_equal(message.id, id);
	json_decref(message.body);
	td_link_close(link);
	fake_finish(server);
}

static void a_message_in_pieces_is_one_message(void **state)
{
	static const char *const script[] = {">status", "-{\"jsonrpc\":\"2.0\",\"i",
					     "~5",      "-d\":1,\"resu",
					     "~5",      "-lt\":\"\xc3",
					     "~5",      "-\xa4\"}",
					     "~5",      "-\r\n",
					     NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	json_t *answer = NULL;

	(void)state;
	assert_int_equal(td_link_call(link, "status", NULL, TD_S(5), &answer, NULL), TD_LINK_OK);
	assert_string_equal(json_string_value(answer), "\xc3\xa4");
	json_decref(answer);
	td_link_close(link);
	fake_finish(server);
}

static void no_answer_in_time_is_a_timeout_and_the_link_goes_on(void **state)
{
	static const char *const script[] = {">status", ">status",
					     "<{\"jsonrpc\":\"2.0\",\"id\":%,\"result\":\"late\"}",
					     "=\"now\"", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_error err = {""};
	json_t *answer = NULL;

	(void)state;
	expect_call(link, TD_MS(20), TD_LINK_TIMEOUT, "did not answer in time");
	assert_int_equal(td_link_call(link, "status", NULL, TD_S(5), &answer, NULL), TD_LINK_OK);
	assert_string_equal(json_string_value(answer), "now");
	json_decref(answer);
	/* The late answer is gone, not set aside for somebody else to find. */
	struct td_link_message message = {0};
	assert_int_equal(td_link_next(link, 0, &message, &err), TD_LINK_TIMEOUT);
	td_link_close(link);
	fake_finish(server);
}

static void a_closed_connection_is_broken_and_stays_so(void **state)
{
	static const char *const script[] = {">status", ".", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	json_t *news = NULL;

	(void)state;
	expect_call(link, TD_S(5), TD_LINK_BROKEN, "the connection");
	expect_call(link, TD_S(5), TD_LINK_BROKEN, "lost before");
	assert_int_equal(td_link_next_news(link, 0, &news, NULL), TD_LINK_BROKEN);
	assert_null(news);
	td_link_close(link);
	fake_finish(server);
}

static void what_came_before_the_close_is_still_read(void **state)
{
	static const char *const script[] = {">status", "=1", NEWS(9), ".", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	json_t *news = NULL;

	(void)state;
	expect_call(link, TD_S(5), TD_LINK_OK, "");
	assert_int_equal(td_link_next_news(link, TD_S(5), &news, NULL), TD_LINK_OK);
	assert_int_equal(news_number(news), 9);
	json_decref(news);
	assert_int_equal(td_link_next_news(link, TD_S(5), &news, NULL), TD_LINK_BROKEN);
	td_link_close(link);
	fake_finish(server);
}

static void garbage_breaks_the_link(void **state)
{
	static const struct {
		const char *line;
		const char *says;
	} garbage[] = {
		{"<hello", "does not speak JSON"},
		{"<", "does not speak JSON"},
		{"<{\"id\":1,\"id\":1,\"result\":0}", "does not speak JSON"},
		{"<\xff\xfe", "does not speak JSON"},
		{"<[]", "neither an answer nor news"},
		{"<{}", "neither an answer nor news"},
		{"<{\"id\":\"1\",\"result\":0}", "neither an answer nor news"},
		{"<{\"id\":1}", "neither an answer nor news"},
		{"<{\"id\":1,\"result\":0,\"error\":{}}", "neither an answer nor news"},
		{"<{\"method\":\"news\",\"id\":1}", "neither an answer nor news"},
		{"<{\"method\":7}", "neither an answer nor news"},
		{"<{\"id\":null,\"error\":{\"code\":-32700,\"message\":\"Parse error\"}}", "Parse error"},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(garbage) / sizeof(garbage[0]); i++) {
		const char *const script[] = {">status", garbage[i].line, NULL};
		struct fake_server *server = fake_start(script);
		struct td_link *link = open_link(server);

		expect_call(link, TD_S(5), TD_LINK_BROKEN, garbage[i].says);
		td_link_close(link);
		fake_finish(server);
	}
}

static void an_answer_to_no_call_is_passed_over(void **state)
{
	static const char *const script[] = {
		">status",   "<{\"jsonrpc\":\"2.0\",\"id\":77,\"result\":\"stray\"}",
		"=\"mine\"", "=\"twice\"",
		NEWS(1),     NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_link_message message = {0};
	json_t *answer = NULL;

	(void)state;
	assert_int_equal(td_link_call(link, "status", NULL, TD_S(5), &answer, NULL), TD_LINK_OK);
	assert_string_equal(json_string_value(answer), "mine");
	json_decref(answer);
	assert_int_equal(td_link_next(link, TD_S(5), &message, NULL), TD_LINK_OK);
	assert_int_equal(message.kind, TD_LINK_NEWS);
	json_decref(message.body);
	td_link_close(link);
	fake_finish(server);
}

static void a_line_without_end_breaks_the_link(void **state)
{
	char *flood = malloc(TD_LINK_LINE_MAX + 2);
	const char *script[] = {">status", flood, NULL};

	(void)state;
	assert_non_null(flood);
	memset(flood, '1', TD_LINK_LINE_MAX + 1);
	flood[0] = '-';
	flood[TD_LINK_LINE_MAX + 1] = '\0';
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	expect_call(link, TD_S(5), TD_LINK_BROKEN, "a line of more than");
	td_link_close(link);
	fake_finish(server);
	free(flood);
}

static void too_many_unanswered_calls_are_a_timeout(void **state)
{
	static const char *const script[] = {"~100", NULL};
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	struct td_error err = {""};
	int64_t id = 0;

	(void)state;
	for (int i = 0; i < TD_LINK_CALLS_MAX; i++)
		assert_int_equal(td_link_send(link, "request", NULL, TD_S(5), &id, &err), TD_LINK_OK);
	assert_int_equal(td_link_send(link, "request", json_object(), TD_S(5), &id, &err), TD_LINK_TIMEOUT);
	assert_non_null(strstr(err.text, "has not answered"));
	td_link_close(link);
	json_t *calls = fake_end(server);
	assert_int_equal(fake_count(calls, "request"), TD_LINK_CALLS_MAX);
	json_decref(calls);
}

static void news_nobody_takes_break_the_link_not_the_memory(void **state)
{
	static const char *script[TD_LINK_WAITING_MAX + 3] = {">status"};

	(void)state;
	for (size_t i = 1; i <= TD_LINK_WAITING_MAX + 1; i++)
		script[i] = NEWS(1);
	struct fake_server *server = fake_start(script);
	struct td_link *link = open_link(server);
	expect_call(link, TD_S(20), TD_LINK_BROKEN, "nobody takes them");
	td_link_close(link);
	fake_finish(server);
}

static void opening_says_what_is_wrong(void **state)
{
	char long_path[256];
	struct td_error err = {""};

	(void)state;
	assert_null(td_link_open("/nonexistent/sock", &err));
	assert_int_equal(errno, ENOENT);
	assert_non_null(strstr(err.text, "/nonexistent/sock"));
	assert_non_null(strstr(err.text, "is the daemon running"));
	assert_null(td_link_open("/etc/passwd", &err));
	assert_int_equal(errno, ECONNREFUSED);
	assert_non_null(strstr(err.text, "nobody listens"));
	memset(long_path, 'x', sizeof(long_path) - 1);
	long_path[sizeof(long_path) - 1] = '\0';
	assert_null(td_link_open(long_path, &err));
	assert_non_null(strstr(err.text, "has 255"));
	assert_null(td_link_open("", &err));
	assert_null(td_link_open("/nonexistent/sock", NULL));
	td_link_close(NULL);
}

static void a_refusal_of_any_shape_can_be_read(void **state)
{
	static const char *const shapes[] = {"null",
					     "1",
					     "[]",
					     "{}",
					     "{\"data\":7}",
					     "{\"data\":{\"cause\":[],\"sentence\":1}}",
					     "{\"code\":\"x\",\"message\":{}}"};

	(void)state;
	for (size_t i = 0; i < sizeof(shapes) / sizeof(shapes[0]); i++) {
		json_t *shape = json_loads(shapes[i], JSON_DECODE_ANY, NULL);
		struct td_refusal refusal = td_refusal_read(shape);

		assert_int_equal(refusal.cause, TD_CAUSE_NONE);
		assert_string_equal(refusal.sentence, "refused without a reason");
		assert_string_equal(refusal.remedy, "");
		json_decref(shape);
	}
	assert_string_equal(td_refusal_read(NULL).rule, "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R7_the_newest_token_is_kept),
		cmocka_unit_test(a_call_gets_its_result),
		cmocka_unit_test(a_call_without_parameters_sends_none),
		cmocka_unit_test(a_refusal_is_no_break),
		cmocka_unit_test(news_between_call_and_answer_are_kept_in_order),
		cmocka_unit_test(answers_out_of_order_find_their_calls),
		cmocka_unit_test(an_answer_set_aside_does_not_hide_news_nor_is_lost),
		cmocka_unit_test(a_message_in_pieces_is_one_message),
		cmocka_unit_test(no_answer_in_time_is_a_timeout_and_the_link_goes_on),
		cmocka_unit_test(a_closed_connection_is_broken_and_stays_so),
		cmocka_unit_test(what_came_before_the_close_is_still_read),
		cmocka_unit_test(garbage_breaks_the_link),
		cmocka_unit_test(an_answer_to_no_call_is_passed_over),
		cmocka_unit_test(a_line_without_end_breaks_the_link),
		cmocka_unit_test(too_many_unanswered_calls_are_a_timeout),
		cmocka_unit_test(news_nobody_takes_break_the_link_not_the_memory),
		cmocka_unit_test(opening_says_what_is_wrong),
		cmocka_unit_test(a_refusal_of_any_shape_can_be_read),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
