/* SPDX-License-Identifier: MIT */
/* Steps of a trace in words for people. Names come from the configuration; what it does not name is shown by number. */
#ifndef TD_SIM_REPLAY_WORDS_H
#define TD_SIM_REPLAY_WORDS_H

#include "sim/replay/replay.h"

enum { TD_REPLAY_WORDS_MAX = 1024 };

struct td_replay_words {
	size_t length;
	char text[TD_REPLAY_WORDS_MAX]; /* terminated; what does not fit is left out */
};

/* Adds words (printf-like). */
void td_replay_add(struct td_replay_words *words, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

/* "boom", "the machine" where there is none. */
void td_replay_add_axis(struct td_replay_words *words, const struct td_config *config, uint8_t axis);

/* "boom raise" */
void td_replay_add_way(struct td_replay_words *words, const struct td_config *config, uint8_t axis,
		       uint8_t way);

/* "boom.raise, drive.forward", "none" */
void td_replay_add_ways(struct td_replay_words *words, const struct td_config *config, uint32_t ways);

/* "session 3 asks for boom raise (hold 7)" */
void td_replay_add_event(struct td_replay_words *words, const struct td_config *config,
			 const struct td_replay_step *step);

/* "queued; started boom; outputs boom.raise": the answer, the news, and outputs where they changed. */
void td_replay_add_outcome(struct td_replay_words *words, const struct td_config *config,
			   const struct td_replay_step *step);

/* The same of a client that came, went or was turned away: all there is to say. */
void td_replay_add_client(struct td_replay_words *words, const struct td_replay_moment *moment);

/* "run", "tripped" ... */
const char *td_replay_state_name(uint8_t state);

#endif
