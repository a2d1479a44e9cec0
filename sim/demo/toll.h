/* SPDX-License-Identifier: MIT */
/* What a scene cost the machine. */
#ifndef TD_SIM_DEMO_TOLL_H
#define TD_SIM_DEMO_TOLL_H

#include <stdint.h>

#include "core/time.h"

struct td_toll {
	int64_t skipped_teeth;
	uint64_t both_high; /* times both inputs of a bridge were high */
	td_ns pushing_ns;   /* powered against a stop or a jam */
};

#endif
