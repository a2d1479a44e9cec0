/* SPDX-License-Identifier: MIT */
/* lib/core/monitor_duty.c: the counter is read and goes on, by its parts. Any state in order, any time after it. The reading that
 * is looked at is any of a window's. */
#include "tests/proof/ub_reading.h"

enum { INDEX = PROOF_INDEX };

td_ns read_until_ns;

static unsigned any_reading(void)
{
	unsigned at = nondet_word();

	ASSUME(at < TD_MONITOR_READINGS);
	return at;
}

#if PROOF_CASE == 0
static void prove(struct td_monitor_duty *duty, td_ns now_ns)
{
	unsigned at = any_reading();
	struct moment moment = nondet_moment();
	int64_t newest = duty->window[INDEX].newest;

	ASSUME(moment.number >= 0 && moment.at_ns <= now_ns && reading_ok(&duty->window[INDEX], at, now_ns));
	__CPROVER_file_local_monitor_duty_c_take_reading(duty, INDEX, moment);
	CLAIM(reading_ok(&duty->window[INDEX], at, now_ns),
	      "a reading says no more than the time that has passed");
	CLAIM(duty->window[INDEX].newest == newest && counter_ok(duty, now_ns), "nothing else changes");
}
#elif PROOF_CASE == 3
static void prove(struct td_monitor_duty *duty, td_ns now_ns)
{
	(void)duty;
	CLAIM(moment_ok(__CPROVER_file_local_monitor_duty_c_latest_moment(INDEX, now_ns), now_ns),
	      "it is of the past");
}
#elif PROOF_CASE == 1
static void prove(struct td_monitor_duty *duty, td_ns now_ns)
{
	ASSUME(duty->window[INDEX].newest >= 0);
	__CPROVER_file_local_monitor_duty_c_read_counter(duty, INDEX, now_ns);
	CLAIM(duty->window[INDEX].newest >= 0 && counter_ok(duty, now_ns), "the window stays in order");
}
#else
static void prove(struct td_monitor_duty *duty, td_ns now_ns)
{
	const struct td_duty_rules rules = nondet_duty_rules();
	unsigned at = any_reading();
	bool on = nondet_bool();

	for (int i = 0; i < TD_BUDGET_SPANS; i++)
		ASSUME(duty->window[i].newest >= 0);
	ASSUME(reading_ok(&duty->window[INDEX], at, now_ns));
	td_monitor_duty_power(duty, &rules, on, now_ns);
	CLAIM(reading_ok(&duty->window[INDEX], at, now_ns) && counter_ok(duty, now_ns),
	      "what is counted stays in order");
	CLAIM(duty->on == on, "it is on as the line is");
}
#endif

int main(void)
{
	struct td_monitor_duty duty = nondet_monitor_duty();

	read_until_ns = nondet_ns();
	ASSUME(read_until_ns >= 0 && counter_ok(&duty, read_until_ns));
	prove(&duty, read_until_ns);
	REACHED();
	return 0;
}
