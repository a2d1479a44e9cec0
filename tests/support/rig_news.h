/* SPDX-License-Identifier: MIT */
/* News and followers of a front in a test (front_rig.h). */
#ifndef TD_TESTS_RIG_NEWS_H
#define TD_TESTS_RIG_NEWS_H

#include "tests/support/front_rig.h"

/* So many news of this cause, about the boom. */
void rig_happen(const struct rig *rig, enum td_cause cause, int times);

/* The member `params` of a notification; borrowed. */
json_t *rig_params(const json_t *line);
/* True if it is a notification of that method. */
bool rig_is(const json_t *line, const char *method);
/* An integer member; 0 where there is none. */
int64_t rig_number(const json_t *object, const char *key);

/* Follows, and gives the member `events` of the answer; the caller's. */
json_t *rig_follow(struct rig_client *client, const char *params);

/* The next news are these; what else comes before is thrown away. */
void rig_expect_news(struct rig_client *client, int64_t n, enum td_cause cause, int64_t missed);

#endif
