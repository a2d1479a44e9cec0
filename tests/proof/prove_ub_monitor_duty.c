/* SPDX-License-Identifier: MIT */
/* lib/core/monitor_duty.c: any state in order, any rules, any time after it. */
#include "tests/proof/ub_heat.h"

int main(void)
{
	struct td_monitor_duty duty = nondet_monitor_duty();
	const struct td_duty_rules rules = nondet_duty_rules();
	td_ns now_ns = nondet_ns();

	ASSUME(now_ns >= 0 && duty_ok(&duty, now_ns));
#if PROOF_CASE == 1
	td_monitor_duty_judge(&duty, &rules, now_ns, nondet_bool());
#elif PROOF_CASE == 2
	td_monitor_duty_init(&duty, now_ns);
	CLAIM(duty_ok(&duty, now_ns) && duty.heat == 0, "what begins is in order");
#elif PROOF_CASE == 3
	ASSUME(heat_ok(duty.heat));
	CLAIM(heat_ok(td_monitor_duty_heat(&duty, &rules, now_ns)), "no warmer than rules can say");
#else
	ASSUME(heat_ok(duty.heat));
	__CPROVER_file_local_monitor_duty_c_was_due(&duty, &rules, now_ns);
	__CPROVER_file_local_monitor_duty_c_heat_breach(&duty, &rules, now_ns, nondet_bool());
#endif
	REACHED();
	return 0;
}
