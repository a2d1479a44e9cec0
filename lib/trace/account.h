/* SPDX-License-Identifier: MIT */
/*
 * The account of one stop: the facts that a trace holds of it, gathered from its entries in their order. Which stop:
 * the last one that is wanted; a later one takes the place of an earlier one.
 *
 * What was recorded is what counts. Figures that no entry carries (how much of a travel was spent, how warm a winding
 * is, how far the cable is twisted) come from a core that runs beside the entries, as long as it agrees with them; a
 * trace of another build has no such core, and then they are unknown.
 *
 * Several traces that follow each other may be given one after another. Pure: no I/O, no heap, no clock; nothing here
 * fails.
 */
#ifndef TD_TRACE_ACCOUNT_H
#define TD_TRACE_ACCOUNT_H

#include <stdbool.h>
#include <stdint.h>

#include "config/config.h"
#include "trace/entry.h"

enum td_account_want {
	TD_ACCOUNT_TRIP = 0, /* latched protective stops */
	TD_ACCOUNT_STOP,     /* whatever ended motion or keeps it from beginning, trips among it */
};

enum { TD_ACCOUNT_SESSIONS_MAX = 64, TD_ACCOUNT_NOTES_MAX = 12 };

/* Somebody; all that is known of them. */
struct td_account_who {
	uint32_t session; /* 0 = nobody */
	uint8_t role;     /* enum td_role, or TD_NO_ROLE = not in the trace */
	bool has_uid;     /* the trace saw them come */
	uint32_t uid;
};

/* Who holds an axis, or held it last. */
struct td_account_hold {
	struct td_account_who by;
	uint32_t number;
	uint8_t way;
	bool begun_before; /* the trace begins in the middle of it */
	td_ns begun_ns;    /* or the beginning of the trace */
	td_ns heard_ns;    /* of the last request or renewal that counted */
	td_ns lease_ns;    /* of that one */
	uint32_t renewals;
};

struct td_account_axis {
	uint8_t state;  /* enum td_axis_state; TD_AXIS_STATES = not known yet */
	uint8_t way;    /* powered now, or last; TD_NO_WAY = never in this trace */
	td_ns since_ns; /* it has been powered since then, or was last */
	td_ns cut_ns;   /* last cut; negative: none in this trace */
	struct td_account_hold hold;
};

struct td_account_switch {
	bool active;      /* filtered */
	uint32_t changes; /* of the filtered state, in this trace */
	uint32_t flips;   /* of the level */
	td_ns changed_ns; /* last change of the filtered state */
	td_ns flipped_ns; /* of the level */
};

/* The machine as the entries tell it. */
struct td_account_view {
	bool known; /* an entry or a snapshot was seen */
	td_ns at_ns;
	uint32_t outputs;
	uint32_t levels;
	uint8_t latch;
	struct td_account_axis axis[TD_AXES_MAX];
	struct td_account_switch sw[TD_SWITCHES_MAX];
};

/* What the core that runs beside says of the moment. */
struct td_account_measure {
	bool known; /* false: the rest is 0 */
	bool located; /* the time spent counts from the other end, else from where the axis was when nothing was known */
	td_ns spent_ns;           /* powered time in the way since then */
	uint32_t chatters;        /* bit set of switches */
	enum td_duty_limit limit; /* that a powered motor has come to, or will come to first */
	uint32_t theta_ppm;
	td_ns powered_ns[TD_BUDGET_SPANS]; /* in the windows of the budgets */
	struct td_twist_view twist;
};

/* Something that happened later. */
struct td_account_note {
	bool restart; /* the daemon was started anew; then only the times count */
	enum td_cause cause;
	uint8_t axis;
	struct td_account_who by; /* who did it, if somebody did */
	td_ns after_ns;           /* the moment */
	uint32_t times;           /* the same again and again is one note */
};

/* A trip before the stop that was not reset when it came; TD_CAUSE_NONE: none. */
struct td_account_earlier {
	enum td_cause cause;
	uint8_t axis;
	td_ns before_ns;
};

struct td_account {
	/* --- the stop --- */
	bool found;
	enum td_cause cause;
	uint8_t axis;                  /* TD_NO_AXIS: it concerns the machine */
	uint8_t way;                   /* powered, waited for or powered last; TD_NO_WAY */
	uint32_t others;               /* bit set of further axes that it took */
	td_ns at_ns;                   /* on the core's clock */
	td_ns into_ns;                 /* since the beginning of its trace */
	int64_t wall_ns;               /* nanoseconds since 1970 in UTC; 0 = unknown */
	struct td_event event;         /* that brought it, */
	struct td_account_who by;      /* and whose that was, where it was somebody's */
	struct td_account_view before; /* axes, outputs and latch before it, switches with it */
	struct td_account_measure measure;
	struct td_account_earlier earlier;
	/* --- and afterwards --- */
	bool reset;     /* the stop was reset, and that is one of the notes */
	bool resumed;   /* its axis was started again, and that is one of the notes */
	bool restarted; /* the daemon was started anew: a trip does not outlive that, the latched stop does */
	size_t notes;
	uint32_t notes_left_out;
	struct td_account_note note[TD_ACCOUNT_NOTES_MAX];
	td_ns lasts_ns; /* how long after it the recording goes on */
};

/* What gathers it. Big: not for a stack. */
struct td_accountant {
	enum td_account_want want;
	bool kept;
	struct td_config config; /* of the trace being read */
	struct td_account account;
	td_ns begin_ns;
	int64_t wall_begin_ns;
	uint64_t next_number;
	/* How far after the stop the traces before have told: up to that time, and of entries at that very time up to that
	 * number. Negative: this is the first one. */
	td_ns told_ns;
	uint64_t told_end;
	uint64_t lasts_end; /* the number behind the last step of account.lasts_ns */
	bool numbered;
	bool beside; /* the core beside is there and has agreed so far */
	struct td_core core;
	struct td_core earlier; /* before the step whose news are being told */
	struct td_account_view now;
	struct td_account_axis axis_before[TD_AXES_MAX];
	uint8_t latch_before;
	struct td_event event;
	uint64_t step_number;                                   /* of the step whose news are being told, */
	uint64_t told_number;                                   /* and of the one the account is of */
	struct td_account_who session[TD_ACCOUNT_SESSIONS_MAX]; /* the last that came */
	size_t sessions;
};

/* Begins with nothing. */
void td_account_begin(struct td_accountant *self, enum td_account_want want);

/* A trace begins: its configuration; the core before its first entry, or NULL; the levels then; its first moment on the
 * core's clock and in UTC (0 = unknown); the number of its first entry. */
void td_account_head(struct td_accountant *self, const struct td_config *config, const struct td_core *core,
		     uint32_t levels, td_ns begin_ns, int64_t wall_ns, uint64_t first_number);

/* The next entry. */
void td_account_entry(struct td_accountant *self, const struct td_entry *entry);

/* The account stays that of the stop it is of; later ones are told among what came after. */
void td_account_keep(struct td_accountant *self);

/* Entries are missing here: the core beside cannot go on. */
void td_account_lost(struct td_accountant *self);

#endif
