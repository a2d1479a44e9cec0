/* SPDX-License-Identifier: MIT */
#include "daemon/client/time.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

td_ns td_cli_now(void)
{
	struct timespec now = {0};

	(void)clock_gettime(CLOCK_MONOTONIC, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

static td_ns unit_of(const char *text)
{
	static const struct {
		const char *name;
		td_ns ns;
	} unit[] = {{"ms", TD_MS(1)}, {"s", TD_S(1)}, {"min", TD_S(60)}};

	for (size_t i = 0; i < sizeof(unit) / sizeof(unit[0]); i++)
		if (strcmp(text, unit[i].name) == 0)
			return unit[i].ns;
	return 0;
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Digits with at most three decimals, in thousandths; -1 if there are none, or too many. */
static int64_t read_thousandths(const char **text)
{
	const char *at = *text;
	int64_t value = 0;
	int decimals = -1;

	if (!is_digit(*at))
		return -1;
	for (; is_digit(*at) || (*at == '.' && decimals < 0 && is_digit(at[1])); at++) {
		if (*at == '.') {
			decimals = 0;
			continue;
		}
		if (value > TD_CLI_TIME_MAX_NS / 10 || decimals == 3)
			return -1;
		value = value * 10 + (*at - '0');
		decimals += decimals >= 0;
	}
	for (decimals = decimals < 0 ? 0 : decimals; decimals < 3; decimals++)
		value = value > TD_CLI_TIME_MAX_NS / 10 ? TD_CLI_TIME_MAX_NS : value * 10;
	*text = at;
	return value;
}

int td_cli_parse_time(const char *text, td_ns *span_ns, struct td_error *err)
{
	const char *at = text;
	int64_t thousandths = read_thousandths(&at);
	td_ns unit_ns = thousandths < 0 ? 0 : unit_of(at);

	if (unit_ns == 0)
		return td_error_set(
			err,
			"\"%s\" is no time: write a number and its unit, ms, s or min, such as 500ms or 2s",
			text);
	/* Divided before it is multiplied: nothing can run over, and every unit has whole thousandths. */
	if (thousandths > TD_CLI_TIME_MAX_NS / (unit_ns / 1000))
		return td_error_set(err, "%s is too long: at most %d min", text,
				    (int)(TD_CLI_TIME_MAX_NS / TD_S(60)));
	td_ns span = thousandths * (unit_ns / 1000);
	if (span < TD_MS(1))
		return td_error_set(err, "%s is too short: at least 1ms", text);
	*span_ns = span;
	return 0;
}

void td_cli_format_time(td_ns span_ns, char *text, size_t size)
{
	int64_t ms = span_ns <= 0 ? 0 : (span_ns - 1) / TD_MS(1) + 1;

	if (ms < 1000)
		(void)snprintf(text, size, "%" PRId64 " ms", ms);
	else
		(void)snprintf(text, size, "%" PRId64 ".%" PRId64 " s", (ms + 99) / 1000,
			       (ms + 99) / 100 % 10);
}
