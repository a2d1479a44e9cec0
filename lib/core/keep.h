/* SPDX-License-Identifier: MIT */
/*
 * What must survive a restart and a power loss, as one record of fixed size: the latched stop (R10), locked
 * ways (R11), winding heat and powered time (R12), net turns (R18), hours, starts and learned travel times.
 *
 * The record: the letters TDKP, version, size and the machine it belongs to, the fields one after another,
 * CRC-32 of all before; every number little-endian and written byte by byte, so it is the same on every
 * machine. Times in it are ages, so it does not matter that the monotonic clock begins anew.
 *
 * What is damaged, cut off, of another version or of another machine is not used in part: everything is set
 * as if the worst had happened (td_keep_init_unknown()).
 */
#ifndef TD_CORE_KEEP_H
#define TD_CORE_KEEP_H

#include <stddef.h>
#include <stdint.h>

#include "core/duty.h"
#include "core/limits.h"
#include "core/time.h"
#include "core/trend.h"
#include "core/twist.h"

enum { TD_KEEP_VERSION = 1 };

enum {
	TD_KEEP_HEAD_SIZE = 4 * 4,
	TD_KEEP_MACHINE_SIZE = 1 + 1 + 4 + 5 * 8 + 4,
	TD_KEEP_DUTY_SIZE = 1 + 8 + 8 + TD_BUDGET_SPANS * (8 + 1 + TD_BUDGET_BUCKETS * 8),
	TD_KEEP_TREND_SIZE = 4 * 8 + 3,
	TD_KEEP_AXIS_SIZE = TD_KEEP_DUTY_SIZE + TD_WAYS * (8 + 4 + TD_KEEP_TREND_SIZE),
	TD_KEEP_SIZE = TD_KEEP_HEAD_SIZE + TD_KEEP_MACHINE_SIZE + TD_AXES_MAX * TD_KEEP_AXIS_SIZE + 4,
};

struct td_keep_axis {
	struct td_duty duty;
	td_ns powered_ns[TD_WAYS]; /* ever */
	uint32_t starts[TD_WAYS];  /* ever, saturating */
	struct td_trend trend[TD_WAYS];
};

struct td_keep {
	uint8_t latched; /* 0 or 1 */
	uint8_t closed;  /* 0 or 1: nothing was powered after this was taken; see record.h */
	uint32_t locked; /* R11: the ways that td_core_locked() names, bit axis * 2 + way */
	struct td_twist twist;
	struct td_keep_axis axis[TD_AXES_MAX];
};

/* DAMAGED is 0. */
enum td_keep_verdict {
	TD_KEEP_DAMAGED = 0,
	TD_KEEP_OK,
	TD_KEEP_OTHER_VERSION, /* whole, but written by another version of the program */
	TD_KEEP_OTHER_MACHINE, /* whole, but of a machine with other axes */
};

/* The first start of a new machine: nothing latched or locked, cold, rested, straight, nothing learned, closed. */
void td_keep_init(struct td_keep *keep, td_ns now_ns);

/* Nothing is known: latched, every way locked, hot and powered all the time until now, every turn blocked,
 * nothing learned, hours and starts counted from 0. The keeper undoes each of these where he knows better. */
void td_keep_init_unknown(struct td_keep *keep, td_ns now_ns);

/* Writes the record. `machine` is any number that tells machines with other axes apart (a checksum of their
 * names in order). Axes must be off: of one that runs, hand over a copy after td_duty_power(..., false, now);
 * one that is powered all the same is recorded as unknown. Never fails. */
void td_keep_take(const struct td_keep *keep, uint32_t machine, td_ns now_ns, uint8_t bytes[TD_KEEP_SIZE]);

/* Reads `count` bytes of a record. `off_ns`: how long ago it was taken, as far as that is certain; 0 where no
 * clock is to be trusted. Windings cool and windows slide by that much and no more. Anything but TD_KEEP_OK
 * leaves *keep as td_keep_init_unknown() does. Never fails; any bytes may be passed. */
enum td_keep_verdict td_keep_restore(struct td_keep *keep, const uint8_t *bytes, size_t count,
				     uint32_t machine, td_ns now_ns, td_ns off_ns);

#endif
