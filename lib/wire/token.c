/* SPDX-License-Identifier: MIT */
#include "wire/token.h"

#include <string.h>

#include "wire/limits.h"

enum { TIME_DIGITS = 16, NUMBER_DIGITS = 8 };

static const char digits[] = "0123456789abcdef";

static char *put(char *text, uint64_t value, int count)
{
	for (int i = count - 1; i >= 0; i--) {
		text[i] = digits[value & 0xf];
		value >>= 4;
	}
	return text + count;
}

void td_token_write(const struct td_token *token, char text[TD_TOKEN_CHARS + 1])
{
	text = put(text, (uint64_t)token->run_ns, TIME_DIGITS);
	text = put(text, token->client, NUMBER_DIGITS);
	text = put(text, token->turn, NUMBER_DIGITS);
	text = put(text, (uint64_t)token->at_ns, TIME_DIGITS);
	*text = '\0';
}

/* Only digits were let in. */
static uint64_t take(const char **text, int count)
{
	uint64_t value = 0;

	for (int i = 0; i < count; i++, (*text)++)
		value = value << 4 | (uint64_t)(strchr(digits, **text) - digits);
	return value;
}

bool td_token_read(const char *text, struct td_token *token)
{
	if (strlen(text) != TD_TOKEN_CHARS || strspn(text, digits) != TD_TOKEN_CHARS)
		return false;
	uint64_t run_ns = take(&text, TIME_DIGITS);

	token->client = (uint32_t)take(&text, NUMBER_DIGITS);
	token->turn = (uint32_t)take(&text, NUMBER_DIGITS);
	uint64_t at_ns = take(&text, TIME_DIGITS);

	token->run_ns = (td_ns)(run_ns & INT64_MAX);
	token->at_ns = (td_ns)(at_ns & INT64_MAX);
	return run_ns <= INT64_MAX && at_ns <= INT64_MAX;
}

enum td_cause td_token_judge(const char *text, const struct td_token *now)
{
	struct td_token token;

	if (!td_token_read(text, &token) || token.run_ns != now->run_ns || token.client != now->client ||
	    token.turn != now->turn || token.at_ns > now->at_ns)
		return TD_CAUSE_FOREIGN_TOKEN;
	return now->at_ns - token.at_ns > TD_TOKEN_AGE_MAX_NS ? TD_CAUSE_LATE : TD_CAUSE_NONE;
}
