/* SPDX-License-Identifier: MIT */
/*
 * The front's picture of the machine, as the mover's notes last drew it, and the JSON that shows it.
 * Spans that are left (lease, wait) are counted from the time of the note.
 */
#ifndef TD_DAEMON_FRONT_MIRROR_H
#define TD_DAEMON_FRONT_MIRROR_H

#include <stdbool.h>
#include <stdint.h>

#include <jansson.h>

#include "config/config.h"
#include "core/time.h"
#include "daemon/arming.h"
#include "daemon/front/history.h"
#include "daemon/msg.h"
#include "daemon/scribe/shared.h"

struct td_mirror {
	const struct td_config *config; /* borrowed */
	const struct td_arming *arming; /* borrowed */
	td_ns machine_ns;               /* when the note was made; 0 = there was none yet */
	td_ns axis_ns[TD_AXES_MAX];
	struct td_note_machine machine;
	struct td_note_axis axis[TD_AXES_MAX];
};

void td_mirror_start(struct td_mirror *mirror, const struct td_config *config,
		     const struct td_arming *arming);

/* Takes a MACHINE or AXIS note in; false if it is of another kind or names an axis that does not exist. */
bool td_mirror_take(struct td_mirror *mirror, const struct td_note *note);

/* True once the machine and every axis were seen. */
bool td_mirror_complete(const struct td_mirror *mirror);

/* The result of `status` as `session` sees it at `now_ns`, and its two parts that also go out as
 * notifications. docs/protocol.md has their shapes. The caller owns the results. */
json_t *td_mirror_status(const struct td_mirror *mirror, td_ns now_ns, uint32_t session);
json_t *td_mirror_machine(const struct td_mirror *mirror);
json_t *td_mirror_axis(const struct td_mirror *mirror, uint8_t axis, td_ns now_ns, uint32_t session);

/* The params of a "news" notification; `yours`: its hold belongs to who reads it. The caller owns it. */
json_t *td_mirror_news(const struct td_mirror *mirror, const struct td_happening *happening, bool yours);

/* Whom it is told to. */
struct td_described {
	enum td_role role;
	unsigned int connections; /* that this role may have at a time */
};

/* The result of `hello` but for the token, and of `describe`. The caller owns it. */
json_t *td_hello(const struct td_config *config, const struct td_described *to);
json_t *td_describe(const struct td_config *config, const struct td_described *to);

/* How the traces are doing. The caller owns it. */
json_t *td_tally_object(const struct td_tally *tally);

/* Millionths of a turn in whole degrees, to the nearest: what people and the wire are told. */
int64_t td_degrees(int64_t uturn);

/* Name of a kind of causes on the wire and in the log. */
const char *td_cause_kind_name(enum td_cause_kind kind);

/* Name of an axis state on the wire; total. */
const char *td_axis_state_name(unsigned int state);

#endif
