/* SPDX-License-Identifier: MIT */
#include "daemon/metrics/page.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static const struct td_metric_info metrics[] = {
#define TD_X(word, name, type, unit, role, labels, help)                                                     \
	{(name), TD_METRIC_##type, (unit), TD_ROLE_##role, (labels), (help)},
	TD_METRIC_TABLE(TD_X)
#undef TD_X
};

static const struct td_metric_form_info forms[] = {
#define TD_X(ident, name, media_type, help) {(name), (media_type), (help)},
	TD_METRIC_FORM_TABLE(TD_X)
#undef TD_X
};

const struct td_metric_info *td_metric_at(unsigned int index)
{
	return index < TD_METRICS ? &metrics[index] : NULL;
}

const struct td_metric_form_info *td_metric_form_at(unsigned int index)
{
	return index < TD_METRIC_FORMS ? &forms[index] : NULL;
}

const char *td_metric_type_name(enum td_metric_type type)
{
	static const char *const names[] = {
		[TD_METRIC_GAUGE] = "gauge",
		[TD_METRIC_COUNTER] = "counter",
		[TD_METRIC_HISTOGRAM] = "histogram",
		[TD_METRIC_INFO] = "info",
	};

	return names[type];
}

/* --- characters ------------------------------------------------------------------------------------------ */

static void put(struct td_page *page, const char *text, size_t length)
{
	if (page->full || length >= page->size - page->used) {
		page->full = true;
		return;
	}
	memcpy(page->text + page->used, text, length);
	page->used += length;
	page->text[page->used] = '\0';
}

static void put_text(struct td_page *page, const char *text)
{
	put(page, text, strlen(text));
}

/* What stands between quotes. */
static void put_quoted(struct td_page *page, const char *text)
{
	for (;;) {
		size_t plain = strcspn(text, "\n\"\\");

		put(page, text, plain);
		text += plain;
		if (*text == '\0')
			return;
		put(page, "\\", 1);
		put(page, *text == '\n' ? "n" : text, 1);
		text++;
	}
}

/* No zeros at the end: as both forms want the bounds of histograms. */
static void put_value(struct td_page *page, struct td_page_value value)
{
	char text[32];
	uint64_t scale = 1;

	for (; value.decimals > 0 && value.number % 10 == 0; value.decimals--)
		value.number /= 10;
	for (unsigned i = 0; i < value.decimals; i++)
		scale *= 10;
	if (value.decimals == 0)
		(void)snprintf(text, sizeof(text), "%" PRIu64, value.number);
	else
		(void)snprintf(text, sizeof(text), "%" PRIu64 ".%0*" PRIu64, value.number / scale,
			       (int)value.decimals, value.number % scale);
	put_text(page, text);
}

/* --- lines ----------------------------------------------------------------------------------------------- */

/* What a type adds to the name of its samples. */
static const char *suffix_of(enum td_metric_type type)
{
	if (type == TD_METRIC_COUNTER)
		return "_total";
	return type == TD_METRIC_INFO ? "_info" : "";
}

static bool is_openmetrics(const struct td_page *page)
{
	return page->form == TD_METRIC_FORM_OPENMETRICS;
}

/* The older form knows no suffixes but those of histograms: the name is that of the samples. */
static void put_head(struct td_page *page, const struct td_metric_info *info, const char *what,
		     const char *text)
{
	put_text(page, "# ");
	put_text(page, what);
	put_text(page, " ");
	put_text(page, info->name);
	put_text(page, is_openmetrics(page) ? "" : suffix_of(info->type));
	put_text(page, " ");
	put_text(page, text);
	put_text(page, "\n");
}

static void put_labels(struct td_page *page, const struct td_page_label labels[TD_PAGE_LABELS_MAX])
{
	for (unsigned i = 0; i < TD_PAGE_LABELS_MAX && labels[i].name; i++) {
		put_text(page, i == 0 ? "{" : ",");
		put_text(page, labels[i].name);
		put_text(page, "=\"");
		put_quoted(page, labels[i].value);
		put_text(page, "\"");
	}
	if (labels[0].name)
		put_text(page, "}");
}

static void put_sample(struct td_page *page, const struct td_metric_info *info, const char *suffix,
		       const struct td_page_label labels[TD_PAGE_LABELS_MAX], struct td_page_value value)
{
	put_text(page, info->name);
	put_text(page, suffix);
	put_labels(page, labels);
	put_text(page, " ");
	put_value(page, value);
	put_text(page, "\n");
}

void td_page_begin(struct td_page *page, enum td_metric_form form, char *text, size_t size)
{
	*page = (struct td_page){.text = text, .size = size, .form = form};
	text[0] = '\0';
}

void td_page_metric(struct td_page *page, enum td_metric metric)
{
	const struct td_metric_info *info = &metrics[metric];
	bool old_info = info->type == TD_METRIC_INFO && !is_openmetrics(page);

	put_head(page, info, "HELP", info->help);
	put_head(page, info, "TYPE", td_metric_type_name(old_info ? TD_METRIC_GAUGE : info->type));
	if (info->unit[0] != '\0' && is_openmetrics(page))
		put_head(page, info, "UNIT", info->unit);
}

void td_page_sample(struct td_page *page, enum td_metric metric,
		    const struct td_page_label labels[TD_PAGE_LABELS_MAX], struct td_page_value value)
{
	const struct td_metric_info *info = &metrics[metric];

	put_sample(page, info, suffix_of(info->type), labels, value);
}

static void put_bucket(struct td_page *page, const struct td_metric_info *info, const char *bound,
		       uint64_t count)
{
	const struct td_page_label labels[TD_PAGE_LABELS_MAX] = {{"le", bound}};

	put_sample(page, info, "_bucket", labels, (struct td_page_value){.number = count});
}

void td_page_histogram(struct td_page *page, enum td_metric metric, const struct td_page_value *bound,
		       unsigned bounds, const uint64_t *counts, struct td_page_value sum)
{
	const struct td_metric_info *info = &metrics[metric];
	const struct td_page_label none[TD_PAGE_LABELS_MAX] = {{NULL, NULL}};
	uint64_t count = 0;

	for (unsigned i = 0; i < bounds; i++) {
		char text[32];
		struct td_page word;

		td_page_begin(&word, page->form, text, sizeof(text));
		put_value(&word, bound[i]);
		count += counts[i];
		put_bucket(page, info, text, count);
	}
	count += counts[bounds];
	put_bucket(page, info, "+Inf", count);
	put_sample(page, info, "_count", none, (struct td_page_value){.number = count});
	put_sample(page, info, "_sum", none, sum);
}

bool td_page_end(struct td_page *page)
{
	if (is_openmetrics(page))
		put_text(page, "# EOF\n");
	return !page->full;
}
