/* SPDX-License-Identifier: MIT */
#include "core/monitor_duty.h"

#include <string.h>

#define SPAN_NS(ident, name, span_s) TD_S(span_s),
static const td_ns span_ns[TD_BUDGET_SPANS] = {TD_BUDGET_TABLE(SPAN_NS)};
#undef SPAN_NS

static td_ns part_ns(int window)
{
	return span_ns[window] / TD_MONITOR_PARTS;
}

/* --- the winding ---------------------------------------------------------------------------------- */

/* One term more of the series, for a short x: what is left after it, as a share. */
static double left_after(double x, double inverse, double rest)
{
	return 1 - x * inverse * rest;
}

/* Of the rest the same share again. */
static double doubled(double share)
{
	return share * (2 - share);
}

/* After x time constants: 1 - e^-x, the share of the way to the final value. A short x by its series, to the
 * seventh term, which leaves out less than 2^-56 of it; a longer one as two of half its length. */
static double covered(double x)
{
	static const double inverse[] = {1.0 / 7, 1.0 / 6, 1.0 / 5, 1.0 / 4, 1.0 / 3, 1.0 / 2};
	int doublings = 0;
	double rest = 1;

	if (x >= 64)
		return 1;
	while (x > 1.0 / 64) {
		x *= 0.5;
		doublings++;
	}
	for (unsigned int i = 0; i < sizeof(inverse) / sizeof(inverse[0]); i++)
		rest = left_after(x, inverse[i], rest);
	double share = x * rest;

	for (; doublings > 0; doublings--)
		share = doubled(share);
	return share;
}

static double constants(td_ns time_ns, td_ns tau_ns)
{
	return (double)time_ns / (double)(tau_ns > 0 ? tau_ns : 1);
}

static double final_heat(const struct td_duty_rules *rules)
{
	return rules->inf_ppm / 1e6;
}

static double heat_after(const struct td_duty_rules *rules, double heat, td_ns powered_ns)
{
	return heat + (final_heat(rules) - heat) * covered(constants(powered_ns, rules->tau_on_ns));
}

double td_monitor_duty_heat(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
			    td_ns now_ns)
{
	td_ns time_ns = td_time_between(duty->since_ns, now_ns);

	if (duty->on)
		return heat_after(rules, duty->heat, time_ns);
	return duty->heat - duty->heat * covered(constants(time_ns, rules->tau_off_ns));
}

static bool above(double heat, double limit)
{
	return heat > limit + TD_MONITOR_HEAT_TOLERANCE;
}

/* A rise is never steeper than at its beginning: most looks need no more than this. */
static bool certainly_below(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
			    td_ns powered_ns)
{
	double inf = final_heat(rules);

	if (duty->heat > 1)
		return false;
	return inf <= 1 || duty->heat + (inf - duty->heat) * constants(powered_ns, rules->tau_on_ns) <= 1;
}

/* A whole millisecond more, and it would have passed the limit. */
static bool was_due(const struct td_monitor_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	td_ns powered_ns = td_time_between(duty->since_ns, now_ns);
	td_ns next_ns = td_time_after(powered_ns - powered_ns % TD_MS(1), TD_MS(1));

	return !certainly_below(duty, rules, next_ns) && above(heat_after(rules, duty->heat, next_ns), 1);
}

/* --- the powered time ----------------------------------------------------------------------------- */

static td_ns counter_ns(const struct td_monitor_duty *duty, td_ns at_ns)
{
	return duty->on ? td_time_after(duty->total_ns, td_time_between(duty->since_ns, at_ns))
			: duty->total_ns;
}

/* A moment at which the counter is read. */
struct moment {
	int64_t number;
	td_ns at_ns;
};

static struct moment latest_moment(int index, td_ns now_ns)
{
	td_ns since_ns = now_ns % part_ns(index);

	return (struct moment){now_ns / part_ns(index), now_ns - since_ns};
}

static void take_reading(struct td_monitor_duty *duty, int index, struct moment moment)
{
	duty->window[index].reading_ns[moment.number % TD_MONITOR_READINGS] = counter_ns(duty, moment.at_ns);
}

