/* SPDX-License-Identifier: MIT */
/*
 * Sequences for the monitor, made by hand: events with the outputs that are claimed to follow from them, on the rule
 * set of rule_cart.h. No core is involved, so a sequence can break any rule.
 */
#ifndef TD_TESTS_MONITOR_CASE_H
#define TD_TESTS_MONITOR_CASE_H

#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { MONITOR_ROWS = 40 };

#define ON(axis, way) (UINT32_C(1) << ((axis)*TD_WAYS + (way)))
#define AT(sw)        (UINT32_C(1) << (sw))

struct monitor_row {
	double at_ms;
	uint32_t outputs;
	uint32_t active; /* LEVELS: switches that are active */
	double heard_ms;
	double lease_ms;
	struct td_event event; /* times and levels are filled in */
};

struct monitor_case {
	const char *name;
	struct monitor_row row[MONITOR_ROWS]; /* up to the first without an `at_ms` */
	uint32_t active;                      /* switches that are active when the machine is armed at 0 */
	bool bare;                            /* neither levels nor arming at 0 */
	void (*change)(struct td_rules *rules);
	enum td_breach breach; /* of the last row; NONE: nothing is wrong with it; all others are fine */
	uint8_t axis;
	uint8_t way;
};

/* Nothing is wrong with the last row either. */
#define FINE .breach = TD_BREACH_NONE

/* One row: event kind, time in ms, outputs after it, fields. */
#define ROW(what, at, out, ...)                                                                              \
	{                                                                                                    \
		.at_ms = (at), .outputs = (out), .event = {.kind = TD_EVENT_##what, __VA_ARGS__ }            \
	}
#define TIME(at, out)          ROW(TIME, at, out, .seq = 0)
#define WRITTEN(at, out)       ROW(WRITTEN, at, out, .seq = 0)
#define STOP(at, which, out)   ROW(STOP, at, out, .axis = (which))
#define KEEPER(at, which, out) ROW(RESET, at, out, .axis = (which), .role = TD_ROLE_KEEPER)
#define LEVELS(at, switches, out)                                                                            \
	{                                                                                                    \
		.at_ms = (at), .outputs = (out), .active = (switches), .event = {.kind = TD_EVENT_LEVELS }   \
	}
/* The start of a hold, heard at `heard` (0: now), for `lease` ms; who = session, number of the hold. */
#define ASK_FOR(at, which, to, who, lease, heard, out)                                                       \
	{                                                                                                    \
		.at_ms = (at), .outputs = (out), .heard_ms = (heard), .lease_ms = (lease), .event = {        \
			.kind = TD_EVENT_REQUEST,                                                            \
			.axis = (which),                                                                     \
			.way = (to),                                                                         \
			.session = (who) / 10,                                                               \
			.hold = (who) % 10                                                                   \
		}                                                                                            \
	}
/* `who`: session x 10 + number of the hold. */
#define ASK(at, which, to, who, out) ASK_FOR(at, which, to, who, 1500, 0, out)
#define RENEW_FOR(at, which, to, who, number, lease, out)                                                    \
	{                                                                                                    \
		.at_ms = (at), .outputs = (out), .lease_ms = (lease), .event = {                             \
			.kind = TD_EVENT_REQUEST,                                                            \
			.axis = (which),                                                                     \
			.way = (to),                                                                         \
			.session = (who) / 10,                                                               \
			.hold = (who) % 10,                                                                  \
			.seq = (number)                                                                      \
		}                                                                                            \
	}
#define RENEW(at, which, to, who, number, out) RENEW_FOR(at, which, to, who, number, 1500, out)
#define RELEASE(at, which, who, out)                                                                         \
	ROW(RELEASE, at, out, .axis = (which), .session = (who) / 10, .hold = (who) % 10)

/* A cmocka test: *state is the case. */
void monitor_case_run(void **state);

/* Runs them all as one group under this name; the result is main()'s. */
int monitor_cases_run(const char *group, struct monitor_case *cases, size_t count);

#endif
