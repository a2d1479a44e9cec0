/* SPDX-License-Identifier: MIT */
/* A scene as a timing diagram. */
#ifndef TD_SIM_DEMO_PICTURE_H
#define TD_SIM_DEMO_PICTURE_H

#include "sim/demo/record.h"
#include "sim/demo/scene.h"

/* Writes PATH. `zero_ns` is the scene's beginning. 0, or -1 with a sentence. */
int td_demo_picture(const struct td_scene *scene, const struct td_record *record, td_ns zero_ns,
		    const char *path, struct td_error *err);

#endif
