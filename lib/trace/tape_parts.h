/* SPDX-License-Identifier: MIT */
/* What writing and reading a tape share: its signals, its comments, the bytes of a core. */
#ifndef TD_TRACE_TAPE_PARTS_H
#define TD_TRACE_TAPE_PARTS_H

#include "trace/layout.h"
#include "trace/tape.h"
#include "trace/vcd.h"

/* Begins the comment of the configuration; CRC-32 of the file in eight hexadecimal digits and a line end follow, then the file. */
#define TD_TAPE_CONFIG_LABEL "configuration "

/* --- tape_signals.c: the signals, in the order of the file: axes, switches, then what every machine has --- */

/* Of one axis. */
enum {
	TD_TAPE_WAY = 0,       /* one for each way */
	TD_TAPE_ASK = TD_WAYS, /* likewise */
	TD_TAPE_STATE = 2 * TD_WAYS,
	TD_TAPE_CAUSE,
	TD_TAPE_AXIS_SIGNALS
};

/* Of one switch. */
enum { TD_TAPE_LEVEL = 0, TD_TAPE_ACTIVE, TD_TAPE_SWITCH_SIGNALS };

/* The rest: X(IDENT, scope, name, width). */
#define TD_TAPE_TABLE(X)                                                                                     \
	X(ARMED, TD_TRACE_MACHINE, TD_TRACE_ARMED, 1)                                                        \
	X(LATCHED, TD_TRACE_MACHINE, TD_TRACE_LATCHED, 1)                                                    \
	X(LATCH, TD_TRACE_MACHINE, TD_TRACE_LATCH, 3)                                                        \
	X(MACHINE_CAUSE, TD_TRACE_MACHINE, TD_TRACE_CAUSE, TD_TRACE_CAUSE_BITS)                              \
	X(KIND, TD_TRACE_EVENT, "kind", TD_TRACE_CAUSE_BITS)                                                 \
	X(SHIFT, TD_TRACE_EVENT, "shift_ns", 64)                                                             \
	X(GIVEN, TD_TRACE_EVENT, "given", TD_TAPE_FIELDS)                                                    \
	X(AXIS, TD_TRACE_EVENT, "axis", 8)                                                                   \
	X(AXIS_WAY, TD_TRACE_EVENT, "way", 8)                                                                \
	X(ROLE, TD_TRACE_EVENT, "role", 8)                                                                   \
	X(SESSION, TD_TRACE_EVENT, "session", 32)                                                            \
	X(HOLD, TD_TRACE_EVENT, "hold", 32)                                                                  \
	X(SEQ, TD_TRACE_EVENT, "seq", 32)                                                                    \
	X(LEASE, TD_TRACE_EVENT, "lease_ns", 64)                                                             \
	X(AGE, TD_TRACE_EVENT, "age_ns", 64)                                                                 \
	X(LEVELS, TD_TRACE_EVENT, "levels", 32)                                                              \
	X(ANSWER, TD_TRACE_EVENT, "answer", 8)                                                               \
	X(NEWS, TD_TRACE_EVENT, "news", 8)                                                                   \
	X(LOST, TD_TRACE_EVENT, TD_TRACE_LOST, 32)                                                           \
	X(CHECK, TD_TRACE_EVENT, "check", 32)                                                                \
	X(END, TD_TRACE_EVENT, "end", 1)                                                                     \
	X(CAME, TD_TRACE_CLIENTS, "came", 32)                                                                \
	X(WENT, TD_TRACE_CLIENTS, "went", 32)                                                                \
	X(REFUSED_SESSION, TD_TRACE_CLIENTS, "refused_session", 32)                                          \
	X(REFUSED, TD_TRACE_CLIENTS, TD_TRACE_REFUSED, TD_TRACE_CAUSE_BITS)                                  \
	X(CLIENT_ROLE, TD_TRACE_CLIENTS, "role", 8)                                                          \
	X(CLIENT_UID, TD_TRACE_CLIENTS, "uid", 32)

enum td_tape_item {
#define TD_X(ident, scope, name, width) TD_TAPE_##ident,
	TD_TAPE_TABLE(TD_X)
#undef TD_X
		TD_TAPE_ITEMS,
	TD_TAPE_FIELDS = TD_TAPE_LEVELS - TD_TAPE_AXIS + 1, /* those that `given` speaks of */
	TD_TAPE_SIGNALS_MAX =
		TD_AXES_MAX * TD_TAPE_AXIS_SIGNALS + TD_SWITCHES_MAX * TD_TAPE_SWITCH_SIGNALS + TD_TAPE_ITEMS,
};

