/* SPDX-License-Identifier: MIT */
#include "trace/wall.h"

#include <stdbool.h>
#include <stddef.h>

#include "core/time.h"

struct date {
	int64_t year;
	int64_t month;
	int64_t day;
	int64_t hour;
	int64_t minute;
	int64_t second;
};

/* Exactly so many digits. */
static const char *digits(const char *text, int count, int64_t *value)
{
	*value = 0;
	for (int i = 0; text && i < count; i++, text++) {
		if (*text < '0' || *text > '9')
			return NULL;
		*value = *value * 10 + (*text - '0');
	}
	return text;
}

static const char *sign(const char *text, char wanted)
{
	return text && *text == wanted ? text + 1 : NULL;
}

/* Nanoseconds behind the point; digits past the ninth make no difference. */
static const char *fraction(const char *text, int64_t *ns)
{
	int64_t unit_ns = TD_S(1) / 10;

	*ns = 0;
	if (!text || *text != '.')
		return text;
	text++;
	if (*text < '0' || *text > '9')
		return NULL;
	for (; *text >= '0' && *text <= '9'; text++, unit_ns /= 10)
		*ns += unit_ns * (*text - '0');
	return text;
}

static bool is_leap(int64_t year)
{
	return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int64_t days_of_month(int64_t year, int64_t month)
{
	static const int64_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

	return days[month - 1] + (month == 2 && is_leap(year));
}

static bool exists(const struct date *date)
{
	return date->year >= 1970 && date->year <= 2261 && date->month >= 1 && date->month <= 12 &&
	       date->day >= 1 && date->day <= days_of_month(date->year, date->month) && date->hour <= 23 &&
	       date->minute <= 59 && date->second <= 60;
}

static int64_t days_since_1970(const struct date *date)
{
	int64_t days = date->day - 1;

	for (int64_t year = 1970; year < date->year; year++)
		days += is_leap(year) ? 366 : 365;
	for (int64_t month = 1; month < date->month; month++)
		days += days_of_month(date->year, month);
	return days;
}

int64_t td_wall_parse(const char *text)
{
	struct date date;
	int64_t ns = 0;

	text = sign(digits(text, 4, &date.year), '-');
	text = sign(digits(text, 2, &date.month), '-');
	text = sign(digits(text, 2, &date.day), 'T');
	text = sign(digits(text, 2, &date.hour), ':');
	text = sign(digits(text, 2, &date.minute), ':');
	text = fraction(digits(text, 2, &date.second), &ns);
	text = sign(text, 'Z');
	if (!text || *text != '\0' || !exists(&date))
		return 0;
	int64_t seconds = ((days_since_1970(&date) * 24 + date.hour) * 60 + date.minute) * 60 + date.second;
	return TD_S(seconds) + ns;
}
