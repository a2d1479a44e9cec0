/* SPDX-License-Identifier: MIT */
/* From [twist] to the rules of the cable (R18). */
#ifndef TD_CONFIG_CABLE_H
#define TD_CONFIG_CABLE_H

#include "config/draft.h"
#include "core/rules.h"

/* Of a draft that has passed its checks. */
struct td_cable_rules td_cable_build(struct td_draft *draft);

/* Time of a step of the sensor in the smaller circle; 0 where the numbers did not pass. */
td_ns td_cable_step_ns(const struct td_draft_section *twist);

#endif
