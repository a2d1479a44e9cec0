/* SPDX-License-Identifier: MIT */
/*
 * R18 with the real td_twist_blocks(), any bytes as count and rules: which ways a number of turns and a doubt block. The
 * turns of a sensor (a quotient) are any number within the range that lib/core/twist.c clamps them to.
 */
#include "core/twist.h"
#include "tests/proof/proof.h"

#define FTURN_MAX INT64_C(4000000000000000000)

struct td_twist nondet_twist(void);

static int64_t net_fturn; /* what stands for the count of a sensor, or of an estimate */
static int64_t doubt_fturn;

int64_t __CPROVER_file_local_twist_c_net_fturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	(void)twist;
	(void)rules;
	return net_fturn;
}

int64_t __CPROVER_file_local_twist_c_doubt_fturn(const struct td_twist *twist, const struct td_twist_rules *rules)
{
	(void)twist;
	(void)rules;
	return doubt_fturn;
}

static void claim_side(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		       enum td_twist_side side)
{
	bool blocked = td_twist_blocks(twist, rules, way, side);
	int64_t rate = rules->rate_ppm_s[way][side];
	int64_t limit = (int64_t)rules->limit_uturn * 1000000000;
	int64_t room = limit > doubt_fturn ? limit - doubt_fturn : 0;

	CLAIM(rate != 0 || !blocked, "R18: what does not turn the machine is not blocked");
	CLAIM(rate <= 0 || blocked == (net_fturn >= room), "R18: to the left the limit blocks, less the doubt");
	CLAIM(rate >= 0 || blocked == (-net_fturn >= room), "R18: to the right the limit blocks, less the doubt");
	CLAIM(!blocked || !((rate > 0 && net_fturn < 0) || (rate < 0 && net_fturn > 0)),
	      "R18: the way back is never blocked");
}

static void claim_unknown(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
			  enum td_twist_side side)
{
	bool turns = rules->rate_ppm_s[way][1] != 0 || rules->rate_ppm_s[way][2] != 0 || rules->rate_ppm_s[way][3] != 0;
	bool blocked = td_twist_blocks(twist, rules, way, TD_TWIST_UNKNOWN);

	CLAIM(blocked || !td_twist_blocks(twist, rules, way, side), "R18: unknown steering is blocked where any side is");
	CLAIM(turns || !blocked, "R18: a drive that never turns is not blocked");
}

int main(void)
{
	const struct td_twist_rules rules = nondet_rules().cable.twist;
	const struct td_twist twist = nondet_twist();

	net_fturn = nondet_ns();
	doubt_fturn = nondet_ns();
	ASSUME(net_fturn >= -FTURN_MAX && net_fturn <= FTURN_MAX && doubt_fturn >= 0 && doubt_fturn <= FTURN_MAX);
	CLAIM(td_twist_blocks(&twist, &rules, TD_WAYS, TD_TWIST_LEFT), "R18: a way that does not exist is blocked");

	uint8_t way = nondet_bool() ? 1 : 0;
	enum td_twist_side side = (enum td_twist_side)nondet_word();

	if (!td_twist_rules_ok(&rules)) {
		CLAIM(td_twist_blocks(&twist, &rules, way, side), "R18: with rules that cannot be all is blocked");
		return 0;
	}
	ASSUME(rules.source != TD_TWIST_UNLIMITED && side >= TD_TWIST_STRAIGHT && side < TD_TWIST_SIDES);
	claim_side(&twist, &rules, way, side);
	claim_unknown(&twist, &rules, way, side);
	return 0;
}
