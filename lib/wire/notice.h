/* SPDX-License-Identifier: MIT */
/* The notifications that go out to whoever follows. The list is notice_table.h. */
#ifndef TD_WIRE_NOTICE_H
#define TD_WIRE_NOTICE_H

#include "wire/notice_table.h"

enum td_notice {
#define TD_X(ident, ...) TD_NOTICE_##ident,
	TD_NOTICE_TABLE(TD_X)
#undef TD_X
		TD_NOTICES
};

struct td_notice_info {
	const char *name; /* the "method" of the notification */
	const char *help;
};

/* In the order of the table, which is that of the enum; NULL past the end. */
const struct td_notice_info *td_notice_at(unsigned int index);

#endif
