/* SPDX-License-Identifier: MIT */
/*
 * Faults on demand, for the tests that must see the mover fail. They exist in the build variant "fault" alone
 * (make FAULTS=1): any other has neither the code nor the words, and a test of the tree looks for both.
 *
 *   SIGUSR1            the mover spins for ever
 *   TD_TEST_DEAF=1     (environment) no edge reaches the mover, nor anything else that would wake it
 *   TD_TEST_WORD=N     (environment) whenever the core powers anything, these outputs are in its word too (a number
 *                      as in C; bit axis * 2 + way)
 *   TD_TEST_DISK_STALL=N  (environment) each write and each fsync of the scribe takes N milliseconds longer
 *   TD_TEST_DISK_FULL=1  (environment) nothing that the scribe writes finds room
 */
#ifndef TD_DAEMON_TEST_FAULTS_H
#define TD_DAEMON_TEST_FAULTS_H

#include "daemon/scribe/disk.h"
#include "lines/lines.h"

#ifdef TD_TEST_FAULTS

/* For the mover, once its children are made: sets the signal's trap, and gives the lines to run on: its own, or
 * deaf ones around them, which belong to nobody and end with the process. */
struct td_lines *td_test_faults(struct td_lines *lines);

/* The word of outputs as the core gave it, spoilt. */
uint32_t td_test_fault_word(uint32_t outputs);

/* For the scribe: its disk, or an ill one around it. */
const struct td_disk *td_test_fault_disk(const struct td_disk *disk);

#else

static inline const struct td_disk *td_test_fault_disk(const struct td_disk *disk)
{
	return disk;
}

static inline struct td_lines *td_test_faults(struct td_lines *lines)
{
	return lines;
}

static inline uint32_t td_test_fault_word(uint32_t outputs)
{
	return outputs;
}

#endif
#endif
