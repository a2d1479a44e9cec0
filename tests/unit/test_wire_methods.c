/* SPDX-License-Identifier: MIT */
/* Every method's parameters, each fault made from the table itself, and the document that describes them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/method.h"

static char *text_of_length(int64_t length)
{
	char *text = malloc((size_t)length + 1);

	assert_non_null(text);
	memset(text, 'x', (size_t)length);
	text[length] = '\0';
	return text;
}

/* A value of the given size: a string of so many bytes, or that number. */
static json_t *value_of(const struct td_param *param, int64_t size)
{
	if (param->type == TD_PARAM_NUMBER)
		return json_integer(size);
	char *text = text_of_length(size);
	json_t *value = json_string(text);

	free(text);
	return value;
}

/* All parameters at their least. */
static json_t *good_params(const struct td_method *method)
{
	const struct td_param *param;
	json_t *params = json_object();

	for (unsigned int i = 0; (param = td_method_param(method, i)); i++)
		json_object_set_new(params, param->name, value_of(param, param->least));
	return params;
}

/* Takes `params` over. True: accepted; else the sentence says `expected`. */
static bool accepts(const struct td_method *method, json_t *params, const char *expected)
{
	struct td_args args;
	struct td_fault fault = {.code = TD_CODE_NONE};
	bool accepted = td_args_read(method, params, &args, &fault);

	json_decref(params);
	if (accepted)
		return true;
	assert_int_equal(fault.code, TD_CODE_PARAMS);
	if (!strstr(fault.sentence.text, expected))
		fail_msg("\"%s\" does not say \"%s\"", fault.sentence.text, expected);
	assert_null(args.axis);
	assert_null(args.way);
	assert_null(args.token);
	assert_true(args.hold == -1 && args.seq == -1 && args.lease_ms == -1);
	assert_true(args.protocol == -1 && args.protocol_least == -1);
	return false;
}

/* Calls `check` for each parameter of each method; returns how many there are. */
static unsigned int each_param(void (*check)(const struct td_method *, const struct td_param *))
{
	const struct td_method *method;
	const struct td_param *param;
	unsigned int count = 0;

	for (unsigned int m = 0; (method = td_method_at(m)); m++) {
		for (unsigned int p = 0; (param = td_method_param(method, p)); p++, count++)
			check(method, param);
	}
	return count;
}

static json_t *params_with(const struct td_method *method, const char *name, json_t *value)
{
	json_t *params = good_params(method);

	json_object_set_new(params, name, value);
	return params;
}

static void check_limits(const struct td_method *method, const struct td_param *param)
{
	assert_true(accepts(method, params_with(method, param->name, value_of(param, param->least)), ""));
	assert_true(accepts(method, params_with(method, param->name, value_of(param, param->most)), ""));
	assert_false(accepts(method, params_with(method, param->name, value_of(param, param->most + 1)),
			     param->name));
	assert_false(accepts(method, params_with(method, param->name, value_of(param, param->least - 1)),
			     param->name));
}

static void test_each_parameter_takes_its_limits_and_nothing_beyond(void **state)
{
	(void)state;
	assert_int_equal(each_param(check_limits), 16);
}

static void check_types(const struct td_method *method, const struct td_param *param)
{
	json_t *wrong[] = {json_null(),
			   json_true(),
			   json_array(),
			   json_object(),
			   json_real(60),
			   json_real(60.5),
			   param->type == TD_PARAM_NUMBER ? json_string("60") : json_integer(60)};

	for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); i++)
		assert_false(
			accepts(method, params_with(method, param->name, wrong[i]),
				param->type == TD_PARAM_NUMBER ? "whole number from" : "must be a string"));
}

static void test_each_parameter_refuses_every_other_type(void **state)
{
	(void)state;
	each_param(check_types);
}

