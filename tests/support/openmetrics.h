/* SPDX-License-Identifier: MIT */
/*
 * A strict reader of OpenMetrics 1.0 text, written from the specification (github.com/prometheus/OpenMetrics,
 * specification/OpenMetrics.md, "Text format" with its ABNF, "Metric types", "Suffixes", "Units") as remembered; a reader that
 * nobody here wrote stands beside it in tests/outside.
 *
 * It takes what our metrics are made of: gauge, counter, histogram and info, without time stamps and exemplars. Those, and other
 * types, are faults to it though the specification has them.
 */
#ifndef TD_TESTS_OPENMETRICS_H
#define TD_TESTS_OPENMETRICS_H

#include <stdbool.h>
#include <stddef.h>

/* NULL, or what is wrong with the first line that is; lives until the next call. */
const char *openmetrics_fault(const char *text);

/* How many metrics and samples the last text without fault had. */
size_t openmetrics_metrics(void);
size_t openmetrics_samples(void);

/* The value of a sample, named as it stands in the text: "name{label=\"value\"}". Fails the running test if there is none. */
double openmetrics_value(const char *text, const char *sample);

/* Whether there is one. */
bool openmetrics_has(const char *text, const char *sample);

#endif
