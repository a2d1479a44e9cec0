/* SPDX-License-Identifier: MIT */
/* What is certain and what is not at one moment of a power_log, and directories made of it. */
#ifndef TD_TESTS_POWER_MODEL_H
#define TD_TESTS_POWER_MODEL_H

#include "tests/support/power.h"

enum power_fate { POWER_LOST = 0, POWER_KEPT, POWER_CUT, POWER_ZEROS };

/* Something uncertain. */
struct power_piece {
	const struct power_call *call;
	enum power_fate fate;
	size_t cut; /* CUT: bytes of the write that are there */
};

struct power_bytes {
	uint8_t *bytes;
	size_t size;
	size_t room;
	unsigned int version; /* grows whenever they become others */
};

struct power_model {
	struct power_bytes sure[POWER_FILES];
	unsigned int names;
	struct power_name name[POWER_NAMES]; /* that are certain */
	bool has_inner;
	unsigned int pieces;
	struct power_piece piece[POWER_PENDING]; /* in the order of the calls */
};

void power_model_call(struct power_model *model, const struct power_log *log, const struct power_call *call);

/* The names there are with the fates chosen, and what tells their contents apart. */
void power_model_state(const struct power_model *model, const struct power_log *log,
		       struct power_state *state);

/* The bytes of a file with the fates chosen; they live until the next call. */
const struct power_bytes *power_model_bytes(const struct power_model *model, int file);

void power_model_free(struct power_model *model);

static inline uint64_t power_mix(uint64_t hash, uint64_t value)
{
	return (hash ^ value) * UINT64_C(0x9e3779b97f4a7c15) ^ (hash >> 29);
}

#endif