static void check_absence(const struct td_method *method, const struct td_param *param)
{
	char needs[80];
	json_t *params = good_params(method);

	(void)snprintf(needs, sizeof(needs), "needs the parameter \"%s\"", param->name);
	json_object_del(params, param->name);
	assert_int_equal(accepts(method, params, needs), param->need == TD_PARAM_OPTIONAL);
}

static void test_each_required_parameter_is_missed(void **state)
{
	(void)state;
	each_param(check_absence);
}

static void check_misspelt(const struct td_method *method, const struct td_param *param)
{
	char wrong[40];
	char hint[80];

	(void)snprintf(wrong, sizeof(wrong), "%sx", param->name);
	(void)snprintf(hint, sizeof(hint), "did you mean \"%s\"", param->name);
	assert_false(accepts(method, params_with(method, wrong, json_integer(1)), hint));
}

static void test_each_misspelt_parameter_is_refused_with_the_nearest_name(void **state)
{
	(void)state;
	each_param(check_misspelt);
}

static void test_every_method_refuses_an_array_and_an_unknown_name(void **state)
{
	const struct td_method *method;
	unsigned int count = 0;

	(void)state;
	for (; (method = td_method_at(count)); count++) {
		assert_false(accepts(method, json_pack("[i]", 1), "by name"));
		assert_false(accepts(method, params_with(method, "qqqqqqqq", json_null()),
				     "no parameter \"qqqqqqqq\""));
		assert_true(accepts(method, good_params(method), ""));
	}
	assert_int_equal(count, TD_METHODS);
}

static void test_what_was_said_arrives_and_what_was_not_is_marked(void **state)
{
	struct td_fault fault;
	struct td_args args;
	static const char token[] = "0123456789abcdef0123456789abcdef0123456789abcdef";
	json_t *params = json_pack("{s:s, s:s, s:I, s:I, s:s}", "axis", "boom", "way", "raise", "hold",
				   (json_int_t)UINT32_MAX, "seq", (json_int_t)0, "token", token);

	(void)state;
	assert_true(td_args_read(td_method_find("request", &fault), params, &args, &fault));
	assert_string_equal(args.axis, "boom");
	assert_string_equal(args.way, "raise");
	assert_string_equal(args.token, token);
	assert_true(args.hold == UINT32_MAX && args.seq == 0 && args.lease_ms == -1);
	json_decref(params);
	assert_true(td_args_read(td_method_find("stop", &fault), NULL, &args, &fault));
	assert_null(args.axis);
}

static void test_a_misspelt_method_is_refused_with_the_nearest_name(void **state)
{
	struct td_fault fault;

	(void)state;
	assert_null(td_method_find("stopp", &fault));
	assert_int_equal(fault.code, TD_CODE_METHOD);
	assert_non_null(strstr(fault.sentence.text, "did you mean \"stop\""));
	assert_null(td_method_find("rpc.discover", &fault));
	assert_null(strstr(fault.sentence.text, "did you mean"));
	assert_null(td_method_find("", &fault));
}

/* R11, R12, R18: stopping is everybody's; what of a reset is the keeper's alone depends on the trip, and the core knows. */
static void test_R12_R18_only_vouching_and_rule_over_visitors_are_reserved_for_the_keeper(void **state)
{
	static const char *const reserved[] = {"cooled", "untwisted", "next", "close", "open"};
	const struct td_method *method;

	(void)state;
	for (unsigned int i = 0; (method = td_method_at(i)); i++) {
		bool is_reserved = false;

		for (size_t k = 0; k < sizeof(reserved) / sizeof(reserved[0]); k++)
			is_reserved = is_reserved || strcmp(method->name, reserved[k]) == 0;
		assert_int_equal(method->role == TD_ROLE_KEEPER, is_reserved);
	}
}

/* R7: what a notification may do without an answer can only end motion. */
static void test_R7_only_what_ends_motion_is_done_without_an_id(void **state)
{
	const struct td_method *method;

	(void)state;
	for (unsigned int i = 0; (method = td_method_at(i)); i++)
		assert_int_equal(method->without_id == TD_WITHOUT_ID_DONE,
				 method->id == TD_METHOD_STOP || method->id == TD_METHOD_LATCH ||
					 method->id == TD_METHOD_RELEASE || method->id == TD_METHOD_LEAVE);
}

