/* SPDX-License-Identifier: MIT */
/* The scenes of the demonstration: what people do, what breaks, and what must come of it. */
#ifndef TD_SIM_DEMO_SCENE_H
#define TD_SIM_DEMO_SCENE_H

#include <stddef.h>

#include "core/cause.h"

enum td_act_kind {
	TD_ACT_NONE = 0, /* ends the list */
	TD_ACT_HOLD,     /* a client holds AXIS WAY for a time */
	TD_ACT_KILL,     /* the last client is killed */
	TD_ACT_FREEZE,   /* the last client freezes: its connection stays open */
	TD_ACT_POKE,     /* something happens to the machine: a command to the board */
	TD_ACT_LATCH,    /* a visitor makes the latched stop */
	TD_ACT_RESET,    /* the keeper resets */
	TD_ACT_RESTART,  /* the daemon is ended and started again */
};

struct td_act {
	int at_ms;
	enum td_act_kind kind;
	const char *says; /* plain words, no full stop */
	const char *axis; /* HOLD */
	const char *way;  /* HOLD */
	int for_ms;       /* HOLD */
	const char *poke; /* POKE */
};

enum { TD_ACTS_MAX = 8 };

struct td_scene {
	const char *file; /* of its picture, without .svg */
	const char *title;
	const char *rules;
	const char *axes[3];    /* shown in the picture; NULL ends */
	enum td_cause expected; /* must be among the news */
	int length_ms;
	struct td_act act[TD_ACTS_MAX];
};

/* The i-th scene; NULL past the end. */
const struct td_scene *td_scene_at(size_t index);

#endif