/* Takes the readings of the moments up to now that have none yet, as many as have a place: the newest first, so that no
 * moment has to be multiplied out. */
static void read_counter(struct td_monitor_duty *duty, int index, td_ns now_ns)
{
	struct td_monitor_window *window = &duty->window[index];
	struct moment newest = latest_moment(index, now_ns);
	struct moment next = newest;

	if (newest.number <= window->newest)
		return;
	for (int taken = 0; taken < TD_MONITOR_READINGS && next.number > window->newest; taken++) {
		take_reading(duty, index, next);
		next.number--;
		next.at_ns -= part_ns(index);
	}
	window->newest = newest.number;
}

/* The most that the counter can have said at `at_ns`, no more than a window before the last change. */
static td_ns most_ns(const struct td_monitor_duty *duty, int index, td_ns at_ns)
{
	const struct td_monitor_window *window = &duty->window[index];

	if (at_ns >= duty->since_ns)
		return counter_ns(duty, at_ns);
	if (at_ns < 0)
		return 0;
	struct moment before = latest_moment(index, at_ns);
	td_ns most = window->reading_ns[before.number % TD_MONITOR_READINGS] + (at_ns - before.at_ns);
	td_ns next = before.number < window->newest
			     ? window->reading_ns[(before.number + 1) % TD_MONITOR_READINGS]
			     : duty->total_ns;

	return td_time_earlier(most, next);
}

/* Certainly powered within the window that ends at `to_ns`, if powered until then. */
static td_ns spent_ns(const struct td_monitor_duty *duty, int index, td_ns to_ns)
{
	return counter_ns(duty, to_ns) - most_ns(duty, index, to_ns - span_ns[index]);
}

/* --- what the monitor calls ----------------------------------------------------------------------- */

void td_monitor_duty_init(struct td_monitor_duty *duty, td_ns now_ns)
{
	memset(duty, 0, sizeof(*duty));
	duty->since_ns = now_ns;
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		duty->window[i].newest = now_ns / part_ns(i);
}

void td_monitor_duty_power(struct td_monitor_duty *duty, const struct td_duty_rules *rules, bool on,
			   td_ns now_ns)
{
	if (duty->on == on)
		return;
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		read_counter(duty, i, now_ns);
	if (duty->on)
		duty->hot = was_due(duty, rules, now_ns);
	duty->heat = td_monitor_duty_heat(duty, rules, now_ns);
	duty->total_ns = counter_ns(duty, now_ns);
	duty->since_ns = now_ns;
	duty->on = on;
}

static enum td_breach heat_breach(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
				  td_ns ahead_ns, bool starts)
{
	if (starts && duty->hot && above(duty->heat, rules->restart_ppm / 1e6))
		return TD_BREACH_WARM_START;
	if (certainly_below(duty, rules, ahead_ns) || !above(heat_after(rules, duty->heat, ahead_ns), 1))
		return TD_BREACH_NONE;
	return starts ? TD_BREACH_WARM_START : TD_BREACH_HEAT;
}

struct td_monitor_finding td_monitor_duty_judge(const struct td_monitor_duty *duty,
						const struct td_duty_rules *rules, td_ns now_ns, bool starts)
{
	td_ns to_ns = starts ? td_time_after(now_ns, rules->least_ns) : now_ns;
	td_ns powered_ns = td_time_between(duty->since_ns, to_ns);
	struct td_monitor_finding finding = {TD_BREACH_NONE, 0, 0};

	if (to_ns > TD_BUDGET_TIME_MAX_NS)
		return finding;
	finding.breach = heat_breach(duty, rules, powered_ns, starts);
	if (finding.breach != TD_BREACH_NONE) {
		finding.measured_ns = td_time_between(duty->since_ns, now_ns);
		return finding;
	}
	for (int i = 0; i < TD_BUDGET_SPANS; i++) {
		td_ns allowed_ns = rules->allowed_ns[i];
		td_ns spent = allowed_ns < span_ns[i] ? spent_ns(duty, i, to_ns) : 0;

		if (spent > allowed_ns)
			return (struct td_monitor_finding){starts ? TD_BREACH_SPENT_START : TD_BREACH_BUDGET,
							   spent, allowed_ns};
	}
	return finding;
}
