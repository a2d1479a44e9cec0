/* SPDX-License-Identifier: MIT */
/* The answer to `status`, taken apart: what the table on the screen is drawn from. */
#ifndef TD_DAEMON_CLIENT_VIEW_H
#define TD_DAEMON_CLIENT_VIEW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <jansson.h>

#include "core/limits.h"
#include "core/trend.h"
#include "daemon/arming.h"
#include "daemon/client/turn.h"
#include "error.h"

/* Every string in here is borrowed from the JSON document (or lives for ever), and never NULL. */
struct td_view_reason {
	const char *cause; /* its stable name; "" = there is no reason to show */
	const char *rule;
	const char *sentence;
	const char *remedy;
};

struct td_view_axis {
	const char *name;
	const char *way_name[TD_WAYS];
	const char *state; /* as the protocol writes it */
	uint8_t way;       /* powered or waited for; TD_NO_WAY = none */
	bool moving;
	bool at_end[TD_WAYS];
	bool fitted[TD_WAYS];  /* this way has an end switch */
	int32_t position_ppm;  /* 0 ... 1000000 from the end of way 0; -1 = unknown */
	int64_t lease_left_ms; /* 0 = nobody holds it */
	int64_t wait_left_ms;
	struct td_view_reason trip;
	bool visitor_resets;         /* a visitor may reset this trip too */
	bool locked[TD_WAYS];        /* this way waits for the keeper's reset */
	bool slower[TD_WAYS];        /* this way was warned of: it takes longer than learned */
	int32_t slower_ppm[TD_WAYS]; /* how much longer; TD_NO_TREND where the daemon does not tell */
};

struct td_view_switch {
	const char *name;
	bool active;
	bool chatters; /* it changes more often than a sound contact can */
};

/* R18: the cable of a machine that drives on one. Degrees to the left. */
struct td_view_twist {
	bool counted;
	int64_t net_degrees;
	int64_t doubt_degrees;
	int64_t limit_degrees; /* 0 or more: a limit below half a degree is told as 0 */
	size_t blocks;         /* ways of the drive that would add to it beyond the limit */
	const char *blocked[TD_WAYS];
};

enum { TD_VIEW_LATCHES_MAX = 3 };

/* Whole sentences; those past the most there can be are left out. */
struct td_view_sentences {
	size_t count;
	const char *text[TD_ARMING_MAX];
};

struct td_view {
	const char *machine; /* its name, "" where the daemon told none */
	bool armed;
	struct td_view_sentences why_not;  /* what speaks against arming; may be empty though not armed */
	struct td_view_sentences accepted; /* what would, but was accepted */
	bool config_refused;               /* a new configuration was; the one before is in force */
	size_t latches;                    /* why the latched stop is on; 0 = it is off */
	struct td_view_reason latch[TD_VIEW_LATCHES_MAX];
	size_t axes;
	struct td_view_axis axis[TD_AXES_MAX];
	struct td_view_twist twist;
	struct td_turn_view turn;
	bool quiet; /* quiet hours: what is loud stands still */
	size_t switches;
	struct td_view_switch sw[TD_SWITCHES_MAX];
};

/* Reads the result of `status`, and of `describe` where it is at hand (NULL allowed), for what status leaves
 * out: the machine's name and which ways have an end switch. The view borrows from both. Returns 0, or -1 with
 * a sentence if a document is not what the protocol says; then *view is not to be used. */
int td_view_read(const json_t *status, const json_t *describe, struct td_view *view, struct td_error *err);

/* Something is powered, coasting or waiting: worth drawing again soon. */
bool td_view_moving(const struct td_view *view);

/* A cause as protocol documents name it: an object with its words, or the bare name. Total. */
struct td_view_reason td_view_reason_read(const json_t *reason);

#endif
