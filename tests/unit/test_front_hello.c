/* SPDX-License-Identifier: MIT */
/* What comes before motion: a version in common, and a token that is this connection's, of this turn, and young. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "tests/support/front_rig.h"
#include "wire/limits.h"

static struct rig rig;

static int set_up(void **state)
{
	(void)state;
	rig_start_ready(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	return rig_end(&rig);
}

static json_int_t number(const json_t *object, const char *name)
{
	const json_t *value = json_object_get(object, name);

	assert_true(json_is_integer(value));
	return json_integer_value(value);
}

/* The token of an answer, wherever it stands; "" if there is none. Lives as long as the answer. */
static const char *token_of(const json_t *answer)
{
	const json_t *error = json_object_get(answer, "error");
	const json_t *from = error ? json_object_get(error, "data") : json_object_get(answer, "result");
	const char *token = json_string_value(json_object_get(from, "token"));

	return token ? token : "";
}

/* A request of the boom; the answer if the front gives one, else what the mover says to it. */
static json_t *ask_with(struct rig_client *client, unsigned int hold, const char *token, enum td_cause mover)
{
	char line[300];

	(void)snprintf(line, sizeof(line),
		       "{\"jsonrpc\":\"2.0\",\"id\":5,\"method\":\"request\",\"params\":{\"axis\":\"boom\","
		       "\"way\":\"raise\",\"hold\":%u,\"seq\":0,\"token\":\"%s\"}}",
		       hold, token);
	rig_send(client, line);
	if (mover != TD_CAUSE_NONE)
		rig_answer(&rig, rig_order(rig.orders).tag, mover);
	return rig_receive(client);
}

static void expect_refused(struct rig_client *client, const char *token, const char *cause)
{
	json_t *answer = ask_with(client, 1, token, TD_CAUSE_NONE);

	assert_string_equal(rig_outcome(answer), cause);
	assert_true(rig_no_order(&rig));
	json_decref(answer);
}

/* --- versions ------------------------------------------------------------------------------------------- */

static void hello_tells_version_role_and_limits(void **state)
{
	(void)state;
	for (int role = TD_ROLE_VISITOR; role <= TD_ROLE_KEEPER; role++) {
		struct rig_client *client = rig_connect(&rig, (enum td_role)role);
		json_t *answer = rig_call(client, "hello", "{\"protocol\":1}", 1);
		const json_t *result = json_object_get(answer, "result");
		const json_t *limits = json_object_get(result, "limits");
		const json_t *lines = json_object_get(limits, "lines_per_s");

		assert_int_equal(number(result, "protocol"), 1);
		assert_string_equal(json_string_value(json_object_get(result, "version")), TD_VERSION);
		assert_string_equal(json_string_value(json_object_get(result, "role")),
				    role == TD_ROLE_KEEPER ? "keeper" : "visitor");
		assert_int_equal(number(json_object_get(result, "lease"), "max_ms"), 1500);
		assert_int_equal(number(limits, "line_bytes"), TD_LINE_MAX);
		assert_int_equal(number(limits, "connections"), 64);
		assert_int_equal(number(limits, "unanswered"), 32);
		assert_int_equal(number(limits, "token_ms"), 300);
		assert_true(role == TD_ROLE_KEEPER ? json_is_null(lines) : json_integer_value(lines) == 200);
		assert_int_equal(strlen(token_of(answer)), TD_TOKEN_CHARS);
		json_decref(answer);
		rig_close(client);
	}
}

static const struct {
	const char *params;
	bool agreed;
} versions[] = {
	{"{\"protocol\":1}", true},
	{"{\"protocol\":1,\"protocol_least\":1}", true},
	{"{\"protocol\":9,\"protocol_least\":1}", true},
	{"{\"protocol\":4294967295,\"protocol_least\":1}", true},
	{"{\"protocol\":2}", false},
	{"{\"protocol\":3,\"protocol_least\":2}", false},
	{"{\"protocol\":4294967295}", false},
};

