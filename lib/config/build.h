/* SPDX-License-Identifier: MIT */
/* From a draft that has passed every check to the plain configuration. */
#ifndef TD_CONFIG_BUILD_H
#define TD_CONFIG_BUILD_H

#include "config/config.h"
#include "config/draft.h"

/* Fills *config, which is all zero. Cannot fail on a draft without faults. */
void td_build_config(struct td_draft *draft, struct td_config *config);

#endif
