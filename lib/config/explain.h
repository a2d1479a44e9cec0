/* SPDX-License-Identifier: MIT */
/* The table of keys for people. Both write to `out` and leave its error flag to the caller (ferror). */
#ifndef TD_CONFIG_EXPLAIN_H
#define TD_CONFIG_EXPLAIN_H

#include <stdio.h>

/* Plain text in 78 columns: each section, each key with its range, default and meaning. */
void td_config_explain(FILE *out);

/* The same as mdoc(7), one subsection with a list for each section, to stand in place of the line @TABLE@ of
 * docs/tripdog.conf.5.in. */
void td_config_explain_mdoc(FILE *out);

#endif
