/* SPDX-License-Identifier: MIT */
/*
 * Memory that mover and scribe share: the mover lays the newest record there and never waits, the scribe takes it when
 * it comes to it. Two places, written in turn, and a number that says which is whole: one writer, one reader.
 */
#ifndef TD_DAEMON_SHELF_H
#define TD_DAEMON_SHELF_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#include "core/keep.h"
#include "error.h"

struct td_shelf_record {
	td_ns taken_ns; /* CLOCK_MONOTONIC */
	uint8_t bytes[TD_KEEP_SIZE];
};

struct td_shelf {
	_Atomic uint32_t laid; /* how many records were laid; 0 = none */
	struct td_shelf_record record[2];
};

/* Made before the fork, the same for both. NULL with a sentence. Lives as long as the process. */
struct td_shelf *td_shelf_make(struct td_error *err);

/* The place for the next record; td_shelf_lay() makes it the newest. */
struct td_shelf_record *td_shelf_place(struct td_shelf *shelf);
void td_shelf_lay(struct td_shelf *shelf);

/* Copies the newest record if it is another than number *taken, and sets *taken. False where there is none, or the
 * mover was too quick: try again later. */
bool td_shelf_take(struct td_shelf *shelf, uint32_t *taken, struct td_shelf_record *copy);

#endif
