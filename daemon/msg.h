/* SPDX-License-Identifier: MIT */
/*
 * What front and mover say to each other: messages of fixed size over two SOCK_SEQPACKET socket pairs
 * made before the fork. Same binary on both ends, so no byte order and no version negotiation; the
 * magic number catches a bug, not an enemy.
 *
 *   orders   front -> mover   requests and renewals; the front keeps at most the newest renewal of an
 *                             axis waiting. Mover -> front: notes.
 *   urgent   front -> mover   stop, latch, release, gone: read to the end before every single order,
 *                             so they overtake everything that is queued.
 *
 * The mover never blocks on either. A note that does not fit is dropped and a full set of notes
 * follows as soon as there is room (TD_NOTE_MACHINE with `lost` set starts it).
 * When one end closes, the other makes everything safe and ends: the mover with the outputs low.
 */
#ifndef TD_DAEMON_MSG_H
#define TD_DAEMON_MSG_H

#include <stdint.h>

#include "core/core.h"
#include "core/monitor.h"

#define TD_MSG_MAGIC UINT32_C(0x7d096d31)

/* front -> mover: a core event with the front's correlation tag. */
struct td_order {
	uint32_t magic;
	uint32_t
		kind; /* enum td_event_kind: REQUEST, RELEASE, GONE, TURN_OVER, STOP, LATCH, RESET, UNTWISTED, LATCH_KEPT */
	uint64_t tag; /* comes back in the answer; 0 = no answer wanted */
	uint32_t session;
	uint32_t hold;
	uint32_t seq;
	uint8_t axis;
	uint8_t way;
	uint8_t role;
	uint8_t pad;
	int64_t lease_ns;
	int64_t heard_ns;
};

enum td_note_kind {
	TD_NOTE_ANSWER = 1, /* what became of an order */
	TD_NOTE_NEWS,       /* something happened */
	TD_NOTE_AXIS,       /* an axis as it is now */
	TD_NOTE_MACHINE,    /* the machine as it is now */
	TD_NOTE_BREACH,     /* the monitor kept a word of outputs from being written */
	TD_NOTE_PING,       /* nothing: whether it is read tells the mover that the front lives */
};

struct td_note_axis {
	uint8_t axis;
	uint8_t state; /* enum td_axis_state */
	uint8_t way;
	uint8_t moving;
	uint8_t at_end[TD_WAYS];
	uint8_t trip;   /* enum td_cause */
	uint8_t locked; /* R11: bit `way` */
	uint8_t slower; /* bit `way`: it takes longer than learned */
	uint8_t pad[3]; /* 0: no hidden padding, so that notes can be compared as bytes */
	int32_t position_ppm;
	int32_t slower_ppm[TD_WAYS]; /* TD_NO_TREND: nothing is learned */
	uint32_t session;
	uint32_t hold;
	int64_t lease_left_ns;
	int64_t wait_left_ns;
};

struct td_note_machine {
	uint8_t armed;
	uint8_t latch; /* bit set TD_LATCH_... */
	uint8_t lost;  /* notes were lost before this one */
	uint8_t axes;  /* how many TD_NOTE_AXIS make a full set */
	uint32_t outputs;
	uint32_t levels;          /* electrical levels of the switch lines */
	uint32_t active;          /* filtered: bit set of active switches */
	uint32_t stop_latency_us; /* last stop: from heard to outputs written; 0 = none yet */
	uint32_t chatters;        /* bit set of the switches that change too often */
	uint8_t twist_counted;
	uint8_t twist_blocked;  /* bit `way` of the drive */
	uint8_t config_refused; /* a new configuration was refused, the one before is in force */
	uint8_t pad[5];
	int64_t cycles;
	int64_t resets_free_ns;  /* R11: from when on visitors may reset; TD_NEVER = they never may */
	int64_t twist_net_uturn; /* as struct td_twist_view */
	int64_t twist_doubt_uturn;
};

struct td_note_news {
	uint8_t cause; /* enum td_cause */
	uint8_t axis;
	uint8_t way;
	uint8_t sw;
	uint8_t role;   /* enum td_role of who did it, or TD_NO_ROLE */
	uint8_t pad[3]; /* 0: no hidden padding, so that notes can be compared as bytes */
	uint32_t session;
	uint32_t hold;
	uint32_t outputs; /* after the step that brought the news */
	uint32_t levels;
};

struct td_note_answer {
	uint64_t tag;
	uint8_t cause; /* enum td_cause */
};

/* A verdict of the monitor (core/monitor.h). */
struct td_note_breach {
	uint8_t breach; /* enum td_breach */
	uint8_t axis;
	uint8_t way;
	uint32_t outputs; /* as they would have been written */
	int64_t measured_ns;
	int64_t bound_ns;
};

struct td_note {
	uint32_t magic;
	uint32_t kind;
	int64_t at_ns; /* CLOCK_MONOTONIC */
	union {
		struct td_note_answer answer;
		struct td_note_news news;
		struct td_note_axis axis;
		struct td_note_machine machine;
		struct td_note_breach breach;
	} as;
};

#endif
