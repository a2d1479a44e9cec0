/* SPDX-License-Identifier: MIT */
/* Times as a person types and reads them, and the clock of the client. */
#ifndef TD_DAEMON_CLIENT_TIME_H
#define TD_DAEMON_CLIENT_TIME_H

#include <stddef.h>

#include "core/time.h"
#include "error.h"

/* Longest time a command line may name. */
#define TD_CLI_TIME_MAX_NS TD_S(3600)

/* CLOCK_MONOTONIC, the clock of the daemon's time stamps on the same machine. Never fails. */
td_ns td_cli_now(void);

/* Reads a whole or decimal number with its unit: "500ms", "2s", "1.5s", "1min". At least 1 ms, at most
 * TD_CLI_TIME_MAX_NS, at most three decimals, no sign, no blank, no other unit. Returns 0, or -1 with a
 * sentence and *span_ns untouched. */
int td_cli_parse_time(const char *text, td_ns *span_ns, struct td_error *err);

/* Writes a span for reading: "250 ms" below one second, else "2.5 s", rounded up to what is shown, so that
 * something left never reads as nothing. Always terminated; a negative span counts as 0. */
void td_cli_format_time(td_ns span_ns, char *text, size_t size);

#endif
