/* SPDX-License-Identifier: MIT */
/*
 * JSON-RPC 2.0 as its specification has it (jsonrpc.org, version of 2013-01-04): all example pairs of
 * section 7 and the limits of sections 4 to 6. The pairs need methods that the product does not have: they
 * live here.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/message.h"
#include "wire/reply.h"

/* --- the methods of the specification's examples -------------------------------------------------------- */

static json_int_t operand(json_t *params, const char *name, size_t place)
{
	return json_integer_value(json_is_array(params) ? json_array_get(params, place)
							: json_object_get(params, name));
}

static json_t *subtract(json_t *params)
{
	return json_integer(operand(params, "minuend", 0) - operand(params, "subtrahend", 1));
}

static json_t *sum(json_t *params)
{
	json_int_t total = 0;

	for (size_t i = 0; i < json_array_size(params); i++)
		total += json_integer_value(json_array_get(params, i));
	return json_integer(total);
}

static json_t *get_data(json_t *params)
{
	(void)params;
	return json_pack("[s, i]", "hello", 5);
}

static json_t *nothing(json_t *params)
{
	(void)params;
	return json_null();
}

static const struct {
	const char *name;
	json_t *(*run)(json_t *params);
} methods[] = {
	{"subtract", subtract},  {"sum", sum},
	{"get_data", get_data},  {"update", nothing},
	{"notify_sum", nothing}, {"notify_hello", nothing},
};

static void answer_call(struct td_reply *reply, const struct td_message *message, size_t index)
{
	struct td_call call;
	struct td_fault fault = {.code = TD_CODE_NONE};

	if (!td_message_call(message, index, &call, &fault)) {
		td_reply_error(reply, call.id, td_fault_object(&fault));
		return;
	}
	for (size_t i = 0; i < sizeof(methods) / sizeof(methods[0]); i++) {
		if (strcmp(call.method, methods[i].name) != 0)
			continue;
		json_t *result = methods[i].run(call.params);

		if (call.id)
			td_reply_result(reply, call.id, result);
		else
			json_decref(result);
		return;
	}
	td_fault_set(&fault, TD_CODE_METHOD, "", "none of the examples is called so");
	if (call.id)
		td_reply_error(reply, call.id, td_fault_object(&fault));
}

/* The answer to a line, free() it; NULL for none. */
static char *answer_to(const char *line)
{
	struct td_message message;
	struct td_reply reply;
	struct td_fault fault = {.code = TD_CODE_NONE};
	size_t length = 0;

	if (!td_message_read(line, strlen(line), &message, &fault)) {
		td_reply_start(&reply, false);
		td_reply_error(&reply, NULL, td_fault_object(&fault));
	} else {
		td_reply_start(&reply, message.batch);
		for (size_t i = 0; i < message.count; i++)
			answer_call(&reply, &message, i);
		td_message_free(&message);
	}
	char *text = td_reply_text(&reply, &length);
	td_reply_free(&reply);
	if (!text)
		return NULL;
	assert_int_equal(text[length - 1], '\n');
	assert_ptr_equal(memchr(text, '\n', length), text + length - 1);
	text[length - 1] = '\0';
	return text;
}

/* --- section 7 ------------------------------------------------------------------------------------------ */

#define V "\"jsonrpc\": \"2.0\""
#define E(code, words, id)                                                                                   \
	"{" V ", \"error\": {\"code\": " code ", \"message\": \"" words "\"}, \"id\": " id "}"

