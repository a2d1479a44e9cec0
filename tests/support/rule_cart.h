/* SPDX-License-Identifier: MIT */
/* The rule set of the core's tests: a cart with everything a rule can be about. Numbers are invented. */
#ifndef TD_TESTS_RULE_CART_H
#define TD_TESTS_RULE_CART_H

#include "core/core.h"

enum { RULE_BOOM, RULE_WHEEL, RULE_DRIVE, RULE_VENT, RULE_AXES };
enum { RULE_VISITOR_RESETS = 3 };
enum { RULE_BOTTOM, RULE_TOP, RULE_SHUT, RULE_OPEN, RULE_STOP, RULE_SWITCHES };

struct rule_names {
	const char *axis[RULE_AXES];
	const char *way[RULE_AXES][TD_WAYS];
	const char *sw[RULE_SWITCHES];
};

extern const struct rule_names rule_names;

/*
 * boom   lower raise   1600 ms / 2000 ms, limit 130 %, early 50 %, leave 500 ms, dead 250, rest 200
 *                      raise: not while vent moves
 * wheel  left right    stroke 600 ms, dead 150, rest 100, never restored
 * drive  back ahead    stroke 20000 ms, dead 400, rest 300, restored after 2000
 * vent   close open    2500 ms, limit 130 %, early 50 %, leave 500 ms, dead 250, rest 200
 *                      close: not unless boom is at the end of lower
 * visitors reset 3 times an hour
 * bottom, top, shut, stop normally-closed; open normally-open; confirm 2 ms (stop 0), clear 50 ms
 */
struct td_rules rule_cart(void);

/* The electrical level that makes this switch read active (or clear). */
bool rule_level(const struct td_rules *rules, uint8_t sw, bool active);

#endif
