/* SPDX-License-Identifier: MIT */
/* What the bytes of one line may be. Pure but for a short-lived allocation; does not block. */
#ifndef TD_CONFIG_LINE_FORM_H
#define TD_CONFIG_LINE_FORM_H

#include <stddef.h>

#include "config/value.h"

/* NULL, or what is wrong: too long, a control character, not UTF-8, a byte order mark inside. The
 * line comes without its end. */
const struct td_value_fault *td_line_form(const char *line, size_t length);

#endif
