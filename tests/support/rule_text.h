/* SPDX-License-Identifier: MIT */
/* A rule set of the test cart as a configuration file. */
#ifndef TD_TESTS_RULE_TEXT_H
#define TD_TESTS_RULE_TEXT_H

#include "config/config.h"

/* The text, terminated, the caller's to free. What a file cannot say exactly, such as a winding model or a limit that is
 * no whole percentage, comes out as the nearest it can. */
char *rule_text(const struct td_rules *rules);

/* The configuration that this text is. False where it is none, or says other rules than these. */
bool rule_text_config(const char *text, const struct td_rules *rules, struct td_config *config);

/* Byte for byte. */
bool rule_text_same(const struct td_rules *a, const struct td_rules *b);

#endif