static const struct {
	const char *name;
	const char *request;
	const char *response; /* "" = none */
} pairs[] = {
	{"positional", "{" V ", \"method\": \"subtract\", \"params\": [42, 23], \"id\": 1}",
	 "{" V ", \"result\": 19, \"id\": 1}"},
	{"positional, swapped", "{" V ", \"method\": \"subtract\", \"params\": [23, 42], \"id\": 2}",
	 "{" V ", \"result\": -19, \"id\": 2}"},
	{"named",
	 "{" V ", \"method\": \"subtract\", \"params\": {\"subtrahend\": 23, \"minuend\": 42}, \"id\": 3}",
	 "{" V ", \"result\": 19, \"id\": 3}"},
	{"named, other order",
	 "{" V ", \"method\": \"subtract\", \"params\": {\"minuend\": 42, \"subtrahend\": 23}, \"id\": 4}",
	 "{" V ", \"result\": 19, \"id\": 4}"},
	{"notification", "{" V ", \"method\": \"update\", \"params\": [1,2,3,4,5]}", ""},
	{"notification of no method", "{" V ", \"method\": \"foobar\"}", ""},
	{"no such method", "{" V ", \"method\": \"foobar\", \"id\": \"1\"}",
	 E("-32601", "Method not found", "\"1\"")},
	{"broken JSON", "{" V ", \"method\": \"foobar, \"params\": \"bar\", \"baz]",
	 E("-32700", "Parse error", "null")},
	{"invalid request", "{" V ", \"method\": 1, \"params\": \"bar\"}",
	 E("-32600", "Invalid Request", "null")},
	{"broken batch",
	 "[ {" V ", \"method\": \"sum\", \"params\": [1,2,4], \"id\": \"1\"}, {" V ", \"method\" ]",
	 E("-32700", "Parse error", "null")},
	{"empty batch", "[]", E("-32600", "Invalid Request", "null")},
	{"batch of one that is no call", "[1]", "[" E("-32600", "Invalid Request", "null") "]"},
	{"batch of three that are none", "[1,2,3]",
	 "[" E("-32600", "Invalid Request", "null") "," E("-32600", "Invalid Request", "null") "," E(
		 "-32600", "Invalid Request", "null") "]"},
	{"mixed batch",
	 "[ {" V ", \"method\": \"sum\", \"params\": [1,2,4], \"id\": \"1\"},"
	 "{" V ", \"method\": \"notify_hello\", \"params\": [7]},"
	 "{" V ", \"method\": \"subtract\", \"params\": [42,23], \"id\": \"2\"},"
	 "{\"foo\": \"boo\"},"
	 "{" V ", \"method\": \"foo.get\", \"params\": {\"name\": \"myself\"}, \"id\": \"5\"},"
	 "{" V ", \"method\": \"get_data\", \"id\": \"9\"} ]",
	 "[ {" V ", \"result\": 7, \"id\": \"1\"}, {" V
	 ", \"result\": 19, \"id\": \"2\"}," E("-32600", "Invalid Request", "null") "," E(
		 "-32601", "Method not found", "\"5\"") ", {" V
							", \"result\": [\"hello\", 5], \"id\": \"9\"} ]"},
	{"batch of notifications",
	 "[ {" V ", \"method\": \"notify_sum\", \"params\": [1,2,4]},"
	 "{" V ", \"method\": \"notify_hello\", \"params\": [7]} ]",
	 ""},
};

/* Our errors carry more than the examples': section 5.1 allows `data`. It must say something; then it is
 * taken off. */
static void check_data(json_t *answer)
{
	json_t *error = json_object_get(answer, "error");
	const char *sentence = json_string_value(json_object_get(json_object_get(error, "data"), "sentence"));

	if (!error)
		return;
	assert_non_null(sentence);
	assert_true(strlen(sentence) > 10);
	json_object_del(error, "data");
}

/* Answers of a batch may come in any order: each expected one is looked for. */
static bool same_answers(json_t *got, json_t *expected)
{
	if (!json_is_array(expected))
		return json_equal(got, expected);
	if (json_array_size(got) != json_array_size(expected))
		return false;
	for (size_t i = 0; i < json_array_size(expected); i++) {
		size_t at = 0;

		while (at < json_array_size(got) &&
		       !json_equal(json_array_get(got, at), json_array_get(expected, i)))
			at++;
		if (at == json_array_size(got))
			return false;
		json_array_remove(got, at);
	}
	return true;
}

static void test_every_example_of_section_7_is_answered_as_there(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(pairs) / sizeof(pairs[0]); i++) {
		char *text = answer_to(pairs[i].request);

		print_message("# %s\n", pairs[i].name);
		if (pairs[i].response[0] == '\0') {
			assert_null(text);
			continue;
		}
		assert_non_null(text);
		json_t *got = json_loads(text, 0, NULL);
		json_t *expected = json_loads(pairs[i].response, 0, NULL);

		assert_non_null(got);
		assert_non_null(expected);
		check_data(got);
		for (size_t j = 0; j < json_array_size(got); j++)
			check_data(json_array_get(got, j));
		assert_true(same_answers(got, expected));
		json_decref(got);
		json_decref(expected);
		free(text);
	}
}

