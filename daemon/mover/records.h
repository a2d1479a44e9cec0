/* SPDX-License-Identifier: MIT */
/*
 * When the mover lays a record on the shelf: a second after something happened, every TD_RECORD_TAKE_NS while anything
 * is powered, once more when the drive has stood for a while, and at the end. Copies bytes, waits for nothing.
 */
#ifndef TD_DAEMON_MOVER_RECORDS_H
#define TD_DAEMON_MOVER_RECORDS_H

#include "core/core.h"
#include "core/keep.h"
#include "daemon/scribe/shelf.h"

struct td_mover_records {
	struct td_shelf *shelf; /* NULL: none is laid */
	uint32_t machine;
	bool news;  /* something has happened since the last one */
	bool drove; /* in the last one */
	td_ns laid_ns;
	struct td_keep keep;
};

void td_mover_records_init(struct td_mover_records *records, struct td_shelf *shelf, uint32_t machine,
			   td_ns now_ns);

/* After every step. */
void td_mover_records_note(struct td_mover_records *records, const struct td_result *result);

/* When the next one is due; TD_NEVER. */
td_ns td_mover_records_due(const struct td_mover_records *records, uint32_t written);

/* Lays one if it is due. */
void td_mover_records_tend(struct td_mover_records *records, const struct td_core *core,
			   const struct td_rules *rules, uint32_t written, td_ns now_ns);

/* The last one: every output is low and stays so. */
void td_mover_records_close(struct td_mover_records *records, const struct td_core *core,
			    const struct td_rules *rules, td_ns now_ns);

#endif
