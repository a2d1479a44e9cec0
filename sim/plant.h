/* SPDX-License-Identifier: MIT */
/*
 * The plant: the simulated mechanics behind the bridge inputs. Pure: no clock, no I/O, no heap; time is
 * an argument; the same model and the same calls give the same levels at the same nanoseconds, in
 * whatever steps the time is advanced.
 *
 * Each axis is a motor with first-order speed (one time constant while powered, one while cut, one
 * while both bridge inputs are high, which brakes) that moves something along a travel between two hard
 * stops. While the motor pushes against a stop or a jam, gear teeth are skipped, or it just stalls. Near each
 * stop a cam may press a switch; its contact bounces. An axis may be free: a wheel has no ends.
 *
 * It is a stand-in for the bench, not a model of any real motor: no current, no supply, no heat, no
 * load that changes.
 *
 * Words of levels as in lib/lines/lines.h: outputs bit axis * 2 + way, inputs bit i = switch i.
 */
#ifndef TD_SIM_PLANT_H
#define TD_SIM_PLANT_H

#include <stdbool.h>
#include <stdint.h>

#include "core/limits.h"
#include "core/rules.h"
#include "core/time.h"
#include "sim/feeler.h"
#include "sim/path.h"

struct td_plant_motor {
	bool ends;                   /* hard stops at 0 and 1; else free: nothing below but times counts */
	td_ns travel_ns[TD_WAYS];    /* from one stop to the other at full speed; free: one length; > 0 */
	td_ns speed_up_ns;           /* time constant while powered; >= 0 */
	td_ns coast_ns;              /* time constant while cut; >= 0 */
	td_ns brake_ns;              /* time constant while both inputs are high; >= 0 */
	double switch_share;         /* a cam presses the switch this far before the stop; 0 ... 0.5 */
	double teeth_per_s;          /* skipped while it pushes against a stop; >= 0 */
	double jam_teeth_per_s;      /* the same against a jam; 0: the gear itself is blocked */
	double start;                /* position at the start; 0 ... 1 with ends */
	uint8_t end_switch[TD_WAYS]; /* index, or TD_NO_SWITCH */
};

struct td_plant_model {
	uint8_t motors;   /* 0 ... TD_AXES_MAX */
	uint8_t switches; /* 0 ... TD_SWITCHES_MAX */
	td_ns bounce_ns;  /* length of a contact's burst after each change */
	uint64_t seed;    /* of everything pseudo-random */
	struct td_plant_motor motor[TD_AXES_MAX];
	struct td_switch_rules sw[TD_SWITCHES_MAX]; /* contact and pull; the times are not looked at */
};

/* One axis. Private to plant.c; callers take a report. */
struct td_plant_axis {
	struct td_path path;
	td_ns next_ns; /* next time it meets a stop or a cam */
	bool jammed;
	bool pushing;
	uint64_t starts;
	uint64_t both_high;
	td_ns powered_ns;
	td_ns pushing_ns;     /* against a stop or a jam */
	td_ns jam_pushing_ns; /* the part against a jam */
	td_ns both_high_ns;
};

struct td_plant {
	struct td_plant_model model;
	td_ns now_ns;
	uint32_t outputs;
	td_ns rise_ns[TD_AXES_MAX * TD_WAYS]; /* last time the output went high; -1 = never */
	td_ns fall_ns[TD_AXES_MAX * TD_WAYS]; /* last time it went low; -1 = never */
	struct td_plant_axis axis[TD_AXES_MAX];
	struct td_feeler sw[TD_SWITCHES_MAX];
};

struct td_plant_report {
	double position; /* share of the travel; 0 = the stop of way 0 */
	double speed;    /* shares a second, positive towards way 1 */
	bool jammed;
	bool pushing;          /* powered against a stop or a jam, now */
	int64_t skipped_teeth; /* whole teeth, since the start */
	td_ns powered_ns;      /* time with exactly one input high */
	td_ns pushing_ns;
	uint64_t starts;    /* times it became powered in one way */
	uint64_t both_high; /* times both inputs became high */
	td_ns both_high_ns;
};

/* Everything off and at rest at the motors' start positions, every wire sound. `model` is copied; values
 * out of range are a bug of the caller. */
void td_plant_init(struct td_plant *plant, const struct td_plant_model *model, td_ns at_ns);

/* Lets the time pass until `to_ns`; an earlier time than the plant's own changes nothing. Contacts that
 * open and close again within the step leave no mark but the time: to see every change of a level,
 * advance to td_plant_next() again and again. */
void td_plant_advance(struct td_plant *plant, td_ns to_ns);

/* When something will happen next if the outputs stay as they are: a contact changes, an axis meets a
 * stop or a cam. TD_NEVER if nothing will. Later than the plant's own time. */
td_ns td_plant_next(const struct td_plant *plant);

/* Advances to `at_ns`, then the bridge inputs are `word`. Bits of axes that do not exist are ignored. */
void td_plant_outputs(struct td_plant *plant, td_ns at_ns, uint32_t word);

/* The bits of the bridge inputs of that many motors, and of that many switch lines. */
uint32_t td_plant_lines(uint8_t motors);
uint32_t td_plant_switch_lines(uint8_t switches);

/* Electrical levels of the switch lines, now. */
uint32_t td_plant_levels(const struct td_plant *plant);

/* Fills *report for `axis` (< motors), as of now. */
void td_plant_report(const struct td_plant *plant, uint8_t axis, struct td_plant_report *report);

/* True while any axis turns, begins to turn, or pushes. */
bool td_plant_moving(const struct td_plant *plant);

/* Faults and hands, all at the plant's own time. Indices are below motors or switches. */
void td_plant_wire(struct td_plant *plant, uint8_t sw, enum td_wire wire);
void td_plant_press(struct td_plant *plant, uint8_t sw, bool pressed); /* a finger on the switch, or off it */
void td_plant_jam(struct td_plant *plant, uint8_t axis, bool jammed);  /* held where it is, or let go */
/* Puts the axis, standing still, where it is told; within 0 ... 1 if it has ends. A jam moves along. */
void td_plant_push(struct td_plant *plant, uint8_t axis, double position);

#endif