/* --- sections 4 and 5: what is no call ------------------------------------------------------------------ */

static const struct {
	const char *name;
	const char *line;
	const char *says; /* part of the sentence; NULL: it is a call */
	const char *id;   /* the id it is answered under, as JSON; "" = it has none */
} calls[] = {
	{"string id", "{" V ",\"method\":\"m\",\"id\":\"a\"}", NULL, "\"a\""},
	{"empty string id", "{" V ",\"method\":\"m\",\"id\":\"\"}", NULL, "\"\""},
	{"null id", "{" V ",\"method\":\"m\",\"id\":null}", NULL, "null"},
	{"no id", "{" V ",\"method\":\"m\"}", NULL, ""},
	{"largest id", "{" V ",\"method\":\"m\",\"id\":9007199254740991}", NULL, "9007199254740991"},
	{"smallest id", "{" V ",\"method\":\"m\",\"id\":-9007199254740991}", NULL, "-9007199254740991"},
	{"empty params", "{" V ",\"method\":\"m\",\"params\":{},\"id\":1}", NULL, "1"},
	{"id too large", "{" V ",\"method\":\"m\",\"id\":9007199254740992}", "53 bits", ""},
	{"id too small", "{" V ",\"method\":\"m\",\"id\":-9007199254740992}", "53 bits", ""},
	{"fraction as id", "{" V ",\"method\":\"m\",\"id\":1.5}", "53 bits", ""},
	{"whole number written as fraction", "{" V ",\"method\":\"m\",\"id\":1.0}", "53 bits", ""},
	{"true as id", "{" V ",\"method\":\"m\",\"id\":true}", "53 bits", ""},
	{"array as id", "{" V ",\"method\":\"m\",\"id\":[1]}", "53 bits", ""},
	{"object as id", "{" V ",\"method\":\"m\",\"id\":{}}", "53 bits", ""},
	{"no version", "{\"method\":\"m\",\"id\":1}", "\"jsonrpc\"", "1"},
	{"version 1.0", "{\"jsonrpc\":\"1.0\",\"method\":\"m\",\"id\":1}", "\"jsonrpc\"", "1"},
	{"version as number", "{\"jsonrpc\":2.0,\"method\":\"m\",\"id\":1}", "\"jsonrpc\"", "1"},
	{"no method", "{" V ",\"id\":1}", "\"method\"", "1"},
	{"method null", "{" V ",\"method\":null,\"id\":1}", "\"method\"", "1"},
	{"params a string", "{" V ",\"method\":\"m\",\"params\":\"x\",\"id\":1}", "\"params\"", "1"},
	{"params null", "{" V ",\"method\":\"m\",\"params\":null,\"id\":1}", "\"params\"", "1"},
	{"params a number", "{" V ",\"method\":\"m\",\"params\":3,\"id\":1}", "\"params\"", "1"},
	{"misspelt member", "{" V ",\"method\":\"m\",\"parms\":{},\"id\":1}", "did you mean \"params\"", "1"},
	{"foreign member", "{" V ",\"method\":\"m\",\"id\":1,\"zzzzzz\":0}", "no member \"zzzzzz\"", "1"},
	{"capital member", "{" V ",\"method\":\"m\",\"ID\":1}", "no member \"ID\"", ""},
	{"a number", "7", "JSON object", ""},
	{"a string", "\"stop\"", "JSON object", ""},
	{"null", "null", "JSON object", ""},
	{"an empty object", "{}", "\"jsonrpc\"", ""},
};

static void test_tells_calls_from_what_is_none_and_keeps_the_id(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(calls) / sizeof(calls[0]); i++) {
		struct td_message message;
		struct td_call call;
		struct td_fault fault = {.code = TD_CODE_NONE};
		char *id = NULL;

		print_message("# %s\n", calls[i].name);
		assert_true(td_message_read(calls[i].line, strlen(calls[i].line), &message, &fault));
		assert_int_equal(td_message_call(&message, 0, &call, &fault), calls[i].says == NULL);
		if (calls[i].says) {
			assert_int_equal(fault.code, TD_CODE_INVALID);
			assert_non_null(strstr(fault.sentence.text, calls[i].says));
		}
		id = call.id ? json_dumps(call.id, JSON_ENCODE_ANY) : NULL;
		assert_string_equal(id ? id : "", calls[i].id);
		free(id);
		td_message_free(&message);
	}
}

