/* SPDX-License-Identifier: MIT */
/*
 * Writes metrics as text: OpenMetrics 1.0, or the text format 0.0.4 (prometheus.io/docs/instrumenting/exposition_formats).
 * Knows the forms and the table of metrics, nothing of what is measured. No heap, no floating point: numbers are whole ones
 * with a decimal point put into them.
 */
#ifndef TD_DAEMON_METRICS_PAGE_H
#define TD_DAEMON_METRICS_PAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/event.h"
#include "daemon/metrics/metric_table.h"

enum td_metric {
#define TD_X(word, ...) TD_METRIC_##word,
	TD_METRIC_TABLE(TD_X)
#undef TD_X
		TD_METRICS
};

enum td_metric_type { TD_METRIC_GAUGE = 0, TD_METRIC_COUNTER, TD_METRIC_HISTOGRAM, TD_METRIC_INFO };

struct td_metric_info {
	const char *name;
	enum td_metric_type type;
	const char *unit;
	enum td_role role;
	const char *labels;
	const char *help;
};

enum td_metric_form {
#define TD_X(ident, ...) TD_METRIC_FORM_##ident,
	TD_METRIC_FORM_TABLE(TD_X)
#undef TD_X
		TD_METRIC_FORMS
};

struct td_metric_form_info {
	const char *name;
	const char *media_type;
	const char *help;
};

/* In the order of the tables; NULL past the end. They live for ever. */
const struct td_metric_info *td_metric_at(unsigned int index);
const struct td_metric_form_info *td_metric_form_at(unsigned int index);

/* The word of a type in both forms; OpenMetrics alone knows `info`. */
const char *td_metric_type_name(enum td_metric_type type);

struct td_page {
	char *text; /* the caller's, `size` bytes; always terminated */
	size_t size;
	size_t used; /* without the terminator */
	bool full;   /* something did not fit, and is missing */
	enum td_metric_form form;
};

/* number / 10^decimals. */
struct td_page_value {
	uint64_t number;
	unsigned decimals; /* at most 9 */
};

struct td_page_label {
	const char *name; /* NULL: there is none */
	const char *value;
};

enum { TD_PAGE_LABELS_MAX = 2 };

/* `size` > 0. */
void td_page_begin(struct td_page *page, enum td_metric_form form, char *text, size_t size);

/* The head of a metric; its samples follow, each label set once. */
void td_page_metric(struct td_page *page, enum td_metric metric);

/* One sample of a gauge, counter or info. */
void td_page_sample(struct td_page *page, enum td_metric metric,
		    const struct td_page_label labels[TD_PAGE_LABELS_MAX], struct td_page_value value);

/* A histogram without labels: `bound` rising, `counts` of each and of what is beyond them all, the sum of the values. */
void td_page_histogram(struct td_page *page, enum td_metric metric, const struct td_page_value *bound,
		       unsigned bounds, const uint64_t *counts, struct td_page_value sum);

/* True if everything was written. */
bool td_page_end(struct td_page *page);

#endif
