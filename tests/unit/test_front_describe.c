/* SPDX-License-Identifier: MIT */
/* A client that knows nothing but the answer to describe: every method it lists takes what is listed, and nothing else. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/front_rig.h"
#include "wire/method.h"
#include "wire/notice.h"

enum { PARAMS_FAULT = -32602, METHOD_FAULT = -32601 };

/* The mover of this test refuses whatever it is asked, so that every call is answered. */
static pid_t start_mover(const struct rig *rig)
{
	pid_t pid = fork();

	assert_true(pid >= 0);
	for (struct pollfd ready[2] = {{.fd = rig->orders, .events = POLLIN},
				       {.fd = rig->urgent, .events = POLLIN}};
	     pid == 0;) {
		if (poll(ready, 2, -1) < 0 || ((ready[0].revents | ready[1].revents) & POLLHUP))
			_exit(0);
		for (int i = 0; i < 2; i++)
			if (ready[i].revents & POLLIN)
				rig_answer(rig, rig_order(ready[i].fd).tag, TD_CAUSE_NOT_ARMED);
	}
	return pid;
}

static void end_mover(pid_t pid)
{
	assert_int_equal(kill(pid, SIGKILL), 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
}

struct scene {
	struct rig rig;
	pid_t mover;
	struct rig_client *keeper;
	json_t *methods; /* as described */
	int id;
};

static struct scene scene;

static int begin(void **state)
{
	(void)state;
	rig_start_ready(&scene.rig);
	scene.mover = start_mover(&scene.rig);
	scene.keeper = rig_connect(&scene.rig, TD_ROLE_KEEPER);
	json_t *answer = rig_call(scene.keeper, "describe", "", ++scene.id);

	scene.methods = json_incref(json_object_get(json_object_get(answer, "result"), "methods"));
	json_decref(answer);
	assert_true(json_array_size(scene.methods) > 0);
	return 0;
}

static int end(void **state)
{
	(void)state;
	json_decref(scene.methods);
	rig_close(scene.keeper);
	end_mover(scene.mover);
	assert_int_equal(rig_end(&scene.rig), 0);
	return 0;
}

static const char *text_of(const json_t *object, const char *member)
{
	const char *text = json_string_value(json_object_get(object, member));

	assert_non_null(text);
	return text;
}

static json_int_t number_of(const json_t *object, const char *member)
{
	assert_true(json_is_integer(json_object_get(object, member)));
	return json_integer_value(json_object_get(object, member));
}

/* A value that the description allows; names are those of the cart and of one form, and of what else is a name only its length is known. */
static json_t *good_value(const json_t *param)
{
	static const char filling[] = "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx";
	static const char *const known[][2] = {{"axis", "boom"}, {"way", "raise"}, {"form", "openmetrics"}};
	const char *type = text_of(param, "type");
	json_int_t least = number_of(param, "min");

	if (strcmp(type, "number") == 0)
		return json_integer(least);
	if (strcmp(type, "name") != 0)
		fail_msg("describe says a type that this test does not know: %s", type);
	for (size_t i = 0; i < sizeof(known) / sizeof(known[0]); i++)
		if (strcmp(text_of(param, "name"), known[i][0]) == 0)
			return json_string(known[i][1]);
	assert_in_range(least, 1, sizeof(filling) - 1);
	return json_stringn(filling, (size_t)least);
}

/* As it is described, but for an axis: "stop" and its like are tried without one, too. */
static json_t *good_params(const json_t *method, bool optional)
{
	json_t *params = json_object();
	size_t i;
	json_t *param;

	json_array_foreach(json_object_get(method, "params"), i, param)
	{
		if (optional || json_is_true(json_object_get(param, "required")))
			json_object_set_new(params, text_of(param, "name"), good_value(param));
	}
	return params;
}

/* Calls the method; takes the parameters over. What it answers is the caller's. */
static json_t *call(const json_t *method, json_t *params)
{
	char *text = json_dumps(params, JSON_COMPACT);
	json_t *answer = rig_call(scene.keeper, text_of(method, "name"), text, ++scene.id);

	assert_non_null(text);
	free(text);
	json_decref(params);
	return answer;
}

static void must_understand(const json_t *method, json_t *params)
{
	json_t *answer = call(method, params);

	if (rig_code(answer) == PARAMS_FAULT || rig_code(answer) == METHOD_FAULT)
		fail_msg("%s as described is not understood: %s", text_of(method, "name"),
			 rig_sentence(answer));
	json_decref(answer);
}

static void must_refuse(const json_t *method, json_t *params, const char *word)
{
	json_t *answer = call(method, params);

	if (rig_code(answer) != PARAMS_FAULT || !strstr(rig_sentence(answer), word))
		fail_msg("%s takes a fault with \"%s\"", text_of(method, "name"), word);
	json_decref(answer);
}

static void each_method(void (*check)(const json_t *method))
{
	size_t i;
	json_t *method;

	json_array_foreach(scene.methods, i, method)
	{
		check(method);
	}
}

/* --- the tests ------------------------------------------------------------------------------------------- */

static void compare_with_table(void **state)
{
	const struct td_method *method;
	unsigned int m = 0;

	(void)state;
	for (; (method = td_method_at(m)); m++) {
		const json_t *said = json_array_get(scene.methods, m);
		const json_t *params = json_object_get(said, "params");
		const struct td_param *param;
		unsigned int p = 0;

		assert_string_equal(text_of(said, "name"), method->name);
		assert_string_equal(text_of(said, "role"), td_role_name(method->role));
		assert_string_equal(text_of(said, "help"), method->help);
		assert_int_equal(json_object_size(said), 5);
		for (; (param = td_method_param(method, p)); p++) {
			const json_t *one = json_array_get(params, p);

			assert_string_equal(text_of(one, "name"), param->name);
			assert_string_equal(text_of(one, "help"), param->help);
			assert_true(number_of(one, "min") == param->least &&
				    number_of(one, "max") == param->most);
			assert_int_equal(json_is_true(json_object_get(one, "required")),
					 param->need == TD_PARAM_REQUIRED);
			assert_int_equal(json_object_size(one), 6);
		}
		assert_int_equal(json_array_size(params), p);
	}
	assert_int_equal(json_array_size(scene.methods), m);
}

static void call_as_described(const json_t *method)
{
	must_understand(method, good_params(method, false));
	must_understand(method, good_params(method, true));
}

static void every_method_takes_what_is_described(void **state)
{
	(void)state;
	each_method(call_as_described);
}

static void add_a_member(const json_t *method)
{
	json_t *params = good_params(method, true);

	json_object_set_new(params, "colour", json_integer(1));
	must_refuse(method, params, "\"colour\"");
}

static void every_method_refuses_an_unknown_member(void **state)
{
	(void)state;
	each_method(add_a_member);
}

static void spoil_each_param(const json_t *method)
{
	size_t i;
	json_t *param;

	json_array_foreach(json_object_get(method, "params"), i, param)
	{
		const char *name = text_of(param, "name");
		json_t *params = good_params(method, true);
		char quoted[64];

		(void)snprintf(quoted, sizeof(quoted), "\"%s\"", name);
		json_object_set_new(params, name, json_true());
		must_refuse(method, params, quoted);
		if (strcmp(text_of(param, "type"), "number") == 0) {
			params = good_params(method, true);
			json_object_set_new(params, name, json_integer(number_of(param, "max") + 1));
			must_refuse(method, params, quoted);
		}
		if (json_is_true(json_object_get(param, "required"))) {
			params = good_params(method, true);
			json_object_del(params, name);
			must_refuse(method, params, quoted);
		}
	}
}

static void every_parameter_is_held_to_its_description(void **state)
{
	(void)state;
	each_method(spoil_each_param);
}

/* Whoever follows gets the notifications of the table, each of them, and no other. */
static void a_follower_gets_the_notifications_of_the_table(void **state)
{
	bool seen[TD_NOTICES] = {false};
	struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_COAST),
				  rig_news_note(TD_CAUSE_END_REACHED, RIG_BOOM, RIG_RAISE, 0, 0)};

	(void)state;
	json_decref(rig_call(scene.keeper, "follow", "", ++scene.id));
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(&scene.rig, &notes[i]);
	rig_send(scene.keeper, "{\"jsonrpc\": \"2.0\", \"id\": 0, \"method\": \"close\"}");
	for (unsigned int found = 0, lines = 0; found < TD_NOTICES; lines++) {
		json_t *line = rig_receive(scene.keeper);
		const char *method = json_string_value(json_object_get(line, "method"));
		unsigned int n = 0;

		while (method && td_notice_at(n) && strcmp(method, td_notice_at(n)->name) != 0)
			n++;
		if (method && !td_notice_at(n))
			fail_msg("a notification that is in no table: %s", method);
		found += method && !seen[n];
		seen[n % TD_NOTICES] = seen[n % TD_NOTICES] || method;
		json_decref(line);
		assert_true(lines < 100);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(compare_with_table),
		cmocka_unit_test(every_method_takes_what_is_described),
		cmocka_unit_test(every_method_refuses_an_unknown_member),
		cmocka_unit_test(every_parameter_is_held_to_its_description),
		cmocka_unit_test(a_follower_gets_the_notifications_of_the_table),
	};

	return cmocka_run_group_tests_name("front_describe", tests, begin, end);
}
