/* SPDX-License-Identifier: MIT */
/* Stands in for lib/core/monitor_twist.c, as its harnesses prove it. */
#include "tests/proof/ub_monitor.h"

void td_monitor_twist_init(struct td_monitor_twist *twist, td_ns now_ns)
{
	(void)now_ns;
	*twist = nondet_monitor_twist();
	ASSUME(ub_monitor_twist_ok(twist));
}

static void after(struct td_monitor_twist *twist)
{
	CLAIM(ub_monitor_twist_ok(twist), "the twist is in order");
	td_monitor_twist_init(twist, 0);
}

void td_monitor_twist_kept(struct td_monitor_twist *twist, const struct td_twist *kept)
{
	(void)kept;
	after(twist);
}

void td_monitor_twist_driven(struct td_monitor_twist *twist, const struct td_twist_rules *rules, uint8_t way,
			     struct td_monitor_lean lean, td_ns span_ns)
{
	CLAIM(rules->source != TD_TWIST_UNLIMITED && way < TD_WAYS && ub_lean_ok(lean) && span_ns >= 0,
	      "what drives has a way, and the steering a place");
	after(twist);
}

void td_monitor_twist_felt(struct td_monitor_twist *twist, bool first, bool second)
{
	(void)first;
	(void)second;
	after(twist);
}

void td_monitor_twist_straight(struct td_monitor_twist *twist, bool certain)
{
	(void)certain;
	after(twist);
}

bool td_monitor_twist_beyond(const struct td_monitor_twist *twist, const struct td_twist_rules *rules, uint8_t way,
			     struct td_monitor_lean lean)
{
	CLAIM(rules->source != TD_TWIST_UNLIMITED && way < TD_WAYS && ub_lean_ok(lean) && ub_monitor_twist_ok(twist),
	      "what is asked about has a way, and the steering a place");
	return nondet_bool();
}
