/* SPDX-License-Identifier: MIT */
/* Modules that are total by themselves: any bytes, any arguments. */
#include <stddef.h>

#include "core/breach.h"
#include "core/chatter.h"
#include "core/quota.h"
#include "core/switch.h"
#include "core/wear.h"
#include "tests/proof/ub.h"

struct td_chatter nondet_chatter(void);
struct td_chatter_rules nondet_chatter_rules(void);
struct td_quota nondet_quota(void);
struct td_switch nondet_switch(void);
struct td_switch_rules nondet_switch_rules(void);
struct td_wear nondet_wear(void);

static void contacts(td_ns now_ns)
{
	struct td_chatter chatter = nondet_chatter();
	const struct td_chatter_rules rules = nondet_chatter_rules();

	td_chatter_rules_ok(&rules);
	td_chatter_restless(&chatter, &rules, now_ns);
	td_chatter_change(&chatter, &rules, now_ns);
	td_chatter_forgive(&chatter);
	td_chatter_start(&chatter);
}

static void switches(td_ns now_ns)
{
	struct td_switch sw = nondet_switch();
	const struct td_switch_rules rules = nondet_switch_rules();

	td_switch_reads_active(&rules, nondet_bool());
	td_switch_deadline(&sw, &rules);
	td_switch_maybe_active(&sw);
	td_switch_level(&sw, &rules, nondet_bool(), now_ns);
	td_switch_settle(&sw, &rules, now_ns);
	td_switch_start(&sw, &rules, nondet_bool(), now_ns);
}

static void counters(td_ns now_ns)
{
	struct td_quota quota = nondet_quota();
	struct td_wear wear = nondet_wear();

	td_quota_free_ns(&quota, nondet_byte());
	td_quota_take(&quota, nondet_byte(), now_ns);
	td_wear_powered_ns(&wear, nondet_byte(), now_ns);
	td_wear_power(&wear, nondet_byte(), now_ns);
}

int main(void)
{
	contacts(nondet_ns());
	switches(nondet_ns());
	counters(nondet_ns());
	CLAIM(td_breach_info((enum td_breach)nondet_word()) != NULL, "every breach has words");
	REACHED();
	return 0;
}
