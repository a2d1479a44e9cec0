/* SPDX-License-Identifier: MIT */
/* The real td_watch() keeps its contract: all that takes power away from an axis. */
#include "tests/proof/stage.h"

int main(void)
{
	proof_stage_any();
	watch_needs(&stage.step, 0);
	td_watch(&stage.step, 0);
	watch_gives(&stage.step, 0, &stage.old);
	if (held(&stage.core.axis[0]))
		CLAIM(!proof_bars.blocked[stage.core.axis[0].way], "R17: no hold against a condition");
	if (stage.core.axis[0].state == TD_AXIS_RUN)
		CLAIM(stage.core.now_ns < stage.old.duty_cut_ns[0], "R12: what has used up its duty is not powered");
	CLAIM(stage.core.duty_cut_ns[0] == stage.old.duty_cut_ns[0], "R12: a run keeps the end of its duty");
	proof_stage_news(4);
	return 0;
}
