/* SPDX-License-Identifier: MIT */
/*
 * Heap for the front, where running out means the end of the process: the mover sees it go and makes
 * everything safe, and the service manager starts anew. Nothing here returns NULL.
 */
#ifndef TD_DAEMON_HEAP_H
#define TD_DAEMON_HEAP_H

#include <stddef.h>

/* Zeroed memory, to be given up with free(). */
void *td_heap_take(size_t size);

/* Makes jansson and libevent take theirs the same way, and makes libevent's own fatal errors an end of the
 * process. For the whole process; call it before either library is used. */
void td_heap_rule(void);

/* A call that can only fail for want of memory: gives back its result, or ends the process. */
void *td_heap_must(void *result);

#endif
