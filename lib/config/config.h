/* SPDX-License-Identifier: MIT */
/*
 * The configuration file: an INI file in UTF-8, read by inih, checked against one table of keys
 * (key_table.h) that also feeds --explain-config, the man page and the tests.
 *
 * A file gives a name to everything (axes, ways, switches) and numbers to the rules. What comes out is
 * plain and of fixed size: names for people, places of the lines, and the struct td_rules the core
 * runs on. It is valid as a whole or not at all.
 */
#ifndef TD_CONFIG_CONFIG_H
#define TD_CONFIG_CONFIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/rules.h"
#include "error.h"

enum {
	TD_NAME_MAX = 32,        /* bytes of a name, terminator included */
	TD_PLACE_MAX = 64,       /* bytes of a line's place */
	TD_PATH_MAX = 104,       /* a path, or a socket address of sockaddr_un (108) with room to spare */
	TD_TURN_PLACES_MAX = 64, /* visitors in line for a turn */
	TD_VISITORS_MAX = 1024,  /* connections of visitors at one time */
	TD_QUIET_SPANS_MAX = 8,
	TD_FAULTS_MAX = 100, /* faults reported in one run; further ones are only counted */
};

/* Names: a-z, 0-9, '_' and '-', beginning with a letter, at most TD_NAME_MAX - 1 long. */
typedef char td_name[TD_NAME_MAX];

/* Where a line is: "LABEL:OFFSET" (chip label and offset) or a unique line name. Kept as written. */
struct td_place {
	char chip[TD_PLACE_MAX]; /* chip label; "" = look `name` up on all chips */
	uint32_t offset;         /* valid if chip is not "" */
	char name[TD_PLACE_MAX]; /* line name; "" if by chip and offset */
	int file_line;           /* line of the configuration file */
};

enum td_backend { TD_BACKEND_GPIO = 0, TD_BACKEND_BENCH };

/* R14: what to do where the kernel lets outputs outlive the process that set them. */
/* Duty types S1, S2, S3 of IEC 60034-1. */
enum td_duty_type { TD_DUTY_S1 = 0, TD_DUTY_S2, TD_DUTY_S3 };

enum td_outliving { TD_OUTLIVING_REFUSE = 0, TD_OUTLIVING_ACCEPT };

struct td_config_axis {
	td_name name;
	td_name way_name[TD_WAYS];
	struct td_place input[TD_WAYS];  /* bridge inputs; output bit axis * 2 + way */
	bool loud;                       /* stands still in quiet hours */
	bool accept_risky_line[TD_WAYS]; /* R14: arm although the computer may drive this line by itself */
};

struct td_config_switch {
	td_name name;
	struct td_place place;
};

struct td_config_socket {
	char path[TD_PATH_MAX];
	uint32_t mode; /* permission bits of the socket, e.g. 0660 */
	td_name group; /* of the system, that it is given to; "" = as it comes */
};

/* How visitors share the machine; daemon/turns/turns.h says what the numbers do. */
struct td_turn_rules {
	td_ns length_ns;       /* 0: no turns; every visitor may ask at any time */
	td_ns idle_ns;         /* 0: nobody loses a turn by idling */
	td_ns pause_ns;        /* >= 0 */
	unsigned int per_user; /* places in line of one user of the system; 0: as many as there are */
};

/* Local time; quiet.h says how it is written. */
struct td_quiet_span {
	uint8_t days; /* on which it begins: bit 0 = Sunday ... bit 6 */
	uint16_t from_minute;
	uint16_t to_minute; /* not after from_minute: on the next day */
};

struct td_quiet {
	uint8_t count;
	struct td_quiet_span span[TD_QUIET_SPANS_MAX];
};

struct td_config {
	char machine[64]; /* its name, for people */
	enum td_backend backend;
	char board[TD_PATH_MAX];     /* TD_BACKEND_BENCH: socket of the bench board */
	char state_dir[TD_PATH_MAX]; /* what survives restarts; must exist */
	struct td_config_socket keeper;
	struct td_config_socket visitor;
	unsigned int visitors_max;      /* connections at one time */
	unsigned int visitors_per_user; /* of one user of the system; 0: nobody is limited */
	char gateway[32];               /* user that is not limited, by name or number; "" = none */
	struct td_turn_rules turns;
	struct td_quiet quiet;   /* nothing loud moves then */
	int64_t trace_size_max;  /* bytes of all files that record all the time; 0: none are written */
	int64_t trace_daily_max; /* bytes of traces written in a day */
	enum td_outliving outliving_outputs;
	bool has_heartbeat;
	struct td_place heartbeat; /* of the line for an external dead-man circuit, if has_heartbeat */
	td_ns lease_ns;            /* where a request names none */
	td_ns poll_ns;             /* levels are re-read this often while anything moves */
	uint8_t axes;
	uint8_t switches;
	struct td_config_axis axis[TD_AXES_MAX];
	struct td_config_switch sw[TD_SWITCHES_MAX];
	struct td_rules rules; /* has passed td_rules_check() */
	uint64_t hash; /* of the file's settings: changes when a setting does, not when a comment does */
};

struct td_config_faults {
	size_t count;                         /* all that were found, even past TD_FAULTS_MAX */
	struct td_error fault[TD_FAULTS_MAX]; /* "FILE:LINE: what, allowed range, how to mend" */
};

/* A file as it was read, once. */
struct td_config_text {
	char *bytes; /* not terminated; NULL if it could not be read; free() it */
	size_t length;
};

/* Reads and checks the whole file; every fault is collected, not only the first. Returns true and
 * fills *config if there is none; else *config is all zero. faults->count says how many. Any bytes may
 * stand in the file. */
bool td_config_read(const char *path, struct td_config *config, struct td_config_faults *faults);

/* The same; *text gets the bytes that *config was made from. */
bool td_config_read_kept(const char *path, struct td_config *config, struct td_config_faults *faults,
			 struct td_config_text *text);

/* The same from memory; `shown_as` stands for the file name in messages. `text` need not be
 * terminated. */
bool td_config_read_text(const char *text, size_t length, const char *shown_as, struct td_config *config,
			 struct td_config_faults *faults);

/* Index of an axis, way or switch by name; TD_NO_AXIS, TD_NO_WAY or TD_NO_SWITCH if there is none. */
uint8_t td_config_axis(const struct td_config *config, const char *name);
uint8_t td_config_way(const struct td_config *config, uint8_t axis, const char *name);
uint8_t td_config_switch(const struct td_config *config, const char *name);

#endif