struct td_tape_signal {
	unsigned int scope_number; /* another number, another scope, even of the same name */
	const char *scope;
	char name[TD_NAME_MAX + 8];
	unsigned int width;
};

/* How many there are, and the index of an item and of an axis's or switch's first one. */
unsigned int td_tape_signals(const struct td_config *config);
unsigned int td_tape_item(const struct td_config *config, enum td_tape_item item);
unsigned int td_tape_axis(uint8_t axis);
unsigned int td_tape_switch(const struct td_config *config, uint8_t sw);

/* The signal with that index (< td_tape_signals()). Its scope lives as long as *config. */
void td_tape_signal(const struct td_config *config, unsigned int index, struct td_tape_signal *signal);

/* The number in a signal happens each time it is written: x before the first one and between two that are equal. */
bool td_tape_happens(enum td_tape_item item);

/* --- tape_event.c: the fields of an event as numbers ----------------------------------------------- */

/* The values from TD_TAPE_AXIS to TD_TAPE_LEVELS, and `given`. */
uint32_t td_tape_fields_of(const struct td_event *event, uint64_t field[TD_TAPE_FIELDS]);

/* The opposite; kind and at_ns stand in *event already, the rest is written. */
void td_tape_event_of(struct td_event *event, uint32_t given, const uint64_t field[TD_TAPE_FIELDS]);

/* Two's complement, without leaving what C defines. */
int64_t td_tape_signed(uint64_t bits);

/* --- tape_text.c: any bytes as text that may stand in a comment -------------------------------------- */

/* Writes bytes as text, '%', '$' and control characters as '%' and two hexadecimal digits. With `lines`, line ends and tabs stay.
 * Returns the length; the text is terminated, and cut where it would not fit into `size`. */
size_t td_tape_escape(char *text, size_t size, const char *bytes, size_t count, bool lines);

/* The value of a hexadecimal digit as this writes them, -1 for anything else. */
int td_tape_digit(char c);

/* The opposite of escaping, up to `end`. Returns the number of bytes, terminated; -1 where they do not fit or this is no such text. */
int64_t td_tape_unescape(char *bytes, size_t size, const char *text, const char *end);

/* --- tape_head.c: the first comment ------------------------------------------------------------------ */

enum { TD_TAPE_BUILD_MAX = 64, TD_TAPE_HEAD_TEXT_MAX = 1024 };

struct td_tape_opening {
	struct td_tape_head head;
	char build[TD_TAPE_BUILD_MAX]; /* td_tape_build() of the program that wrote it */
	uint32_t levels;
	uint32_t outputs;
};

/* What tells builds with another layout of the core in memory apart. */
void td_tape_build(char build[TD_TAPE_BUILD_MAX]);

void td_tape_head_text(char text[TD_TAPE_HEAD_TEXT_MAX], const struct td_tape_opening *opening);

/* True where it begins as the first comment of a trace does. */
bool td_tape_is_head(const char *text);

/* 0, or -1 with a sentence. */
int td_tape_head_read(const char *text, struct td_tape_opening *opening, struct td_error *err);

/* --- tape_image.c: bytes as lines, those of only zeros left out -------------------------------------- */

enum { TD_TAPE_IMAGE_MAX = 96 * 1024 };

/* What such a text of `count` bytes needs at most. */
#define TD_TAPE_IMAGE_TEXT_MAX(count) (64 + ((count) / 32 + 1) * 80)

void td_tape_image_text(char *text, size_t size, const char *label, const void *bytes, size_t count);

/* Reads at most `room` bytes into `bytes`, *count of them. 0, or -1 with a sentence. */
int td_tape_image_read(const char *text, const char *label, void *bytes, size_t room, size_t *count,
		       struct td_error *err);

/* --- tape_sane.c ------------------------------------------------------------------------------------- */

/* True where the core may go on from these bytes: every bool is one, every index in range, every time one that a core
 * can come to. Any bytes may be passed. */
bool td_tape_core_sane(const struct td_core *core);

#endif
