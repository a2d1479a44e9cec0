/* SPDX-License-Identifier: MIT */
/* R7: what a token is worth. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "wire/limits.h"
#include "wire/token.h"

static const struct td_token now = {.run_ns = TD_S(7000), .client = 12, .turn = 3, .at_ns = TD_S(9000)};

static enum td_cause judged(struct td_token given)
{
	char text[TD_TOKEN_CHARS + 1];

	td_token_write(&given, text);
	return td_token_judge(text, &now);
}

static struct td_token given_at(td_ns at_ns)
{
	struct td_token token = now;

	token.at_ns = at_ns;
	return token;
}

static void what_is_written_reads_back_at_every_limit(void **state)
{
	static const struct td_token tokens[] = {
		{.run_ns = 0, .client = 0, .turn = 0, .at_ns = 0},
		{.run_ns = 1, .client = 2, .turn = 3, .at_ns = 4},
		{.run_ns = INT64_MAX, .client = UINT32_MAX, .turn = UINT32_MAX, .at_ns = INT64_MAX},
		{.run_ns = 0x0123456789abcdef, .client = 0x89abcdef, .turn = 0x76543210, .at_ns = 0x10},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(tokens) / sizeof(tokens[0]); i++) {
		char text[TD_TOKEN_CHARS + 1];
		struct td_token back;

		td_token_write(&tokens[i], text);
		assert_int_equal(strlen(text), TD_TOKEN_CHARS);
		assert_true(td_token_read(text, &back));
		assert_true(back.run_ns == tokens[i].run_ns && back.client == tokens[i].client);
		assert_true(back.turn == tokens[i].turn && back.at_ns == tokens[i].at_ns);
	}
}

static void R7_a_token_counts_up_to_its_age_and_not_a_nanosecond_longer(void **state)
{
	(void)state;
	assert_int_equal(judged(given_at(now.at_ns)), TD_CAUSE_NONE);
	assert_int_equal(judged(given_at(now.at_ns - TD_TOKEN_AGE_MAX_NS)), TD_CAUSE_NONE);
	assert_int_equal(judged(given_at(now.at_ns - TD_TOKEN_AGE_MAX_NS - 1)), TD_CAUSE_LATE);
	assert_int_equal(judged(given_at(now.at_ns - TD_S(10))), TD_CAUSE_LATE);
	assert_int_equal(judged(given_at(0)), TD_CAUSE_LATE);
}

static void R7_a_token_from_the_future_is_none(void **state)
{
	(void)state;
	assert_int_equal(judged(given_at(now.at_ns + 1)), TD_CAUSE_FOREIGN_TOKEN);
	assert_int_equal(judged(given_at(INT64_MAX)), TD_CAUSE_FOREIGN_TOKEN);
}

static void R7_a_token_of_another_run_connection_or_turn_is_none(void **state)
{
	struct td_token run = now;
	struct td_token client = now;
	struct td_token turn = now;

	(void)state;
	run.run_ns--;
	client.client++;
	turn.turn--;
	assert_int_equal(judged(run), TD_CAUSE_FOREIGN_TOKEN);
	assert_int_equal(judged(client), TD_CAUSE_FOREIGN_TOKEN);
	assert_int_equal(judged(turn), TD_CAUSE_FOREIGN_TOKEN);
}

/* Every text that differs from a good one in one place, or in length, is no token or another one, never a younger. */
static void R7_no_other_text_passes_for_it(void **state)
{
	static const char nasty[] = "/:@GAgz \x80\xff-x";
	char good[TD_TOKEN_CHARS + 1];
	char text[TD_TOKEN_CHARS + 2];

	(void)state;
	td_token_write(&now, good);
	for (size_t at = 0; at < TD_TOKEN_CHARS; at++) {
		for (size_t i = 0; i < sizeof(nasty) - 1; i++) {
			memcpy(text, good, sizeof(good));
			text[at] = nasty[i];
			assert_int_equal(td_token_judge(text, &now), TD_CAUSE_FOREIGN_TOKEN);
		}
		memcpy(text, good, sizeof(good));
		text[at] = '\0';
		assert_int_equal(td_token_judge(text, &now), TD_CAUSE_FOREIGN_TOKEN);
	}
	memcpy(text, good, sizeof(good));
	text[TD_TOKEN_CHARS] = '0';
	text[TD_TOKEN_CHARS + 1] = '\0';
	assert_int_equal(td_token_judge(text, &now), TD_CAUSE_FOREIGN_TOKEN);
	memset(text, 'f', TD_TOKEN_CHARS);
	text[TD_TOKEN_CHARS] = '\0';
	assert_int_equal(td_token_judge(text, &now), TD_CAUSE_FOREIGN_TOKEN);
	memcpy(text, "0000", 4);
	assert_int_equal(td_token_judge(text, &now), TD_CAUSE_FOREIGN_TOKEN);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_is_written_reads_back_at_every_limit),
		cmocka_unit_test(R7_a_token_counts_up_to_its_age_and_not_a_nanosecond_longer),
		cmocka_unit_test(R7_a_token_from_the_future_is_none),
		cmocka_unit_test(R7_a_token_of_another_run_connection_or_turn_is_none),
		cmocka_unit_test(R7_no_other_text_passes_for_it),
	};

	return cmocka_run_group_tests_name("wire_token", tests, NULL, NULL);
}
