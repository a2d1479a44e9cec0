/* SPDX-License-Identifier: MIT */
/* The real td_ask_due() keeps its contract: the one place where power rises. */
#include "tests/proof/load.h"
#include "tests/proof/stage.h"

/* R12, R13, R17: the last answers about the way that starts were that nothing forbids it. */
static void claim_answers_heeded(void)
{
	const struct td_axis *is = &stage.core.axis[0];

	if (is->state != TD_AXIS_RUN || stage.old.axis[0].state == TD_AXIS_RUN)
		return;
	CLAIM(!proof_bars.blocked[is->way], "R17: no start against a condition");
	CLAIM(!proof_bars.disturbs, "R17: no start that violates the condition of another");
	CLAIM(!proof_twisted[is->way], "R18: no start of a way that adds twist beyond the limit");
	CLAIM(proof_load.duty_free, "R12: no start beyond the duty");
	CLAIM(stage.core.duty_cut_ns[0] == proof_load.cut_ns, "R12: a run ends when its duty says");
	CLAIM(proof_load.supply_grants, "R13: no start that the supply does not grant");
}

int main(void)
{
	proof_stage_any();
	due_needs(&stage.step, 0);

	bool dropped = td_ask_due(&stage.step, 0);

	due_gives(&stage.step, 0, &stage.old);
	claim_answers_heeded();
	CLAIM(!dropped || (held(&stage.old.axis[0]) && !held(&stage.core.axis[0])), "R13: only a drop says that it was one");
	proof_stage_news(2);
	return 0;
}
