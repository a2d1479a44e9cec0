/* SPDX-License-Identifier: MIT */
/* Memory that processes share which are forked after it was made. */
#ifndef TD_DAEMON_SHARED_BYTES_H
#define TD_DAEMON_SHARED_BYTES_H

#include <stddef.h>

#include "error.h"

/* All zero. NULL with a sentence. */
void *td_shared_bytes(size_t size, struct td_error *err);

#endif
