/* SPDX-License-Identifier: MIT */
/*
 * JSON-RPC 2.0 by the letter (jsonrpc.org, version of 2013-01-04), at the socket itself: what is answered, under which id, and what
 * is not. What the wire makes of single texts is in test_wire_rpc and test_wire_json.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/front_rig.h"

#define V "\"jsonrpc\":\"2.0\""

/* `answer`: each id with its code (0 = a result), in order; "" = nothing is answered. */
static const struct {
	const char *section;
	const char *line;
	const char *answer;
} lines[] = {
	{"4 id a string", "{" V ",\"method\":\"leave\",\"id\":\"a\"}", "\"a\":-32001"},
	{"4 id a number", "{" V ",\"method\":\"describe\",\"id\":-7}", "-7:0"},
	{"4 id zero is an id", "{" V ",\"method\":\"describe\",\"id\":0}", "0:0"},
	{"4 id null is answered under null", "{" V ",\"method\":\"describe\",\"id\":null}", "null:0"},
	{"4 id with a fraction", "{" V ",\"method\":\"describe\",\"id\":1.5}", "null:-32600"},
	{"4 id an array", "{" V ",\"method\":\"describe\",\"id\":[]}", "null:-32600"},
	{"4 two calls under one id",
	 "[{" V ",\"method\":\"describe\",\"id\":1},{" V ",\"method\":\"x\",\"id\":1}]", "[1:0 1:-32601]"},
	{"4.1 notification of no method", "{" V ",\"method\":\"foobar\"}", ""},
	{"4.1 notification with wrong params", "{" V ",\"method\":\"release\",\"params\":{\"axis\":7}}", ""},
	{"4.1 notification that is refused", "{" V ",\"method\":\"cooled\"}", ""},
	{"4.1 what is no call is no notification", "{" V ",\"method\":1}", "null:-32600"},
	{"4.2 no params", "{" V ",\"method\":\"describe\",\"id\":1}", "1:0"},
	{"4.2 empty params", "{" V ",\"method\":\"describe\",\"params\":{},\"id\":1}", "1:0"},
	{"4.2 params null", "{" V ",\"method\":\"describe\",\"params\":null,\"id\":1}", "1:-32600"},
	{"4.2 params by position", "{" V ",\"method\":\"stop\",\"params\":[],\"id\":1}", "1:-32602"},
	{"4.2 case of a name", "{" V ",\"method\":\"stop\",\"params\":{\"Axis\":\"boom\"},\"id\":1}",
	 "1:-32602"},
	{"4.3 a name that is reserved", "{" V ",\"method\":\"rpc.x\",\"id\":1}", "1:-32601"},
	{"4.3 case of a method", "{" V ",\"method\":\"Describe\",\"id\":1}", "1:-32601"},
	{"5 an answer is no call", "{" V ",\"result\":1,\"id\":1}", "1:-32600"},
	{"5.1 no JSON", "{" V ",\"method\":\"describe\",\"id\":1", "null:-32700"},
	{"5.1 not UTF-8", "{" V ",\"method\":\"\xc3\x28\",\"id\":1}", "null:-32700"},
	{"6 empty batch", "[]", "null:-32600"},
	{"6 batch of no calls", "[1,[]]", "[null:-32600 null:-32600]"},
	{"6 batch of notifications", "[{" V ",\"method\":\"x\"},{" V ",\"method\":\"leave\"}]", ""},
	{"6 broken batch", "[{" V ",\"method\":\"describe\",\"id\":1},", "null:-32700"},
	{"6 mixed batch",
	 "[{" V ",\"method\":\"describe\",\"id\":\"1\"},{" V ",\"method\":\"x\"},{\"foo\":1},{" V
	 ",\"method\":\"x\",\"id\":\"2\"}]",
	 "[\"1\":0 null:-32600 \"2\":-32601]"},
};

static void add(char *text, size_t size, const json_t *answer)
{
	char *id = json_dumps(json_object_get(answer, "id"), JSON_ENCODE_ANY);
	size_t length = strlen(text);

	/* Section 5: all of these and no others, and either a result or an error. */
	assert_string_equal(json_string_value(json_object_get(answer, "jsonrpc")), "2.0");
	assert_int_equal(json_object_size(answer), 3);
	assert_non_null(id);
	(void)snprintf(text + length, size - length, "%s%s:%d",
		       length > 0 && text[length - 1] != '[' ? " " : "", id, rig_code(answer));
	if (rig_code(answer) == 0)
		assert_non_null(json_object_get(answer, "result"));
	free(id);
}

static void told(char *text, size_t size, const json_t *line)
{
	text[0] = '\0';
	if (!json_is_array(line)) {
		add(text, size, line);
		return;
	}
	(void)snprintf(text, size, "[");
	for (size_t i = 0; i < json_array_size(line); i++)
		add(text, size, json_array_get(line, i));
	(void)snprintf(text + strlen(text), size - strlen(text), "]");
}

static void each_line_is_answered_as_the_specification_has_it(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++) {
		struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
		char text[200] = "";

		print_message("# %s\n", lines[i].section);
		rig_send(client, lines[i].line);
		rig_send(client, "{" V ",\"method\":\"describe\",\"id\":\"end\"}");
		json_t *answer = rig_receive(client);

		if (strcmp(lines[i].answer, "") != 0) {
			told(text, sizeof(text), answer);
			json_decref(answer);
			answer = rig_receive(client);
		}
		assert_string_equal(text, lines[i].answer);
		assert_string_equal(json_string_value(json_object_get(answer, "id")), "end");
		json_decref(answer);
		rig_close(client);
	}
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_line_is_answered_as_the_specification_has_it),
	};

	return cmocka_run_group_tests_name("front_rpc", tests, NULL, NULL);
}
