/* SPDX-License-Identifier: MIT */
/*
 * Collects faults as "FILE:LINE: what; allowed: ...; how to mend", in the order of their lines. Past
 * TD_FAULTS_MAX the ones of the later lines are only counted.
 */
#ifndef TD_CONFIG_REPORT_H
#define TD_CONFIG_REPORT_H

#include "config/config.h"

struct td_report {
	const char *file;                /* not owned */
	struct td_config_faults *faults; /* not owned */
	int line[TD_FAULTS_MAX];         /* of each fault kept */
};

/* Starts an empty collection. */
void td_report_start(struct td_report *report, const char *file, struct td_config_faults *faults);

/* Adds one (printf-like). Line 0 stands for the file as a whole: "FILE: what". Never fails. */
void td_report_add(struct td_report *report, int line, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

#endif
