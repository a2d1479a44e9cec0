/* SPDX-License-Identifier: MIT */
/*
 * R14: what keeps this machine from being armed although its configuration is good and its lines are had.
 *
 * Outputs that outlive their process. A GPIO line goes back to an input when its process ends, unless the
 * driver is told otherwise; kernels for the Raspberry Pi keep its level by default, so that a motor runs on
 * after a crash. Sources: raspberrypi/linux #6117 (2024-04-19) and #6150 (2024-05-07), where the choice and
 * `dtparam=strict_gpiod` came from; the maker's white paper on GPIO usage (2024-08); S. Wahren's patch that
 * brought the parameter to the kernel itself, there with the other default. Where the parameter stands below
 * /sys is from memory.
 *
 * Lines a Raspberry Pi drives by itself. BCM2835 ARM Peripherals, section 6.2, page 102 (as quoted in public
 * sources, and seen in the register dump of raspberrypi/linux #5290): after power-on lines 0-8 are pulled up,
 * 9-27 down. A pull-up of 50 kohm against the pull-down of a bridge input (100 to 200 kohm) makes 2.2 to
 * 2.6 V: high, until a program takes the line. Lines 14 and 15 are the serial console, and 14 pulses while
 * the computer starts. That the RP1 of the Raspberry Pi 5 pulls the same lines the same way, and that lines 0
 * and 1 are probed for an identity memory at the start, is from memory.
 */
#ifndef TD_DAEMON_ARMING_H
#define TD_DAEMON_ARMING_H

#include "config/config.h"
#include "error.h"
#include "lines/lines.h"

#define TD_SYSFS "/sys"

/* R14: a reload leaves what was good before in force. What manager and people are told of it. */
#define TD_CONFIG_REFUSED_TEXT "the new configuration was refused (the log says why), the old one is in force"

/* A risky line for each output, one for the heartbeat, one for each driver, one for what has to be kept, one to spare. */
enum { TD_ARMING_MAX = TD_AXES_MAX * TD_WAYS + 5 };

struct td_sentences {
	unsigned count;
	struct td_error sentence[TD_ARMING_MAX];
};

/* The zero value is a machine that may be armed: nothing was looked at and nothing found. */
struct td_arming {
	struct td_sentences why_not;  /* none: it may be armed */
	struct td_sentences accepted; /* found, and accepted by the configuration */
};

/* Looks at the held `lines` and below `sysfs`, and fills *arming. With sysfs NULL that is TD_SYSFS on the
 * gpio backend, and on the bench nothing: a board in another process lets its outputs fall by itself. `file`
 * is the configuration's name, for the sentences. Whatever cannot be read counts as a reason not to arm.
 * Blocks for a few reads of the kernel's files. */
void td_arming_check(const struct td_config *config, const char *file, const struct td_lines *lines,
		     const char *sysfs, struct td_arming *arming);

/* One more reason not to arm, found elsewhere. */
void td_arming_forbid(struct td_arming *arming, const struct td_error *why);

#endif
