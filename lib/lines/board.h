/* SPDX-License-Identifier: MIT */
/*
 * How a bench board and the daemon's bench backend talk: a Unix SOCK_SEQPACKET socket for what
 * happens, one shared page for the input levels. Both ends run on one machine from one build.
 *
 *   daemon -> board   HELLO (version, masks)   first, once
 *   board  -> daemon  WELCOME + descriptor of the page (SCM_RIGHTS), or REFUSED (text)
 *   daemon -> board   SET (mask, levels, time)  one message per write; a write that both clears and
 *                                               sets is two messages, the clear first
 *   board  -> daemon  EDGE (switch, level, time, sequence number)
 *
 * The page is written by the board alone; the daemon maps it read-only. When the last descriptor of
 * the daemon's end closes, the board lets the outputs fall to their pulls: low.
 */
#ifndef TD_LINES_BOARD_H
#define TD_LINES_BOARD_H

#include <stdatomic.h>
#include <stdint.h>

enum { TD_BOARD_VERSION = 1 };
#define TD_BOARD_MAGIC UINT32_C(0x7d09b0a2)

enum td_board_kind {
	TD_BOARD_HELLO = 1,
	TD_BOARD_WELCOME,
	TD_BOARD_REFUSED,
	TD_BOARD_SET,
	TD_BOARD_EDGE,
};

struct td_board_message {
	uint32_t magic; /* TD_BOARD_MAGIC in every message */
	uint32_t kind;  /* enum td_board_kind */
	int64_t at_ns;  /* SET, EDGE: CLOCK_MONOTONIC when it was sent or happened */
	union {
		struct {
			uint32_t version, outputs, inputs;
		} hello;
		struct {
			uint32_t mask, levels;
		} set;
		struct {
			uint32_t seq, sw, high;
		} edge;
		char reason[40]; /* REFUSED, terminated */
	} as;
};

struct td_board_page {
	uint32_t magic;
	uint32_t version;
	_Atomic uint32_t levels; /* bit i = level of switch line i */
};

#endif
