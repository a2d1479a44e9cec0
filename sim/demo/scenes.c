/* SPDX-License-Identifier: MIT */
#include "sim/demo/scene.h"

#define HOLD(at, axis_, way_, for_, words)                                                                   \
	{                                                                                                    \
		.at_ms = (at), .kind = TD_ACT_HOLD, .says = (words), .axis = (axis_), .way = (way_),         \
		.for_ms = (for_)                                                                             \
	}
#define DO(at, what, words)                                                                                  \
	{                                                                                                    \
		.at_ms = (at), .kind = (what), .says = (words)                                               \
	}
#define POKE(at, command, words)                                                                             \
	{                                                                                                    \
		.at_ms = (at), .kind = TD_ACT_POKE, .says = (words), .poke = (command)                       \
	}

static const struct td_scene scenes[] = {
	{"1-ends",
	 "The boom is held against its ends",
	 "R2",
	 {"boom"},
	 TD_CAUSE_END_REACHED,
	 7200,
	 {HOLD(100, "boom", "lower", 2000, "a visitor lowers the boom and does not let go at the bottom"),
	  HOLD(2900, "boom", "raise", 4000, "then raises it and does not let go at the top")}},
	{"2-steering",
	 "The steering is held past its stop",
	 "R6",
	 {"steering"},
	 TD_CAUSE_HOLD_LIMIT,
	 3500,
	 {HOLD(100, "steering", "left", 3000, "a visitor keeps steering left for three seconds")}},
	{"3-client-lost",
	 "The client is lost in mid motion",
	 "R7",
	 {"boom", "drive"},
	 TD_CAUSE_CLIENT_GONE,
	 6000,
	 {HOLD(100, "drive", "forward", 9000, "a visitor drives forward"),
	  HOLD(200, "boom", "raise", 9000, "and raises the boom"),
	  DO(800, TD_ACT_KILL, "the client that raises the boom is killed (SIGKILL)")}},
	{"4-client-frozen",
	 "The client freezes, connected",
	 "R7",
	 {"boom"},
	 TD_CAUSE_LEASE_OUT,
	 6000,
	 {HOLD(100, "boom", "raise", 9000, "a visitor raises the boom"),
	  DO(800, TD_ACT_FREEZE, "the client freezes")}},
	{"5-broken-wire",
	 "The wire of an end switch breaks",
	 "R8, R9",
	 {"boom"},
	 TD_CAUSE_END_TOO_EARLY,
	 6500,
	 {HOLD(100, "boom", "lower", 900, "a visitor lowers the boom to the bottom"),
	  HOLD(1500, "boom", "raise", 4500, "then raises it"),
	  POKE(2300, "break boom_top", "the wire of the top switch breaks")}},
	{"6-jam",
	 "The boom jams",
	 "R4",
	 {"boom"},
	 TD_CAUSE_TRAVEL_LIMIT,
	 9000,
	 {HOLD(100, "boom", "lower", 900, "a visitor lowers the boom to the bottom"),
	  HOLD(1500, "boom", "raise", 7000, "then raises it"),
	  POKE(2300, "jam boom", "a leaf blocks the gear; the motor stands still under power")}},
	{"7-both-ways",
	 "Two visitors want opposite ways",
	 "R1, R3",
	 {"steering", "drive"},
	 TD_CAUSE_HELD_BY_OTHER,
	 2500,
	 {HOLD(100, "drive", "forward", 1500, "one visitor drives forward"),
	  HOLD(600, "drive", "backward", 1500, "another drives backward at the same time")}},
	{"8-latched-stop",
	 "The latched stop, and a restart",
	 "R10, R11",
	 {"boom", "drive"},
	 TD_CAUSE_LATCH_CUT,
	 7000,
	 {HOLD(100, "drive", "forward", 6000, "a visitor drives forward"),
	  HOLD(150, "boom", "raise", 6000, "another raises the boom"),
	  DO(900, TD_ACT_LATCH, "somebody makes the latched stop"),
	  HOLD(1500, "boom", "raise", 1000, "a visitor tries again"),
	  DO(2500, TD_ACT_RESTART, "the daemon is ended and started again"),
	  HOLD(3700, "boom", "raise", 1000, "a visitor tries again"),
	  DO(5200, TD_ACT_RESET, "the keeper resets the latched stop: nothing moves by it"),
	  HOLD(5700, "boom", "raise", 600, "only a new request moves the boom")}},
};

const struct td_scene *td_scene_at(size_t index)
{
	return index < sizeof(scenes) / sizeof(scenes[0]) ? &scenes[index] : NULL;
}
