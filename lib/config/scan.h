/* SPDX-License-Identifier: MIT */
/*
 * From bytes to a draft. A file is UTF-8 text, with or without a byte order mark, lines ended by LF or
 * CRLF, at most TD_CONFIG_LINE_MAX bytes each. Indentation means nothing. `;` or `#` begins a comment line;
 * a `;` after a blank begins a comment behind a heading or value. Headings are read here, since inih would cut
 * long ones short; the other lines go to inih one by one, so that each has its number.
 */
#ifndef TD_CONFIG_SCAN_H
#define TD_CONFIG_SCAN_H

#include <stddef.h>

#include "config/draft.h"
#include "config/report.h"

/* Fills an all-zero draft; reports everything that has no form, no known name, or stands twice. Any
 * bytes may be passed, at most TD_CONFIG_FILE_MAX. Sections that stand once at most exist afterwards
 * even if the file has none. */
void td_scan(const char *text, size_t length, struct td_draft *draft, struct td_report *report);

#endif
