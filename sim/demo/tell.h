/* SPDX-License-Identifier: MIT */
/* The demonstration in words: what happens as it happens, and the table at the end. */
#ifndef TD_SIM_DEMO_TELL_H
#define TD_SIM_DEMO_TELL_H

#include <stddef.h>

#include "sim/demo/scene.h"
#include "sim/demo/stage.h"
#include "sim/demo/toll.h"

enum { TD_SCENES_MAX = 16 };

struct td_outcome {
	const struct td_scene *scene;
	struct td_toll with;
	struct td_toll without;
	bool as_expected; /* the expected cause was among the news, no tooth skipped, never both inputs high */
};

void td_tell_opening(void);
void td_tell_scene(size_t number, const struct td_scene *scene);
void td_tell_act(const struct td_stage *stage, const struct td_act *act);
void td_tell_news(const struct td_stage *stage, const struct td_record_news *news);
void td_tell_outcome(const struct td_outcome *outcome, const char *picture);
void td_tell_table(const struct td_outcome *outcomes, size_t count);

#endif
