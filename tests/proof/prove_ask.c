/* SPDX-License-Identifier: MIT */
/* The real td_ask() keeps its contract: a request is judged, and never powers. */
#include "tests/proof/stage.h"

int main(void)
{
	proof_stage_any();
	ask_needs(&stage.step);
	td_ask(&stage.step);
	ask_gives(&stage.step, &stage.old);
	proof_stage_news(3);
	return 0;
}
