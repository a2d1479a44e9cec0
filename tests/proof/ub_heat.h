/* SPDX-License-Identifier: MIT */
/* The insides of lib/core/monitor_duty.c: what they need, and what they give. */
#ifndef TD_PROOF_UB_HEAT_H
#define TD_PROOF_UB_HEAT_H

#include "core/monitor_duty.h"
#include "tests/proof/ub.h"

struct td_monitor_duty nondet_monitor_duty(void);
struct td_duty_rules nondet_duty_rules(void);
double nondet_double(void);

double __CPROVER_file_local_monitor_duty_c_covered(double x);
double __CPROVER_file_local_monitor_duty_c_left_after(double x, double inverse, double rest);
double __CPROVER_file_local_monitor_duty_c_doubled(double share);
double __CPROVER_file_local_monitor_duty_c_constants(td_ns time_ns, td_ns tau_ns);
bool __CPROVER_file_local_monitor_duty_c_was_due(const struct td_monitor_duty *duty, const struct td_duty_rules *rules,
						 td_ns now_ns);
enum td_breach __CPROVER_file_local_monitor_duty_c_heat_breach(const struct td_monitor_duty *duty,
							       const struct td_duty_rules *rules, td_ns ahead_ns,
							       bool starts);

/* More than any rule can say, and than nothing by what roundings come to. */
#define HEAT_MAX   8192.0
#define HEAT_LEAST (-1.0)

static inline bool heat_ok(double heat)
{
	return heat >= HEAT_LEAST && heat <= HEAT_MAX;
}

/* The counter never says more than the time that has passed, nor does a reading; so it stays when time goes on. */
static inline bool counter_ok(const struct td_monitor_duty *duty, td_ns now_ns)
{
	return (duty->total_ns >= 0) & (duty->total_ns <= duty->since_ns) & (duty->since_ns <= now_ns);
}

static inline bool window_ok(const struct td_monitor_window *window, td_ns now_ns)
{
	bool ok = window->newest >= 0;

	for (int at = 0; at < TD_MONITOR_READINGS; at++)
		ok &= (window->reading_ns[at] >= 0) & (window->reading_ns[at] <= now_ns);
	return ok;
}

static inline bool duty_ok(const struct td_monitor_duty *duty, td_ns now_ns)
{
	bool ok = counter_ok(duty, now_ns);

	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		ok &= window_ok(&duty->window[i], now_ns);
	return ok;
}

#endif
