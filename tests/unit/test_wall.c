/* SPDX-License-Identifier: MIT */
/* The wall clock in the head of a trace. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

#include <cmocka.h>

#include "core/time.h"
#include "trace/wall.h"

static void reads_dates_of_rfc_3339(void **state)
{
	static const struct {
		const char *text;
		int64_t ns;
	} good[] = {
		/* examples of RFC 3339 section 5.8, the seconds from date(1) of GNU coreutils */
		{"1985-04-12T23:20:50.52Z", TD_S(482196050) + TD_MS(520)},
		{"1990-12-31T23:59:60Z", TD_S(662688000)},
		{"1970-01-01T00:00:01Z", TD_S(1)},
		{"2000-02-29T12:00:00Z", TD_S(951825600)},
		{"2026-11-25T02:13:44.000000001Z", TD_S(1795572824) + 1},
		{"2026-11-25T02:13:44.0000000019999Z", TD_S(1795572824) + 1},
		{"2261-12-31T23:59:59Z", TD_S(9214646399)},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++)
		if (td_wall_parse(good[i].text) != good[i].ns)
			fail_msg("%s: %lld", good[i].text, (long long)td_wall_parse(good[i].text));
}

static void agrees_with_the_library_on_every_day(void **state)
{
	(void)state;
	for (int64_t day = 1; day < 106651; day += 13) {
		time_t seconds = (time_t)(day * 86400 + 4321);
		struct tm utc = {0};
		char text[40];

		(void)gmtime_r(&seconds, &utc);
		(void)strftime(text, sizeof(text), "%Y-%m-%dT%H:%M:%SZ", &utc);
		assert_true(td_wall_parse(text) == TD_S(seconds));
	}
}

static void is_unknown_for_everything_else(void **state)
{
	static const char *const bad[] = {
		"",
		"2026",
		"2026-11-25",
		"2026-11-25T02:13:44",
		"2026-11-25T02:13:44+00:00",
		"2026-11-25 02:13:44Z",
		"2026-11-25T02:13:44ZZ",
		"2026-11-25T02:13:44.Z",
		"2026-11-25T02:13:44.-1Z",
		"2026-11-25T02:13:44.5-Z",
		"2026-11-2xT02:13:44Z",
		"2026-13-25T02:13:44Z",
		"2026-00-25T02:13:44Z",
		"2026-02-29T02:13:44Z",
		"2100-02-29T02:13:44Z",
		"2026-04-31T02:13:44Z",
		"2026-11-00T02:13:44Z",
		"2026-11-25T24:13:44Z",
		"2026-11-25T02:60:44Z",
		"2026-11-25T02:13:61Z",
		"1969-12-31T23:59:59Z",
		"2262-01-01T00:00:00Z",
		"-026-11-25T02:13:44Z",
		"2026-11-2\xc3\xa9T02:13:44Z",
	};

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++)
		if (td_wall_parse(bad[i]) != 0)
			fail_msg("%s was read", bad[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(reads_dates_of_rfc_3339),
		cmocka_unit_test(agrees_with_the_library_on_every_day),
		cmocka_unit_test(is_unknown_for_everything_else),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
