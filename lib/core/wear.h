/* SPDX-License-Identifier: MIT */
/* What an axis has done in its life: powered time and starts of each way. Nothing is decided by it. */
#ifndef TD_CORE_WEAR_H
#define TD_CORE_WEAR_H

#include <stdint.h>

#include "core/limits.h"
#include "core/time.h"

struct td_wear {
	td_ns powered_ns[TD_WAYS]; /* ever, without the present run; ends at TD_NEVER */
	uint32_t starts[TD_WAYS];  /* ever; ends at UINT32_MAX */
	td_ns since_ns;            /* of the present run */
	uint8_t running;           /* 1 + its way; 0 = off */
};

/* `way` is powered from now on; TD_NO_WAY: none is. */
void td_wear_power(struct td_wear *wear, uint8_t way, td_ns now_ns);

/* The powered time of a way with the present run. */
td_ns td_wear_powered_ns(const struct td_wear *wear, uint8_t way, td_ns now_ns);

#endif
