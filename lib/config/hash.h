/* SPDX-License-Identifier: MIT */
/*
 * FNV-1a, 64 bits (RFC 9923, title and constants from memory). It notices changes; it is no protection
 * against anybody who wants two files to look alike.
 */
#ifndef TD_CONFIG_HASH_H
#define TD_CONFIG_HASH_H

#include <stddef.h>
#include <stdint.h>

#include "config/draft.h"

#define TD_HASH_START UINT64_C(0xcbf29ce484222325)

/* Takes `length` more bytes into a hash. Never fails. */
uint64_t td_hash_bytes(uint64_t hash, const void *bytes, size_t length);

/* Of the settings in effect, defaults included: section, key and value of each, in one order: machine, keeper,
 * visitor, turns, twist, trace, the axes each followed by its two ways, the switches. Comments, blanks, the order of keys and a
 * default written out make no difference; the order of axes or switches, which numbers them, does. The
 * draft has passed its checks. */
uint64_t td_hash_draft(struct td_draft *draft);

#endif
