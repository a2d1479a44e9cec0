/* SPDX-License-Identifier: MIT */
#include "core/duty.h"

#include <string.h>

#include "core/decay.h"

enum { SEARCH_BITS = 33 };

#define THETA_MAX (TD_DUTY_LIMIT * (TD_RATING_MAX_PPM / 1000000))

/* Millionths to parts of TD_DUTY_LIMIT, rounded down: 2^40 / 10^6 = 2^34 / 15625. At most 10^9 x 2^34 < 2^64. */
static uint64_t theta_of(uint32_t ppm)
{
	return ((uint64_t)ppm << 34) / 15625;
}

static uint64_t inf_theta(const struct td_duty_rules *rules)
{
	return theta_of(rules->inf_ppm < TD_RATING_MAX_PPM ? rules->inf_ppm : TD_RATING_MAX_PPM);
}

static bool within(td_ns value, td_ns min, td_ns max)
{
	return value >= min && value <= max;
}

static bool heats_over(const struct td_duty_rules *rules, uint64_t theta)
{
	return td_decay_toward(theta, inf_theta(rules), rules->least_ns, rules->tau_on_ns) > TD_DUTY_LIMIT;
}

bool td_duty_rules_ok(const struct td_duty_rules *rules)
{
	bool ok = within(rules->inf_ppm, 1, TD_RATING_MAX_PPM) && within(rules->restart_ppm, 1, 1000000) &&
		  within(rules->tau_on_ns, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS) &&
		  within(rules->tau_off_ns, TD_RATING_TAU_MIN_NS, TD_RATING_TAU_MAX_NS) &&
		  within(rules->least_ns, 0, TD_DUTY_LEAST_MAX_NS);

	for (unsigned int i = 0; i < TD_BUDGET_SPANS && ok; i++)
		ok = within(rules->allowed_ns[i], rules->least_ns,
			    td_budget_span_ns((enum td_budget_span)i)) &&
		     rules->allowed_ns[i] > 0;
	/* A winding never cools to nothing: the model rounds up, so one unit stays. */
	return ok && !heats_over(rules, 1);
}

static td_ns in_range(td_ns at_ns)
{
	if (at_ns < -TD_BUDGET_TIME_MAX_NS)
		return -TD_BUDGET_TIME_MAX_NS;
	return at_ns < TD_BUDGET_TIME_MAX_NS ? at_ns : TD_BUDGET_TIME_MAX_NS;
}

static void start(struct td_duty *duty, td_ns now_ns)
{
	memset(duty, 0, sizeof(*duty));
	duty->since_ns = in_range(now_ns);
	duty->heat_cut_ns = TD_NEVER;
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		td_budget_init(&duty->budget[i], duty->since_ns);
}

void td_duty_init(struct td_duty *duty, td_ns now_ns)
{
	start(duty, now_ns);
}

void td_duty_init_unknown(struct td_duty *duty, td_ns now_ns)
{
	start(duty, now_ns);
	duty->hot = 1;
	duty->theta = TD_DUTY_LIMIT;
	for (unsigned int i = 0; i < TD_BUDGET_SPANS; i++)
		td_budget_fill(&duty->budget[i], (enum td_budget_span)i, duty->since_ns);
}

bool td_duty_sane(const struct td_duty *duty)
{
	bool sane = duty->powered <= 1 && duty->hot <= 1 && duty->theta <= THETA_MAX &&
		    within(duty->since_ns, -TD_BUDGET_TIME_MAX_NS, TD_BUDGET_TIME_MAX_NS);

	for (unsigned int i = 0; i < TD_BUDGET_SPANS && sane; i++)
		sane = td_budget_sane(&duty->budget[i], (enum td_budget_span)i) &&
		       duty->budget[i].begin_ns <= duty->since_ns;
	return sane;
}

static uint64_t theta_after(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns)
{
	return duty->powered ? td_decay_toward(duty->theta, inf_theta(rules), span_ns, rules->tau_on_ns)
			     : td_decay_toward(duty->theta, 0, span_ns, rules->tau_off_ns);
}

uint64_t td_duty_theta(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	if (!td_duty_sane(duty) || !td_duty_rules_ok(rules))
		return THETA_MAX;
	return theta_after(duty, rules, in_range(now_ns) - duty->since_ns);
}

uint32_t td_duty_theta_ppm(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	uint64_t theta = td_duty_theta(duty, rules, now_ns);

	/* theta is at most 1000 x 2^40, so the product is below 2^64 by more than is added */
	return (uint32_t)((theta * 15625 + (UINT64_C(1) << 34) - 1) >> 34);
}

/*
 * The longest span, in whole milliseconds, for which `holds` is true; it is true for none beyond some
 * point. 2^33 ms are more than 64 of the longest time constants, where everything has settled.
 */
typedef bool (*span_test)(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns);

static td_ns longest_ms(const struct td_duty *duty, const struct td_duty_rules *rules, span_test holds)
{
	td_ns span_ms = 0;

	for (int bit = SEARCH_BITS - 1; bit >= 0; bit--) {
		td_ns longer_ms = span_ms | (td_ns)1 << bit;

		if (holds(duty, rules, TD_MS(longer_ms)))
			span_ms = longer_ms;
	}
	return span_ms;
}

static bool below_limit(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns)
{
	return theta_after(duty, rules, span_ns) <= TD_DUTY_LIMIT;
}

