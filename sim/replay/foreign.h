/* SPDX-License-Identifier: MIT */
/*
 * Somebody else's trace as the input of a machine on the bench: its signals are the switches, and the hands that hold ways
 * (map.h). The core begins with the trace, not knowing where anything is, and is armed at once. A held way is
 * requested, renewed every 100 ms and let go; one that is held at the first moment already counts as not
 * held until it was let go (R11). A switch whose level nobody knows (x, z) reads as active; one that the map does not name stays
 * clear.
 */
#ifndef TD_SIM_REPLAY_FOREIGN_H
#define TD_SIM_REPLAY_FOREIGN_H

#include "sim/replay/file.h"
#include "sim/replay/map.h"

/* order->config is given. Tells what happens as it happens. 0, or -1 with a sentence. Memory does not grow with the trace. */
int td_replay_foreign(FILE *in, const struct td_replay_order *order, const struct td_replay_map *map,
		      FILE *told, struct td_error *err);

#endif
