/* SPDX-License-Identifier: MIT */
#include "config/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void td_report_start(struct td_report *report, const char *file, struct td_config_faults *faults)
{
	memset(report, 0, sizeof(*report));
	memset(faults, 0, sizeof(*faults));
	report->file = file;
	report->faults = faults;
}

/* Makes room before the first fault of a later line; the last one falls out of a full collection. */
static struct td_error *make_room(struct td_report *report, int line)
{
	size_t kept = report->faults->count < TD_FAULTS_MAX ? report->faults->count : TD_FAULTS_MAX - 1;
	struct td_error *fault = report->faults->fault;
	size_t at = kept;

	if (report->faults->count >= TD_FAULTS_MAX && report->line[TD_FAULTS_MAX - 1] <= line)
		return NULL;
	while (at > 0 && report->line[at - 1] > line)
		at--;
	memmove(&report->line[at + 1], &report->line[at], (kept - at) * sizeof(report->line[0]));
	memmove(&fault[at + 1], &fault[at], (kept - at) * sizeof(fault[0]));
	report->line[at] = line;
	return &fault[at];
}

void td_report_add(struct td_report *report, int line, const char *format, ...)
{
	struct td_error *fault = make_room(report, line);
	char sentence[TD_ERROR_MAX];
	va_list args;

	va_start(args, format);
	vsnprintf(sentence, sizeof(sentence), format, args);
	va_end(args);
	report->faults->count++;
	if (fault && line > 0)
		td_error_set(fault, "%s:%d: %s", report->file, line, sentence);
	else if (fault)
		td_error_set(fault, "%s: %s", report->file, sentence);
}
