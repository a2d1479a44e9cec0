/* SPDX-License-Identifier: MIT */
/* Answers of the daemon to draw: the glasshouse cart in several states. */
#ifndef TD_TESTS_CLI_STATES_H
#define TD_TESTS_CLI_STATES_H

/* clang-format off */
#define DESCRIBE \
	"{\"machine\":\"glasshouse cart\",\"axes\":[" \
	"{\"name\":\"drive\",\"ways\":[{\"name\":\"backward\",\"end_switch\":null},{\"name\":\"forward\",\"end_switch\":null}]}," \
	"{\"name\":\"boom\",\"ways\":[{\"name\":\"lower\",\"end_switch\":\"boom_bottom\"},{\"name\":\"raise\",\"end_switch\":\"boom_top\"}]}," \
	"{\"name\":\"vent\",\"ways\":[{\"name\":\"close\",\"end_switch\":\"vent_shut\"},{\"name\":\"open\",\"end_switch\":\"vent_open\"}]}]}"

#define AXIS(name, way0, way1, state, way, moving, end0, end1, position, lease, wait, trip) \
	"{\"name\":\"" name "\",\"ways\":[\"" way0 "\",\"" way1 "\"],\"state\":\"" state "\",\"way\":" way \
	",\"moving\":" moving ",\"at_end\":[" end0 "," end1 "],\"position_ppm\":" position \
	",\"lease_left_ms\":" lease ",\"wait_left_ms\":" wait ",\"trip\":" trip ",\"holder\":null}"

#define MACHINE(armed, latch, axes, switches) \
	"{\"machine\":\"glasshouse cart\",\"armed\":" armed ",\"latch\":[" latch "],\"outputs\":[],\"axes\":[" axes \
	"],\"switches\":[" switches "]}"

#define SWITCH(name, active) "{\"name\":\"" name "\",\"active\":" active ",\"level\":\"low\"}"

#define RESTING \
	MACHINE("true", "", \
	        AXIS("drive", "backward", "forward", "still", "null", "false", "false", "false", "null", "0", "0", "null") "," \
	        AXIS("boom", "lower", "raise", "still", "null", "false", "true", "false", "0", "0", "0", "null") "," \
	        AXIS("vent", "close", "open", "still", "null", "false", "false", "false", "null", "0", "0", "null"), \
	        SWITCH("boom_bottom", "true") "," SWITCH("boom_top", "false") "," SWITCH("vent_shut", "false") "," \
	        SWITCH("vent_open", "false") "," SWITCH("stop_contact", "false"))

#define BUSY \
	MACHINE("true", "", \
	        AXIS("drive", "backward", "forward", "wait", "\"backward\"", "true", "false", "false", "null", "290", "120", "null") "," \
	        AXIS("boom", "lower", "raise", "run", "\"raise\"", "true", "false", "false", "750000", "1240", "0", "null") "," \
	        AXIS("vent", "close", "open", "coast", "null", "true", "false", "true", "1000000", "0", "180", "null"), \
	        SWITCH("boom_bottom", "false") "," SWITCH("boom_top", "false"))

#define STOPPED \
	MACHINE("false", "\"latch-input\",{\"cause\":\"latch-kept\",\"rule\":\"R10\",\"sentence\":\"it was on before\",\"remedy\":\"see why\"}", \
	        AXIS("drive", "backward", "forward", "still", "null", "false", "false", "false", "null", "0", "0", "null") "," \
	        AXIS("boom", "lower", "raise", "tripped", "null", "false", "true", "true", "null", "0", "0", "\"both-ends\"") "," \
	        AXIS("vent", "close", "open", "tripped", "null", "false", "false", "false", "400000", "0", "0", \
	             "{\"cause\":\"not-known-yet\",\"rule\":\"R99\",\"sentence\":\"something newer than this client\",\"remedy\":\"read on\"}"), \
	        SWITCH("boom_bottom", "true") "," SWITCH("stop_contact", "true"))

/* A trip that a visitor may reset, its way locked besides; a locked way of an axis that is well. */
#define LOCKED \
	"{\"machine\":\"glasshouse cart\",\"armed\":true,\"latch\":[],\"outputs\":[],\"switches\":[],\"axes\":[" \
	"{\"name\":\"boom\",\"ways\":[\"lower\",\"raise\"],\"state\":\"tripped\",\"way\":null,\"moving\":false," \
	"\"at_end\":[false,false],\"locked\":[false,true],\"trip\":{\"cause\":\"travel-limit\",\"reset_by\":\"visitor\"}}," \
	"{\"name\":\"vent\",\"ways\":[\"close\",\"open\"],\"state\":\"still\",\"way\":null,\"moving\":false," \
	"\"at_end\":[true,false],\"locked\":[true,false],\"trip\":null}]}"

/* The boom goes up more slowly than it did; how much slower the vent closes is not told as a share. */
#define SLOWED \
	MACHINE("true", "", \
	        AXIS("boom", "lower", "raise", "still", "null", "false", "true", "false", "0", "0", "0", \
	             "null,\"slower\":[false,true],\"slower_ppm\":[null,231999]") "," \
	        AXIS("vent", "close", "open", "still", "null", "false", "false", "true", "1000000", "0", "0", \
	             "null,\"slower\":[true,false],\"slower_ppm\":[\"much\",-2147483648]"), \
	        "{\"name\":\"vent_shut\",\"active\":false,\"level\":\"low\",\"chatters\":true}")

#define REFUSED \
	"{\"machine\":\"glasshouse cart\",\"armed\":true,\"latch\":[],\"config_refused\":true,\"outputs\":[],\"axes\":[" \
	AXIS("boom", "lower", "raise", "still", "null", "false", "true", "false", "0", "0", "0", "null") \
	"],\"switches\":[]}"

#define TWISTED \
	"{\"machine\":\"glasshouse cart\",\"armed\":true,\"latch\":[],\"outputs\":[],\"axes\":[" \
	AXIS("drive", "backward", "forward", "still", "null", "false", "false", "false", "null", "0", "0", "null") "," \
	AXIS("lamp", "in", "out", "still", "null", "false", "false", "false", "null", "0", "0", "null") \
	"],\"twist\":{\"net_degrees\":-540,\"doubt_degrees\":180,\"limit_degrees\":720,\"blocked\":[\"forward\"]},\"switches\":[]}"

#define LONG_NAMES \
	MACHINE("true", "", \
	        AXIS("an-axis-of-a-name-as-long-as-can", "the-first-way-as-long-as-it-can", "the-other-way-as-long-as-it-can", "wait", \
	             "\"the-other-way-as-long-as-it-can\"", "true", "false", "false", "500000", "100", "100000", "null"), \
	        "")
/* clang-format on */

#endif
