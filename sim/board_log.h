/* SPDX-License-Identifier: MIT */
/*
 * The board's log: everything a watch tells, as a trace any waveform viewer opens (lib/trace). Time 0 is the
 * first change told. Signals: for every axis a scope with its two bridge inputs, the position in
 * millionths of the travel (32 bits, two's complement) and the skipped teeth; a scope `switches` with the
 * electrical level of every switch line. Marks are comments.
 */
#ifndef TD_SIM_BOARD_LOG_H
#define TD_SIM_BOARD_LOG_H

#include "config/config.h"
#include "error.h"
#include "sim/plant.h"
#include "sim/watch.h"

struct td_board_log;

/* Creates or overwrites the file `path`. NULL with a sentence in *err if that fails. */
struct td_board_log *td_board_log_open(const char *path, const struct td_config *config,
				       const struct td_plant_model *model, struct td_error *err);

/* What hangs on to a watch. A write that fails is kept and told by the next flush. */
struct td_watcher td_board_log_watcher(struct td_board_log *log);

/* Completes the file up to `at_ns`: 0, or -1 with a sentence in *err. `ctx` is the struct td_board_log. */
int td_board_log_flush(void *ctx, td_ns at_ns, struct td_error *err);

/* Flushes up to the last change, closes. NULL is fine. 0, or -1 with the first thing that went wrong. */
int td_board_log_close(struct td_board_log *log, struct td_error *err);

#endif
