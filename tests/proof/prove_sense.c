/* SPDX-License-Identifier: MIT */
/* The real td_sense() keeps its contract: levels become switches, and nothing else changes. */
#include "tests/proof/stage.h"

int main(void)
{
	proof_stage_any();
	stage.step.rose = 0;
	sense_needs(&stage.step);
	td_sense(&stage.step);
	sense_gives(&stage.step, &stage.old);
	proof_stage_news(3 * TD_SWITCHES_MAX);
	return 0;
}
