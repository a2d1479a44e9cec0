/* SPDX-License-Identifier: MIT */
#include "config/quiet.h"

#include <stdio.h>
#include <string.h>

#include "config/words.h"

enum { DAYS = 7, DAY_MINUTES = 24 * 60, ALL_DAYS = (1 << DAYS) - 1, TIME_LENGTH = 5 };

static const char *const day_name[DAYS] = {"sun", "mon", "tue", "wed", "thu", "fri", "sat"};

static const struct td_value_fault too_many = {"has too many spans", "name fewer"};
static const struct td_value_fault no_days = {
	"names no such day", "write mon, tue, wed, thu, fri, sat, sun, or two of them as mon-fri"};
static const struct td_value_fault no_span = {"is no span of time",
					      "write hours and minutes as in 22:00-06:30"};
static const struct td_value_fault no_length = {"begins and ends at the same time",
						"write 00:00-24:00 for a whole day"};

/* The day whose name `text` begins with, or -1. */
static int day_of(const char *text)
{
	for (int day = 0; day < DAYS; day++)
		if (strncmp(text, day_name[day], 3) == 0)
			return day;
	return -1;
}

/* "fri", or "fri-mon": onwards, over the end of the week if need be. */
static bool parse_days(const char *text, uint8_t *days)
{
	int first = day_of(text);
	int last = first;

	*days = 0;
	if (first < 0)
		return false;
	if (text[3] == '-')
		last = day_of(text + 4);
	if (last < 0 || strlen(text) != (text[3] == '-' ? 7U : 3U))
		return false;
	for (int day = first;; day = (day + 1) % DAYS) {
		*days |= (uint8_t)(1U << day);
		if (day == last)
			return true;
	}
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* "06:30"; 24:00 is the end of a day. */
static bool parse_time(const char *text, uint16_t *minute)
{
	if (!is_digit(text[0]) || !is_digit(text[1]) || text[2] != ':' || !is_digit(text[3]) ||
	    !is_digit(text[4]))
		return false;
	int hours = (text[0] - '0') * 10 + (text[1] - '0');
	int minutes = (text[3] - '0') * 10 + (text[4] - '0');

	*minute = (uint16_t)(hours * 60 + minutes);
	return minutes < 60 && *minute <= DAY_MINUTES;
}

static bool parse_span(const char *text, struct td_quiet_span *span)
{
	return strlen(text) == 2 * TIME_LENGTH + 1 && text[TIME_LENGTH] == '-' &&
	       parse_time(text, &span->from_minute) && parse_time(text + TIME_LENGTH + 1, &span->to_minute) &&
	       span->from_minute < DAY_MINUTES;
}

static const struct td_value_fault *parse_item(const char *text, size_t length, struct td_quiet_span *span)
{
	struct td_words words;

	td_words_split(text, length, &words);
	if (words.count != 1 && words.count != 2)
		return &no_span;
	span->days = ALL_DAYS;
	if (words.count == 2 && !parse_days(words.word[0], &span->days))
		return &no_days;
	if (!parse_span(words.word[words.count - 1], span))
		return &no_span;
	return span->from_minute == span->to_minute ? &no_length : NULL;
}

const struct td_value_fault *td_quiet_parse(const char *text, struct td_quiet *quiet)
{
	const struct td_value_fault *fault = NULL;
	bool more = true;

	memset(quiet, 0, sizeof(*quiet));
	while (more && !fault) {
		size_t length = strcspn(text, ",");

		fault = quiet->count < TD_QUIET_SPANS_MAX
				? parse_item(text, length, &quiet->span[quiet->count])
				: &too_many;
		quiet->count++;
		more = text[length] == ',';
		text += length + more;
	}
	if (fault)
		memset(quiet, 0, sizeof(*quiet));
	return fault;
}

static bool has(uint8_t days, int day)
{
	return (days >> (day % DAYS) & 1) != 0;
}

/* A set of days is one run, since it was written as one; "" where it is all of them. */
static void show_days(uint8_t days, char out[12])
{
	int first = 0;
	int last;

	out[0] = '\0';
	while (first < DAYS && (!has(days, first) || has(days, first + DAYS - 1)))
		first++;
	if (first == DAYS)
		return;
	for (last = first; has(days, last + 1);)
		last++;
	if (first == last)
		(void)snprintf(out, 12, "%s ", day_name[first]);
	else
		(void)snprintf(out, 12, "%s-%s ", day_name[first], day_name[last % DAYS]);
}

void td_quiet_show(const struct td_quiet *quiet, char out[TD_QUIET_SHOWN_MAX])
{
	size_t used = 0;

	out[0] = '\0';
	for (uint8_t i = 0; i < quiet->count; i++) {
		const struct td_quiet_span *span = &quiet->span[i];
		char days[12];

		show_days(span->days, days);
		used += (size_t)snprintf(out + used, TD_QUIET_SHOWN_MAX - used, "%s%s%02d:%02d-%02d:%02d",
					 i > 0 ? "," : "", days, span->from_minute / 60,
					 span->from_minute % 60, span->to_minute / 60, span->to_minute % 60);
	}
}

static bool begins_on(const struct td_quiet_span *span, int weekday)
{
	return (span->days >> weekday & 1) != 0;
}

/* A span that goes over midnight belongs to the day before as well. */
static bool covers(const struct td_quiet_span *span, int weekday, int minute)
{
	int before = (weekday + DAYS - 1) % DAYS;

	if (span->from_minute < span->to_minute)
		return begins_on(span, weekday) && minute >= span->from_minute && minute < span->to_minute;
	return (begins_on(span, weekday) && minute >= span->from_minute) ||
	       (begins_on(span, before) && minute < span->to_minute);
}

bool td_quiet_at(const struct td_quiet *quiet, int weekday, int minute)
{
	if (weekday < 0 || weekday >= DAYS)
		return false;
	for (uint8_t i = 0; i < quiet->count; i++)
		if (covers(&quiet->span[i], weekday, minute))
			return true;
	return false;
}