/* --- the document --------------------------------------------------------------------------------------- */

static char *document(void)
{
	FILE *file = fopen("docs/protocol.md", "r");
	char *text = calloc(1, 100000);

	assert_non_null(file);
	assert_non_null(text);
	assert_true(fread(text, 1, 99999, file) > 1000);
	(void)fclose(file);
	return text;
}

static void must_say(const char *text, const char *words)
{
	if (!strstr(text, words))
		fail_msg("docs/protocol.md does not say \"%s\"", words);
}

static void test_the_document_has_every_method_parameter_and_code(void **state)
{
	const struct td_method *method;
	const struct td_param *param;
	const struct td_code_info *code;
	char *text = document();
	char words[200];

	(void)state;
	for (unsigned int m = 0; (method = td_method_at(m)); m++) {
		(void)snprintf(words, sizeof(words), "### %s\n", method->name);
		must_say(text, words);
		must_say(text, method->help);
		for (unsigned int p = 0; (param = td_method_param(method, p)); p++) {
			(void)snprintf(words, sizeof(words), "| `%s` | %s | %lld to %lld%s | %s |",
				       param->name,
				       param->need == TD_PARAM_REQUIRED ? "required" : "optional",
				       (long long)param->least, (long long)param->most,
				       param->type == TD_PARAM_NAME ? " bytes" : "", param->help);
			must_say(text, words);
		}
	}
	for (unsigned int i = 0; (code = td_code_at(i)); i++) {
		(void)snprintf(words, sizeof(words), "| %d | %s | %s |", (int)code->code, code->message,
			       code->when);
		must_say(text, words);
	}
	free(text);
}

/* Every line of the document that is marked as sent is a good call or a good batch. */
static void check_sent(const char *line)
{
	json_t *call = json_loads(line, 0, NULL);
	struct td_fault fault;
	struct td_args args;

	assert_non_null(call);
	if (json_is_object(call)) {
		const char *name = json_string_value(json_object_get(call, "method"));
		const struct td_method *method = td_method_find(name, &fault);

		assert_non_null(method);
		assert_true(td_args_read(method, json_object_get(call, "params"), &args, &fault));
	}
	json_decref(call);
}

static void test_every_line_the_document_sends_is_one_that_is_accepted(void **state)
{
	char *text = document();
	unsigned int count = 0;

	(void)state;
	for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n")) {
		if (strncmp(line, "> {", 3) != 0 && strncmp(line, "> [", 3) != 0)
			continue;
		check_sent(line + 2);
		count++;
	}
	assert_true(count >= TD_METHODS);
	print_message("# counted: %u example lines of docs/protocol.md are accepted\n", count);
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_each_parameter_takes_its_limits_and_nothing_beyond),
		cmocka_unit_test(test_each_parameter_refuses_every_other_type),
		cmocka_unit_test(test_each_required_parameter_is_missed),
		cmocka_unit_test(test_each_misspelt_parameter_is_refused_with_the_nearest_name),
		cmocka_unit_test(test_every_method_refuses_an_array_and_an_unknown_name),
		cmocka_unit_test(test_what_was_said_arrives_and_what_was_not_is_marked),
		cmocka_unit_test(test_a_misspelt_method_is_refused_with_the_nearest_name),
		cmocka_unit_test(
			test_R12_R18_only_vouching_and_rule_over_visitors_are_reserved_for_the_keeper),
		cmocka_unit_test(test_R7_only_what_ends_motion_is_done_without_an_id),
		cmocka_unit_test(test_the_document_has_every_method_parameter_and_code),
		cmocka_unit_test(test_every_line_the_document_sends_is_one_that_is_accepted),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
