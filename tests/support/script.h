/* SPDX-License-Identifier: MIT */
/* A core in simulated time, with what must hold after each step whatever happens. */
#ifndef TD_TESTS_SCRIPT_H
#define TD_TESTS_SCRIPT_H

#include <stdbool.h>
#include <stddef.h>

#include "core/core.h"
#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { ENTRIES_MAX = 2000 };

struct held {
	bool on;
	uint8_t way;
	uint32_t session;
	uint32_t hold;
	uint32_t seq;
	td_ns next_ns;
	td_ns until_ns;
};

struct entry {
	td_ns at_ns;
	struct td_news news;
};

struct script;

/* Whoever looks on; any may be NULL. */
struct script_watch {
	void *ctx;
	/* Before the first event, with the rules as they are then; after each. */
	void (*begin)(void *ctx, const struct script *script, const struct td_event *event);
	void (*step)(void *ctx, const struct script *script, const struct td_event *event);
};

struct script {
	const struct script_watch *watch; /* NULL: nobody */
	const char *file;
	int line;
	char shown[256];
	char why[160]; /* an invariant that broke; "" = none */
	bool failed;
	struct td_rules rules;
	struct td_core core;
	struct td_result result; /* of the last event; outputs and deadline of the last step */
	uint32_t active;         /* switches the world holds active */
	uint32_t holds;
	size_t steps;
	struct held held[TD_AXES_MAX];
	struct td_monitor monitor; /* judges every step */
	size_t entries;
	struct entry entry[ENTRIES_MAX];
};

void script_init(struct script *script, const char *file, int line);

/* One event at the present time; what happened is kept in script->result and the log. */
void script_event(struct script *script, struct td_event event);

/* A LEVELS event from script->active. */
void script_levels(struct script *script);

/* One more renewal of the way held on this axis. */
void script_renew(struct script *script, uint8_t axis);

/* Steps and renews up to and including `to_ns`. 0, or -1 with script->why. */
int script_advance(struct script *script, td_ns to_ns);

/* "rule" lines: word[2] or word[3] names the number, the last word is its value in ms. */
int script_rule(struct script *script, uint8_t axis, uint8_t way, uint8_t sw, char **word);

/* "duty AXIS PERCENT TAU_S RESTART_PERCENT", "allow AXIS minute|ten-minutes|day S", "supply MA GAP_MS",
 * "weight AXIS START_MA RUN_MA WINDOW_MS". */
int script_load_rule(struct script *script, uint8_t axis, char **word);

/* Changes the level of a switch every `every_ns` up to and including `until_ns`, the first time now. 0, or -1. */
int script_rattle(struct script *script, uint8_t sw, td_ns every_ns, td_ns until_ns);

/* `times` whole travels of an axis that stands at the other end: there in `travel_ns`, back in the learned time, 600 ms
 * of rest after each. 0, or -1. */
int script_travel(struct script *script, uint8_t axis, uint8_t way, td_ns travel_ns, long times);

/* The switch is no way's end any more. False if the rules do not allow that. */
bool script_nobody(struct script *script, uint8_t sw);

/* "cable estimate DEGREES CIRCLE_S DOUBT_PERCENT [springs]": turns by drive and wheel, both circles and ways alike;
 * "cable sensor DEGREES CIRCLE_S STEPS [springs]": the contacts are `open` and `stop`, which then serve nothing else. */
int script_cable_rule(struct script *script, char **word);

/* Of the twist of the cable, in degrees. */
double script_degrees(int64_t uturn);

void script_print_log(const struct script *script);

#endif
