/* SPDX-License-Identifier: MIT */
/*
 * Memory that the mover shares with another process: it lays the newest of something there and never waits, the other takes
 * it when it comes to it. Two places, written in turn, and a number that says which is whole: one writer, one reader. There
 * is one shelf for what is kept over a restart (struct td_shelf_record) and one for the core as it is (struct td_snapshot),
 * both for the scribe, and one for what is counted (struct td_meter), for the front.
 */
#ifndef TD_DAEMON_SHELF_H
#define TD_DAEMON_SHELF_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/keep.h"
#include "error.h"

struct td_shelf_record {
	td_ns taken_ns; /* CLOCK_MONOTONIC */
	bool drove;     /* td_record_drove() */
	bool latched;   /* what is in the bytes: struct td_keep */
	uint32_t locked;
	uint8_t bytes[TD_KEEP_SIZE];
};

struct td_shelf {
	_Atomic uint32_t laid; /* how many were laid; 0 = none */
	size_t size;           /* of one */
	_Alignas(64) uint8_t place[];
};

/* For things of `size` bytes. Made before the fork, the same for both. NULL with a sentence. Lives as long as the process. */
struct td_shelf *td_shelf_make(size_t size, struct td_error *err);

/* How much memory it is, as td_shared_bytes() gave it. */
size_t td_shelf_bytes(const struct td_shelf *shelf);

/* The place for the next one, aligned for anything; td_shelf_lay() makes it the newest. */
void *td_shelf_place(struct td_shelf *shelf);
void td_shelf_lay(struct td_shelf *shelf);

/* Copies the newest if it is another than number *taken, and sets *taken. False where there is none, or the
 * mover was too quick: then *copy is worthless, try again later. */
bool td_shelf_take(struct td_shelf *shelf, uint32_t *taken, void *copy);

#endif
