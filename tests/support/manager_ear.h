/* SPDX-License-Identifier: MIT */
/* The socket of a service manager, played by a test. */
#ifndef TESTS_SUPPORT_MANAGER_EAR_H
#define TESTS_SUPPORT_MANAGER_EAR_H

#include <stdbool.h>

#include "core/time.h"

/* Opens the socket, as a file or with a name that is in no file system, and names it in the environment. */
void ear_open(bool abstract);

/* The next message, or NULL if none waits; valid until the next call. */
const char *ear_hear(void);

/* The same, but waits for it in real time. */
const char *ear_wait(td_ns span_ns);

/* Waits for a message that has this line, passing over others; how many of those had `counted` in them. -1: none came. */
int ear_wait_for(const char *line, const char *counted, td_ns span_ns);

/* Closes it and takes it, and what else the manager sets, out of the environment. */
void ear_forget(void);

#endif
