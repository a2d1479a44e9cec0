/* SPDX-License-Identifier: MIT */
/*
 * The one table of what may stand in a plant file. It feeds the parser, the defaults, the messages,
 * `tripdog-sim plant --explain` and the tests; nothing repeats it.
 */
#ifndef TD_SIM_PLANT_KEYS_H
#define TD_SIM_PLANT_KEYS_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

enum td_plant_section {
	TD_PLANT_SECTION_PLANT = 0, /* [plant] */
	TD_PLANT_SECTION_MOTOR,     /* [motor AXIS] */
	TD_PLANT_SECTIONS,          /* also: no such section */
};

enum td_plant_form {
	TD_PLANT_NUMBER = 0,
	TD_PLANT_PAIR, /* one number for both ways, or two: way 0, way 1 */
	TD_PLANT_ENDS, /* the word "free" (0) or "hard" (1) */
};

/* clang-format off */

/* X(SECTION, IDENT, "key", FORM, "unit", min, max, "default" or NULL where required, "help") */
#define TD_PLANT_KEY_TABLE(X) \
	X(PLANT, BOUNCE, "bounce_us", NUMBER, "us", 0, 200000, "1500", \
	  "How long a contact goes on opening and closing after each change. 0: clean contacts.") \
	X(PLANT, SEED, "seed", NUMBER, "", 0, 2147483647, "1", \
	  "Start of the pseudo-random numbers; the same seed gives the same bounces.") \
	X(MOTOR, ENDS, "ends", ENDS, "", 0, 1, "hard", \
	  "hard: the travel ends at two hard stops. free: it has no ends, like a wheel.") \
	X(MOTOR, TRAVEL, "travel_ms", PAIR, "ms", 10, 600000, NULL, \
	  "From one hard stop to the other at full speed; without ends, one length. One number for both ways, " \
	  "or two in the order of the axis' ways.") \
	X(MOTOR, SPEED_UP, "speed_up_ms", NUMBER, "ms", 0, 10000, "40", \
	  "Time constant while powered: after so long 63 % of full speed is reached.") \
	X(MOTOR, COAST, "coast_ms", NUMBER, "ms", 0, 10000, "25", \
	  "Time constant while cut: after so long 37 % of the speed is left.") \
	X(MOTOR, BRAKE, "brake_ms", NUMBER, "ms", 0, 10000, "10", \
	  "The same while both bridge inputs are high.") \
	X(MOTOR, SWITCH, "switch_percent", NUMBER, "%", 0, 49, "4", \
	  "How far before the hard stop the end switch is pressed, in parts of the travel.") \
	X(MOTOR, TEETH, "teeth_per_s", NUMBER, "1/s", 0, 10000, "60", \
	  "Gear teeth skipped in each second that the motor pushes against a hard stop.") \
	X(MOTOR, JAM_TEETH, "jam_teeth_per_s", NUMBER, "1/s", 0, 10000, "60", \
	  "The same against a jam. 0: a jam blocks the gear itself, and the motor stalls.") \
	X(MOTOR, START, "start_percent", NUMBER, "%", 0, 100, "50", \
	  "Where the axis stands at the start: 0 is the hard stop of the first way.")

/* clang-format on */

enum td_plant_key {
#define X(section, ident, name, form, unit, min, max, fallback, help) TD_PLANT_KEY_##ident,
	TD_PLANT_KEY_TABLE(X)
#undef X
		TD_PLANT_KEYS /* also: no such key */
};

struct td_plant_key_info {
	enum td_plant_section section;
	enum td_plant_form form;
	const char *name;
	const char *unit;
	int64_t min;
	int64_t max;
	const char *fallback; /* as it would be written; NULL: the key is required */
	const char *help;
};

/* Static data. */
const struct td_plant_key_info *td_plant_key_info(enum td_plant_key key);

/* TD_PLANT_KEYS if the section has no key of that name. */
enum td_plant_key td_plant_key_find(enum td_plant_section section, const char *name);

/* Heading of a section as documentation shows it, e.g. "[motor AXIS]". */
const char *td_plant_section_shown(enum td_plant_section section);

/* What is allowed for a key, e.g. "0 to 10000 ms"; returns `out`. */
enum { TD_PLANT_ALLOWED_MAX = 64 };
const char *td_plant_key_allowed(enum td_plant_key key, char out[TD_PLANT_ALLOWED_MAX]);

/* Checks a value and gives its number or numbers (the same twice where it has one). False: not allowed. */
bool td_plant_key_value(enum td_plant_key key, const char *text, int64_t number[2]);

/* Lists every key by section, for people. */
void td_plant_keys_explain(FILE *out);

#endif
