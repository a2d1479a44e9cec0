/* SPDX-License-Identifier: MIT */
/*
 * Checks of a draft, each reporting all it finds. None blocks or fails. The order matters for the first two
 * only: values first, then needs; the others look at values that were found good.
 */
#ifndef TD_CONFIG_CHECK_H
#define TD_CONFIG_CHECK_H

#include "config/draft.h"
#include "config/report.h"

/* Every value by itself; fills in `good`, `number` and the defaults. */
void td_check_values(struct td_draft *draft, struct td_report *report);

/* Keys that must or must not be given; takes back the defaults that do not apply. */
void td_check_needs(struct td_draft *draft, struct td_report *report);

/* Numbers of axes and switches; way sections and axes that belong together. */
void td_check_axes(struct td_draft *draft, struct td_report *report);

/* End switches and the emergency-stop input: known, used, and for one purpose only. */
void td_check_switches(struct td_draft *draft, struct td_report *report);

/* Conditions that name unknown axes or ends, or that can never be met. */
void td_check_bars(struct td_draft *draft, struct td_report *report);

/* Lines and sockets: none used twice. */
void td_check_places(struct td_draft *draft, struct td_report *report);

/* Weights on the supply and duties that the model can express. */
void td_check_load(struct td_draft *draft, struct td_report *report);

/* Axes and contacts of the cable: known, and fast enough. */
void td_check_cable(struct td_draft *draft, struct td_report *report);

/* All of the above. */
void td_check_draft(struct td_draft *draft, struct td_report *report);

/* A list of names to choose from, for messages: the nearest one as "; did you mean 'x'?", else `otherwise`. The
 * names are the first words of all sections of `kind`. */
enum { TD_HINT_MAX = 160 };
void td_check_hint(struct td_draft *draft, enum td_section_kind kind, const char *misspelt,
		   const char *otherwise, char out[TD_HINT_MAX]);

/* The same for the two ways of an axis. */
void td_check_way_hint(td_name ways[TD_WAYS], const char *misspelt, char out[TD_HINT_MAX]);

#endif