static td_ns heat_cut(const struct td_duty *duty, const struct td_duty_rules *rules)
{
	if (!below_limit(duty, rules, 0))
		return duty->since_ns;
	if (inf_theta(rules) <= TD_DUTY_LIMIT)
		return TD_NEVER;
	return duty->since_ns + TD_MS(longest_ms(duty, rules, below_limit));
}

static bool too_warm(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns)
{
	uint64_t theta = theta_after(duty, rules, span_ns);

	return theta > TD_DUTY_LIMIT || (duty->hot && theta > theta_of(rules->restart_ppm)) ||
	       heats_over(rules, theta);
}

/* When a resting winding is cool enough: later than now where it is not, as it never gets warmer (decay.h). */
static td_ns heat_start(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	if (!too_warm(duty, rules, now_ns - duty->since_ns))
		return now_ns;
	return duty->since_ns + TD_MS(longest_ms(duty, rules, too_warm) + 1);
}

/* Takes the run or rest until now into the memory and begins anew there. */
static void close_span(struct td_duty *duty, const struct td_duty_rules *rules, td_ns now_ns)
{
	if (duty->powered)
		for (unsigned int i = 0; i < TD_BUDGET_SPANS; i++)
			td_budget_add(&duty->budget[i], (enum td_budget_span)i, duty->since_ns, now_ns);
	duty->theta = theta_after(duty, rules, now_ns - duty->since_ns);
	duty->since_ns = now_ns;
}

void td_duty_power(struct td_duty *duty, const struct td_duty_rules *rules, bool powered, td_ns now_ns)
{
	now_ns = in_range(now_ns);
	if (!td_duty_sane(duty) || !td_duty_rules_ok(rules)) {
		td_duty_init_unknown(duty, now_ns);
		duty->powered = powered;
		duty->heat_cut_ns = powered ? now_ns : TD_NEVER;
		return;
	}
	if (now_ns < duty->since_ns)
		now_ns = duty->since_ns;
	if (duty->hot && !duty->powered && !too_warm(duty, rules, now_ns - duty->since_ns))
		duty->hot = 0;
	if ((duty->powered == 1) == powered)
		return;
	if (duty->powered && now_ns >= duty->heat_cut_ns)
		duty->hot = 1;
	close_span(duty, rules, now_ns);
	duty->powered = powered;
	duty->heat_cut_ns = powered ? heat_cut(duty, rules) : TD_NEVER;
}

void td_duty_shift(struct td_duty *duty, td_ns by_ns)
{
	by_ns = in_range(by_ns);
	duty->since_ns = in_range(in_range(duty->since_ns) + by_ns);
	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		duty->budget[i].begin_ns = in_range(in_range(duty->budget[i].begin_ns) + by_ns);
}

struct td_duty_verdict td_duty_may_start(const struct td_duty *duty, const struct td_duty_rules *rules,
					 td_ns now_ns)
{
	if (!td_duty_sane(duty) || !td_duty_rules_ok(rules) || now_ns > TD_BUDGET_TIME_MAX_NS)
		return (struct td_duty_verdict){TD_DUTY_HEAT, TD_NEVER};
	if (now_ns < duty->since_ns)
		now_ns = duty->since_ns;

	struct td_duty_verdict verdict = {TD_DUTY_FREE, now_ns};
	td_ns heat_ns = heat_start(duty, rules, now_ns);

	if (heat_ns > verdict.at_ns)
		verdict = (struct td_duty_verdict){TD_DUTY_HEAT, heat_ns};
	for (unsigned int i = 0; i < TD_BUDGET_SPANS; i++) {
		td_ns at_ns = td_budget_start_ns(&duty->budget[i], (enum td_budget_span)i,
						 rules->allowed_ns[i], rules->least_ns, now_ns);

		if (at_ns > verdict.at_ns)
			verdict = (struct td_duty_verdict){(enum td_duty_limit)(TD_DUTY_MINUTE + i), at_ns};
	}
	return verdict;
}

struct td_duty_verdict td_duty_cut(const struct td_duty *duty, const struct td_duty_rules *rules)
{
	if (!td_duty_sane(duty) || !td_duty_rules_ok(rules))
		return (struct td_duty_verdict){TD_DUTY_HEAT, 0};

	struct td_duty_verdict verdict = {TD_DUTY_FREE, TD_NEVER};

	if (!duty->powered)
		return verdict;
	if (duty->heat_cut_ns < verdict.at_ns)
		verdict = (struct td_duty_verdict){TD_DUTY_HEAT, duty->heat_cut_ns};
	for (unsigned int i = 0; i < TD_BUDGET_SPANS; i++) {
		td_ns at_ns = td_budget_cut_ns(&duty->budget[i], (enum td_budget_span)i, rules->allowed_ns[i],
					       duty->since_ns);

		if (at_ns < verdict.at_ns)
			verdict = (struct td_duty_verdict){(enum td_duty_limit)(TD_DUTY_MINUTE + i), at_ns};
	}
	return verdict;
}

td_ns td_duty_spent_ns(const struct td_duty *duty, enum td_budget_span span, td_ns now_ns)
{
	td_ns span_ns = td_budget_span_ns(span);

	if (!td_duty_sane(duty) || span_ns == 0)
		return span_ns;
	now_ns = in_range(now_ns);
	if (now_ns < duty->since_ns)
		now_ns = duty->since_ns;
	td_ns running_ns = duty->powered ? td_time_earlier(now_ns - duty->since_ns, span_ns) : 0;

	return running_ns + td_budget_spent_ns(&duty->budget[span], span, now_ns - span_ns);
}
