/* SPDX-License-Identifier: MIT */
/*
 * The real GPIO backend of lines.h: kernel lines through libgpiod 2 or 1.6, whichever the build found.
 *
 * Chips are found by label, never by number. Outputs are requested low in the request itself. Edge stamps
 * are the kernel's CLOCK_MONOTONIC. A chip that reports no edges is read every `poll_ns` instead, and its
 * edges bear the time of reading; a line on stderr says so.
 *
 * Where the versions differ: libgpiod 2 numbers the edges, so every lost one is marked in the next. With
 * 1.6 the kernel keeps 16 edges a line and drops newer ones without a mark; `lost` is then set where loss
 * is possible (16 edges at once) or certain (two edges the same way). Levels decide in both.
 *
 * A pull that the chip's driver cannot set is ignored by the kernel without a word: measure it once.
 * A chip behind a slow bus (an I2C expander) makes set() and get() as slow as that bus.
 */
#ifndef TD_LINES_GPIO_H
#define TD_LINES_GPIO_H

#include <stdint.h>

#include "config/config.h"
#include "core/limits.h"
#include "error.h"
#include "lines/lines.h"

#define TD_GPIO_CONSUMER "tripdog"

enum {
	TD_GPIO_OUTPUTS_MAX = TD_AXES_MAX * TD_WAYS,
	TD_GPIO_USE_MAX = 2 * TD_NAME_MAX,
};

enum td_gpio_bias { TD_GPIO_AS_IS = 0, TD_GPIO_PULL_UP, TD_GPIO_PULL_DOWN };

struct td_gpio_wanted {
	char use[TD_GPIO_USE_MAX]; /* what it is for, for messages: "drive forward", "boom_top" */
	struct td_place place;
	enum td_gpio_bias bias; /* inputs only */
};

struct td_lines_gpio_request {
	const char *file; /* the configuration file, for messages; NULL or "" = none is named */
	td_ns poll_ns;    /* where edges are not reported: read this often; <= 0 = 5 ms */
	uint8_t outputs;  /* how many of output[]; output i is bit i: axis * 2 + way */
	uint8_t inputs;   /* how many of input[]; input i is switch i */
	uint8_t beats;    /* 1: there is a heartbeat line, else 0 */
	struct td_gpio_wanted output[TD_GPIO_OUTPUTS_MAX];
	struct td_gpio_wanted input[TD_SWITCHES_MAX];
	struct td_gpio_wanted heartbeat;
};

/* Fills *request from a valid configuration. `file` must outlive it. Never fails. */
void td_lines_gpio_wanted(const struct td_config *config, const char *file,
			  struct td_lines_gpio_request *request);

/* Finds and requests all lines: outputs low, inputs with bias and both edges. NULL with a sentence in *err:
 * a place that names no line or several (the candidates are listed), one line wanted twice, a line held
 * by somebody (who is named), no right to open a chip, a chip that went away. Then nothing is held.
 * Blocks for a few system calls for each line of the machine's chips, milliseconds. */
struct td_lines *td_lines_gpio_open(const struct td_lines_gpio_request *request, struct td_error *err);

/* Whether a line is missing because no chip has it that can be opened now, which a chip that comes later, or the right to
 * open one, would mend: then true, with a sentence. Opens and closes all chips, requests nothing. */
bool td_lines_gpio_absent(const struct td_lines_gpio_request *request, struct td_error *err);

/* Where an output is, once it is held; for lines that were given by name too. */
struct td_gpio_where {
	const char *chip; /* its label, borrowed from `lines` until they are closed; NULL = no such output */
	uint32_t offset;
};

enum { TD_GPIO_HEARTBEAT = TD_GPIO_OUTPUTS_MAX }; /* as number of an output: the heartbeat line */

/* `lines` must come from td_lines_gpio_open(); `output` is axis * 2 + way, or TD_GPIO_HEARTBEAT. Never fails. */
struct td_gpio_where td_lines_gpio_where(const struct td_lines *lines, unsigned output);

/* Which chip is gone: the label of the first whose held lines can no longer be read, borrowed as above; NULL = all
 * answer. `lines` must come from td_lines_gpio_open(). Costs a system call for each chip and direction. */
const char *td_lines_gpio_lost(const struct td_lines *lines);

/* For `--clear-lines`: requests every output and the heartbeat low, one by one, and lets go. Returns how many could not be
 * taken, with a sentence in *err that says which and why; 0 and "" when all went low. */
unsigned td_lines_gpio_clear(const struct td_lines_gpio_request *request, struct td_error *err);

#endif
