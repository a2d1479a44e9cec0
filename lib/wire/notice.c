/* SPDX-License-Identifier: MIT */
#include "wire/notice.h"

#include <stddef.h>

static const struct td_notice_info notices[] = {
#define TD_X(ident, name, help) {name, help},
	TD_NOTICE_TABLE(TD_X)
#undef TD_X
};

const struct td_notice_info *td_notice_at(unsigned int index)
{
	return index < TD_NOTICES ? &notices[index] : NULL;
}
