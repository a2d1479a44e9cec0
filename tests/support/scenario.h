/* SPDX-License-Identifier: MIT */
/*
 * Scenarios: rules of the core as short texts, run in simulated time on the rule set of rule_cart.h.
 *
 *   == R2 the end switch of the way stops it
 *   0     ready bottom                     first levels, these switches active; armed
 *   1000  hold boom raise until 9000 = started
 *   2500  press top
 *   2502  is boom coast
 *   2502  saw end-reached boom raise @2502
 *
 * A line is a time in ms (decimals allowed, never smaller than the line before), a command, and for
 * commands that ask something the expected answer behind "=". Between two lines the core is stepped at
 * each deadline it named, and held ways are renewed every 100 ms. `#` begins a comment.
 *
 * Commands: ready [SW...] | levels [SW...] | press SW | clear SW
 *           travel AXIS WAY MS N                    N times that way from end to end in MS, and back in the learned time
 *           rattle SW every MS until MS             press, clear, press ... (or clear first), the first one now
 *           ask AXIS WAY [seq=N hold=N session=N lease=MS heard=MS]   one request
 *           hold AXIS WAY until MS [session=N]      request, renewed, released at MS
 *           renew AXIS | drop AXIS                  one more renewal; stop renewing without release
 *           release AXIS [hold=N session=N] | gone SESSION
 *           stop [AXIS] | latch | kept | lock-kept AXIS WAY | reset [AXIS] [visitor] | arm | disarm | lost | time | written
 *           bar AXIS WAY (moving|at-end|off-end) AXIS [WAY]   the only condition of that way from now on
 *           nobody SW                               the switch is no way's end any more
 *           rule AXIS (dead|rest|restored) MS | rule AXIS WAY (limit|early|leave) MS | rule SW (confirm|clear|window) MS
 *           rule visitor resets N
 *           rule AXIS WAY slower PERCENT            warns of so much slower travels, three in a row; 0 = off
 *           rule SW chatter N                       more than N changes in 1 s (or the window set after it); 0 = off
 * Checks:   is AXIS STATE [WAY|CAUSE] | outs [AXIS.WAY ...] | at AXIS PERCENT|unknown
 *           saw CAUSE [AXIS [WAY]] @MS | never CAUSE [AXIS] | count CAUSE N | moving AXIS yes|no | latched [asked] [input] [kept]
 *           slower AXIS WAY PERCENT|unknown [warned]
 *           locked [AXIS.WAY ...] | pulses SW N | deadline MS|never
 */
#ifndef TD_TESTS_SCENARIO_H
#define TD_TESTS_SCENARIO_H

#include <stddef.h>

struct scenario {
	char *file;
	char *name;
	char *text; /* its lines */
	int line;   /* line of the file the text begins at */
};

/* All scenarios of the *.txt files in a folder, sorted by file; *count is set. The result and its
 * strings belong to the caller, who may leave them to the end of the program. NULL if there are none. */
struct scenario *scenario_load(const char *folder, size_t *count);

/* Runs one. Returns 0, or -1 after printing FILE:LINE, what was expected and what was there. */
int scenario_run(const struct scenario *scenario);

/* The same while somebody looks on (script.h). */
struct script_watch;
int scenario_run_watched(const struct scenario *scenario, const struct script_watch *watch);

#endif