static void batch_of(char *text, size_t size, int count)
{
	size_t length = (size_t)snprintf(text, size, "[");

	for (int i = 0; i < count; i++)
		length += (size_t)snprintf(text + length, size - length, "%s1", i > 0 ? "," : "");
	(void)snprintf(text + length, size - length, "]");
}

static void test_a_batch_holds_up_to_its_limit_and_not_one_more(void **state)
{
	char text[TD_LINE_MAX];
	struct td_message message;
	struct td_fault fault = {.code = TD_CODE_NONE};

	(void)state;
	batch_of(text, sizeof(text), TD_BATCH_MAX);
	assert_true(td_message_read(text, strlen(text), &message, &fault));
	assert_int_equal(message.count, TD_BATCH_MAX);
	td_message_free(&message);
	batch_of(text, sizeof(text), TD_BATCH_MAX + 1);
	assert_false(td_message_read(text, strlen(text), &message, &fault));
	assert_int_equal(fault.code, TD_CODE_INVALID);
	assert_non_null(strstr(fault.sentence.text, "17 calls, more than 16"));
}

static void test_a_promised_answer_holds_the_batch_back_until_it_is_given(void **state)
{
	struct td_reply reply;
	size_t length = 0;

	(void)state;
	td_reply_start(&reply, true);
	td_reply_promise(&reply);
	td_reply_promise(&reply);
	td_reply_result(&reply, NULL, json_integer(1));
	assert_false(td_reply_keep(&reply));
	td_reply_result(&reply, NULL, json_integer(2));
	assert_true(td_reply_keep(&reply));
	char *text = td_reply_text(&reply, &length);
	assert_memory_equal(text,
			    "[{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":null},"
			    "{\"jsonrpc\":\"2.0\",\"result\":2,\"id\":null}]\n",
			    length);
	free(text);
	td_reply_free(&reply);
}

static void test_a_notification_is_one_line_without_an_id(void **state)
{
	size_t length = 0;
	char *text =
		td_notification_text("news", json_pack("{s:s}", "a", "line\nbreak\xe2\x80\xa8"), &length);

	(void)state;
	assert_ptr_equal(memchr(text, '\n', length), text + length - 1);
	json_t *back = json_loadb(text, length, 0, NULL);
	assert_non_null(back);
	assert_null(json_object_get(back, "id"));
	assert_string_equal(json_string_value(json_object_get(back, "method")), "news");
	json_decref(back);
	free(text);
}

static void test_every_code_has_its_own_number_in_the_ranges_of_section_5_1(void **state)
{
	const struct td_code_info *info;
	unsigned int count = 0;

	(void)state;
	for (; (info = td_code_at(count)); count++) {
		bool defined = info->code == -32700 || (info->code <= -32600 && info->code >= -32603);
		bool servers = info->code <= -32000 && info->code >= -32099;

		assert_true(defined || servers);
		for (unsigned int i = 0; i < count; i++)
			assert_int_not_equal(td_code_at(i)->code, info->code);
	}
	assert_int_equal(count, 8);
}

static void test_words_that_are_not_utf_8_become_a_string_all_the_same(void **state)
{
	json_t *text = td_text_object("a\xff"
				      "b");

	(void)state;
	assert_string_equal(json_string_value(text), "a?b");
	json_decref(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_every_example_of_section_7_is_answered_as_there),
		cmocka_unit_test(test_tells_calls_from_what_is_none_and_keeps_the_id),
		cmocka_unit_test(test_a_batch_holds_up_to_its_limit_and_not_one_more),
		cmocka_unit_test(test_a_promised_answer_holds_the_batch_back_until_it_is_given),
		cmocka_unit_test(test_a_notification_is_one_line_without_an_id),
		cmocka_unit_test(test_every_code_has_its_own_number_in_the_ranges_of_section_5_1),
		cmocka_unit_test(test_words_that_are_not_utf_8_become_a_string_all_the_same),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