static void a_client_of_another_version_is_refused_and_told_which_there_is(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)state;
	for (size_t i = 0; i < sizeof(versions) / sizeof(versions[0]); i++) {
		json_t *answer = rig_call(client, "hello", versions[i].params, 1);

		print_message("# %s\n", versions[i].params);
		if (versions[i].agreed) {
			assert_int_equal(number(json_object_get(answer, "result"), "protocol"), 1);
		} else {
			assert_string_equal(rig_outcome(answer), "other-protocol");
			assert_string_equal(token_of(answer), "");
			assert_int_equal(
				number(json_object_get(json_object_get(answer, "error"), "data"), "protocol"),
				1);
		}
		json_decref(answer);
	}
	rig_close(client);
}

static void versions_that_are_none_are_wrong_parameters(void **state)
{
	static const char *const wrong[] = {"{}", "{\"protocol\":0}", "{\"protocol\":\"1\"}",
					    "{\"protocol\":1,\"protocol_least\":0}"};
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)state;
	for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); i++) {
		json_t *answer = rig_call(client, "hello", wrong[i], 1);

		assert_int_equal(rig_code(answer), -32602);
		json_decref(answer);
	}
	rig_close(client);
}

/* Without a hello there is no token; without a token nothing moves, but everything stops. */
static void R7_without_a_hello_nothing_moves_and_everything_stops(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	json_t *answer =
		rig_call(client, "request", "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":1,\"seq\":0}", 1);

	(void)state;
	assert_int_equal(rig_code(answer), -32602);
	assert_non_null(strstr(rig_sentence(answer), "by hello"));
	json_decref(answer);
	json_decref(rig_call(client, "hello", "{\"protocol\":2}", 2));
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":3,\"method\":\"stop\"}");
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_STOP);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":4,\"method\":\"latch\"}");
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_LATCH);
	assert_true(rig_no_order(&rig));
	rig_close(client);
}

/* --- tokens --------------------------------------------------------------------------------------------- */

static void R7_every_answer_to_a_request_brings_a_token_that_counts(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *started = ask_with(client, 1, rig_token(client), TD_CAUSE_STARTED);
	json_t *refused = ask_with(client, 2, token_of(started), TD_CAUSE_AT_END);
	json_t *used = ask_with(client, 2, token_of(refused), TD_CAUSE_NONE);
	json_t *last = ask_with(client, 3, token_of(used), TD_CAUSE_STARTED);

	(void)state;
	assert_string_equal(rig_outcome(started), "started");
	assert_string_equal(rig_outcome(refused), "at-end");
	assert_string_equal(rig_outcome(used), "hold-ended"); /* by the front itself */
	assert_string_equal(rig_outcome(last), "started");
	json_decref(started);
	json_decref(refused);
	json_decref(used);
	json_decref(last);
	rig_close(client);
}

static void R7_tokens_of_others_of_former_connections_and_made_up_ones_are_refused(void **state)
{
	struct rig_client *former = rig_connect(&rig, TD_ROLE_VISITOR);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	char token[TD_TOKEN_CHARS + 1];
	char future[TD_TOKEN_CHARS + 1];
	struct td_token later;

	(void)state;
	(void)snprintf(token, sizeof(token), "%s", rig_token(former));
	rig_close(former);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	expect_refused(client, token, "foreign-token");
	expect_refused(client, rig_token(other), "foreign-token");
	memset(token, '0', TD_TOKEN_CHARS);
	expect_refused(client, token, "foreign-token");
	memset(token, 'x', TD_TOKEN_CHARS);
	expect_refused(client, token, "foreign-token");
	assert_true(td_token_read(rig_token(client), &later));
	later.at_ns += TD_S(60);
	td_token_write(&later, future);
	expect_refused(client, future, "foreign-token");
	json_decref(ask_with(client, 1, rig_token(client), TD_CAUSE_STARTED));
	rig_close(client);
	rig_close(other);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(hello_tells_version_role_and_limits, set_up, tear_down),
		cmocka_unit_test_setup_teardown(
			a_client_of_another_version_is_refused_and_told_which_there_is, set_up, tear_down),
		cmocka_unit_test_setup_teardown(versions_that_are_none_are_wrong_parameters, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(R7_without_a_hello_nothing_moves_and_everything_stops, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(R7_every_answer_to_a_request_brings_a_token_that_counts,
						set_up, tear_down),
		cmocka_unit_test_setup_teardown(
			R7_tokens_of_others_of_former_connections_and_made_up_ones_are_refused, set_up,
			tear_down),
	};

	return cmocka_run_group_tests_name("front_hello", tests, NULL, NULL);
}
