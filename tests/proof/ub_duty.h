/* SPDX-License-Identifier: MIT */
#ifndef TD_PROOF_UB_DUTY_H
#define TD_PROOF_UB_DUTY_H

#include "core/duty.h"
#include "tests/proof/ub.h"

struct td_budget nondet_budget(void);
struct td_duty nondet_duty(void);
struct td_duty_rules nondet_duty_rules(void);

#define SANE_SPAN(span) ((unsigned int)(span) < TD_BUDGET_SPANS)

/* More than 31 parts of the longest window. */
#define SPENT_MAX_NS ((td_ns)1 << 47)

/* As in duty.c: spans are looked for below this. */
#define LONGEST_LIMIT_MS (UINT64_C(1) << 33)
typedef bool (*span_test)(const struct td_duty *duty, const struct td_duty_rules *rules, td_ns span_ns);
td_ns __CPROVER_file_local_duty_c_longest_ms(const struct td_duty *duty, const struct td_duty_rules *rules,
					     span_test holds);

#endif
