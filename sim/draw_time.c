/* SPDX-License-Identifier: MIT */
#include "sim/draw_time.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

struct unit {
	td_ns from_ns; /* the shortest window it suits */
	td_ns unit_ns;
	const char *short_name;
	const char *long_name;
	int digits; /* decimals down to one nanosecond; whole steps only for minutes and hours */
};

static const struct unit units[] = {
	{TD_S(36000), TD_S(3600), "h", "hours", 0},
	{TD_S(600), TD_S(60), "min", "minutes", 0},
	{TD_S(1), TD_S(1), "s", "seconds", 9},
	{TD_MS(1), TD_MS(1), "ms", "milliseconds", 6},
	{TD_US(1), TD_US(1), "\xc2\xb5s", "microseconds", 3},
	{0, 1, "ns", "nanoseconds", 0},
};

static const struct unit *unit_for(td_ns span_ns)
{
	const struct unit *unit = units;

	while (span_ns < unit->from_ns)
		unit++;
	return unit;
}

/* The smallest step of the unit's finest decimal that is 1, 2 or 5 times a power of ten and gives no
 * more than the ticks wanted. */
static void choose_step(struct td_draw_axis *axis, td_ns span_ns, int ticks, int digits)
{
	static const int next_factor[] = {0, 2, 5, 0, 0, 10};
	td_ns power_ns = axis->unit_ns;
	int factor = 1;

	for (int i = 0; i < digits; i++)
		power_ns /= 10;
	axis->decimals = digits;
	while (span_ns / (power_ns * factor) > ticks) {
		factor = next_factor[factor];
		if (factor < 10)
			continue;
		factor = 1;
		power_ns *= 10;
		if (axis->decimals > 0)
			axis->decimals--;
	}
	axis->step_ns = power_ns * factor;
	axis->minor = factor == 2 ? 4 : 5;
	if (axis->step_ns < axis->minor)
		axis->minor = 1;
}

struct td_draw_axis td_draw_axis(td_ns span_ns, int ticks)
{
	const struct unit *unit = unit_for(span_ns);
	struct td_draw_axis axis = {
		.unit_ns = unit->unit_ns, .unit_short = unit->short_name, .unit_long = unit->long_name};

	choose_step(&axis, span_ns, ticks, unit->digits);
	axis.list_ns = unit->unit_ns > TD_S(1) ? TD_S(1) : unit->unit_ns;
	axis.list_short = unit->unit_ns > TD_S(1) ? "s" : unit->short_name;
	axis.list_decimals = unit->unit_ns > 1 ? 3 : 0;
	return axis;
}

void td_draw_time(td_ns at_ns, td_ns unit_ns, int decimals, char out[TD_DRAW_TIME_MAX])
{
	static const uint64_t scales[] = {1,      10,      100,      1000,      10000,
					  100000, 1000000, 10000000, 100000000, 1000000000};
	uint64_t scale = scales[decimals];
	uint64_t unit = (uint64_t)unit_ns;
	uint64_t whole = (uint64_t)at_ns / unit;
	/* in floating point: exact enough for the few digits shown, and nothing overflows */
	double part = (double)((uint64_t)at_ns % unit) / (double)unit * (double)scale;
	uint64_t parts = (uint64_t)(part + 0.5);

	if (parts >= scale) {
		whole++;
		parts = 0;
	}
	(void)snprintf(out, TD_DRAW_TIME_MAX, "%" PRIu64, whole);
	if (decimals > 0) {
		size_t length = strlen(out);

		/* scale + parts is a 1 and the decimals with their zeros; the 1 makes way for the point */
		(void)snprintf(out + length, TD_DRAW_TIME_MAX - length, "%" PRIu64, scale + parts);
		out[length] = '.';
	}
}

void td_draw_moment(const struct td_draw_axis *axis, td_ns at_ns, char out[TD_DRAW_TIME_MAX])
{
	char number[TD_DRAW_TIME_MAX];

	td_draw_time(at_ns, axis->list_ns, axis->list_decimals, number);
	(void)snprintf(out, TD_DRAW_TIME_MAX, "%.26s %s", number, axis->list_short);
}

void td_draw_clock(int64_t wall_ns, char out[TD_DRAW_TIME_MAX])
{
	int64_t ms = td_time_after(wall_ns, TD_US(500)) / TD_MS(1) % (86400 * INT64_C(1000));

	(void)snprintf(out, TD_DRAW_TIME_MAX, "%02d:%02d:%02d.%03d", (int)(ms / 3600000),
		       (int)(ms / 60000 % 60), (int)(ms / 1000 % 60), (int)(ms % 1000));
}

/* --- reading -------------------------------------------------------------------------------------- */

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool find_unit(const char *name, int64_t *unit_ns)
{
	static const struct {
		const char *name;
		int64_t ns;
	} known[] = {{"min", TD_S(60)}, {"s", TD_S(1)}, {"ms", TD_MS(1)}, {"us", TD_US(1)}, {"ns", 1}};

	for (size_t i = 0; i < sizeof(known) / sizeof(known[0]); i++) {
		if (strcmp(known[i].name, name) == 0) {
			*unit_ns = known[i].ns;
			return true;
		}
	}
	return false;
}

/* The digits after the point, in nanoseconds; *text ends up behind them. */
static bool parse_part(const char **text, int64_t unit_ns, int64_t *part_ns)
{
	*part_ns = 0;
	if (**text != '.')
		return true;
	if (!is_digit(*++*text))
		return false;
	for (; is_digit(**text); ++*text) {
		int64_t digit = **text - '0';

		if (unit_ns % 10 && digit)
			return false;
		unit_ns /= 10;
		*part_ns += digit * unit_ns;
	}
	return true;
}

bool td_draw_parse_time(const char *text, td_ns *at_ns)
{
	const char *unit = text + strspn(text, "0123456789.");
	int64_t unit_ns;
	int64_t whole = 0;
	int64_t part_ns;

	if (!is_digit(*text) || !find_unit(unit, &unit_ns))
		return false;
	for (; is_digit(*text); text++) {
		if (whole > TD_NEVER / 10 - 1)
			return false;
		whole = whole * 10 + (*text - '0');
	}
	if (!parse_part(&text, unit_ns, &part_ns) || text != unit || whole >= TD_NEVER / unit_ns - 1)
		return false;
	*at_ns = whole * unit_ns + part_ns;
	return true;
}
