/* SPDX-License-Identifier: MIT */
/* From the keys of an axis to its duty and its weight on the supply (R12, R13). */
#ifndef TD_CONFIG_LOAD_H
#define TD_CONFIG_LOAD_H

#include "config/draft.h"
#include "core/rules.h"

/* theta_inf in millionths that the rating of an axis comes to, which is S2 or S3; 0 where the numbers make no rating.
 * The values that apply have passed their own checks. */
uint32_t td_load_inf_ppm(const struct td_draft_section *axis);

struct td_duty_rules td_load_duty(const struct td_draft_section *axis);
struct td_supply_axis_rules td_load_weight(const struct td_draft_section *axis);

#endif
