/* SPDX-License-Identifier: MIT */
/*
 * Faults on demand, for the tests that must see the mover fail. They exist in the build variant "fault" alone
 * (make FAULTS=1): any other has neither the code nor the words, and a test of the tree looks for both.
 *
 *   SIGUSR1            the mover spins for ever
 *   TD_TEST_DEAF=1     (environment) no edge reaches the mover, nor anything else that would wake it
 *   TD_TEST_WORD=N     (environment) whenever the core powers anything, these outputs are in its word too (a number
 *                      as in C; bit axis * 2 + way)
 */
#ifndef TD_DAEMON_TEST_FAULTS_H
#define TD_DAEMON_TEST_FAULTS_H

#include "lines/lines.h"

#ifdef TD_TEST_FAULTS

/* For the mover, once its children are made: sets the signal's trap, and gives the lines to run on: its own, or
 * deaf ones around them, which belong to nobody and end with the process. */
struct td_lines *td_test_faults(struct td_lines *lines);

/* The word of outputs as the core gave it, spoilt. */
uint32_t td_test_fault_word(uint32_t outputs);

#else

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
