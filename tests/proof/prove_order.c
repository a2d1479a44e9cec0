/* SPDX-License-Identifier: MIT */
/* The real td_order() and td_order_stop_input() keep their contract: orders stop, latch, reset and arm, and never power. */
#include "tests/proof/stage.h"

int main(void)
{
	proof_stage_any();
	order_needs(&stage.step);
	td_order(&stage.step);
	td_order_stop_input(&stage.step);
	order_gives(&stage.step, &stage.old);
	proof_stage_news(2 * TD_AXES_MAX + 2);
	return 0;
}
