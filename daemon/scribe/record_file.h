/* SPDX-License-Identifier: MIT */
/*
 * The record of core/keep.h as a file in the state directory, "kept.record": its bytes, then which boot of the kernel
 * took it and when, and CRC-32 of those. Within one boot it is certain how long ago that was, so motors cool down
 * over a restart; over a power loss no clock is trusted and no time has passed.
 *
 * No file in a directory that can be read is the first start. A file that is damaged, unreadable, of another version
 * or of a machine with other axes reads as the worst (td_keep_init_unknown()).
 */
#ifndef TD_DAEMON_RECORD_FILE_H
#define TD_DAEMON_RECORD_FILE_H

#include "config/config.h"
#include "core/keep.h"
#include "daemon/scribe/shelf.h"
#include "error.h"

#define TD_RECORD_FILE "kept.record"

/* Tells machines with other axes or ways apart: a checksum of their names in order. */
uint32_t td_record_machine(const struct td_config *config);

/* Fills *keep; *taken_ns is when it was taken, on the clock of `now_ns` (CLOCK_MONOTONIC). 0, or
 * -1 with a sentence, and *keep is the worst. Blocks on the disk. */
int td_record_load(const char *dir, uint32_t machine, td_ns now_ns, struct td_keep *keep, td_ns *taken_ns,
		   struct td_error *err);

/* 0 only once it is on the disk; -1 with a sentence. Blocks on the disk. */
int td_record_save(const char *dir, const struct td_shelf_record *record, struct td_error *err);

#endif
