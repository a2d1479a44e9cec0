/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/openmetrics.h"

enum { NAME_MAX_BYTES = 128, KEY_MAX = 512, METRICS_MAX = 64, SAMPLES_MAX = 2048, BUCKETS_MAX = 64 };
enum type { NO_TYPE, GAUGE, COUNTER, HISTOGRAM, INFO };

static const char *const type_names[] = {"", "gauge", "counter", "histogram", "info"};
static const char *const suffixes[][4] = {[GAUGE] = {""},
					  [COUNTER] = {"_total"},
					  [HISTOGRAM] = {"_bucket", "_count", "_sum"},
					  [INFO] = {"_info"}};

/* One metric: its head, then its samples. */
struct metric {
	char name[NAME_MAX_BYTES];
	enum type type;
	bool helped;
	bool united;
	size_t samples;
	double bound[BUCKETS_MAX]; /* HISTOGRAM */
	double bucket[BUCKETS_MAX];
	size_t buckets;
	double count; /* < 0: not seen */
	double sum;
};

static struct {
	struct metric metric[METRICS_MAX];
	size_t metrics;
	char key[SAMPLES_MAX][KEY_MAX]; /* of every sample */
	size_t samples;
	char fault[KEY_MAX * 2];
} reader;

static bool wrong(const char *what, const char *line)
{
	(void)snprintf(reader.fault, sizeof(reader.fault), "%s: %.*s", what, (int)strcspn(line, "\n"), line);
	return false;
}

static struct metric *current(void)
{
	return reader.metrics > 0 ? &reader.metric[reader.metrics - 1] : NULL;
}

/* --- characters ------------------------------------------------------------------------------------------ */

static size_t name_length(const char *at, bool label)
{
	size_t length =
		strspn(at, label ? "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_0123456789"
				 : "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_:0123456789");

	return length > 0 && strchr("0123456789", at[0]) ? 0 : length;
}

/* Up to the closing quote, which is counted; 0: malformed. A backslash stands before n, a quote or itself alone. */
static size_t quoted_length(const char *at)
{
	if (at[0] != '"')
		return 0;
	for (size_t i = 1; at[i] && at[i] != '\n'; i++) {
		if (at[i] == '"')
			return i + 1;
		if (at[i] == '\\' && !strchr("n\"\\", at[++i]))
			return 0;
	}
	return 0;
}

/* realnumber of the ABNF, as far as ours go: digits, a point in between. -1: malformed. */
static double number_at(const char *at, size_t *length)
{
	size_t whole = strspn(at, "0123456789");
	size_t part = at[whole] == '.' ? strspn(at + whole + 1, "0123456789") : 0;

	*length = whole + (part > 0 ? part + 1 : 0);
	return whole > 0 && (at[whole] != '.' || part > 0) ? strtod(at, NULL) : -1;
}

/* --- heads ----------------------------------------------------------------------------------------------- */

/* What a metric is called, its samples and those of another may not clash with. */
static bool clashes(const char *name, const struct metric *other)
{
	size_t length = strlen(other->name);

	if (strcmp(name, other->name) == 0)
		return true;
	for (int i = 0; i < 4 && suffixes[other->type][i]; i++)
		if (strncmp(name, other->name, length) == 0 &&
		    strcmp(name + length, suffixes[other->type][i]) == 0)
			return true;
	return false;
}

static bool close_metric(void);

/* NULL: it is not to be begun here. */
static struct metric *begin_metric(const char *name, size_t length, const char *line)
{
	struct metric *metric = &reader.metric[reader.metrics];

	if (!close_metric())
		return NULL;
	if (reader.metrics == METRICS_MAX || length >= NAME_MAX_BYTES) {
		(void)wrong("too much for this reader", line);
		return NULL;
	}
	*metric = (struct metric){.count = -1, .sum = -1};
	(void)snprintf(metric->name, sizeof(metric->name), "%.*s", (int)length, name);
	for (size_t i = 0; i < reader.metrics; i++) {
		if (!clashes(metric->name, &reader.metric[i]) && !clashes(reader.metric[i].name, metric))
			continue;
		(void)wrong("this name is taken", line);
		return NULL;
	}
	reader.metrics++;
	return metric;
}

static bool take_type(struct metric *metric, const char *text, const char *line)
{
	size_t length = strcspn(text, "\n");

	if (metric->type != NO_TYPE)
		return wrong("a second TYPE", line);
	for (enum type type = GAUGE; type <= INFO; type++)
		if (strlen(type_names[type]) == length && strncmp(text, type_names[type], length) == 0)
			metric->type = type;
	return metric->type != NO_TYPE || wrong("no such type", line);
}

static bool take_unit(struct metric *metric, const char *text, const char *line)
{
	size_t length = strcspn(text, "\n");
	size_t name = strlen(metric->name);

	if (metric->united)
		return wrong("a second UNIT", line);
	metric->united = true;
	if (metric->type == INFO)
		return wrong("info has no unit", line);
	return (name > length + 1 && metric->name[name - length - 1] == '_' &&
		strncmp(metric->name + name - length, text, length) == 0 && length > 0) ||
	       wrong("the unit is not the end of the name", line);
}

static bool take_help(struct metric *metric, const char *text, const char *line)
{
	if (metric->helped)
		return wrong("a second HELP", line);
	metric->helped = true;
	for (; *text != '\n'; text++)
		if (*text == '"' || (*text == '\\' && !strchr("n\"\\", *++text)))
			return wrong("HELP is not escaped", line);
	return true;
}

static bool take_head(const char *line)
{
	static const char *const words[] = {"# TYPE ", "# HELP ", "# UNIT "};
	static bool (*const takers[])(struct metric *, const char *, const char *) = {take_type, take_help,
										      take_unit};

	for (size_t i = 0; i < 3; i++) {
		if (strncmp(line, words[i], strlen(words[i])) != 0)
			continue;
		const char *name = line + strlen(words[i]);
		size_t length = name_length(name, false);

		if (length == 0 || name[length] != ' ')
			return wrong("no name of a metric", line);
		struct metric *metric = current();
		bool same =
			metric && strlen(metric->name) == length && strncmp(name, metric->name, length) == 0;
		if (same && metric->samples > 0)
			return wrong("a head behind samples", line);
		if (!same)
			metric = begin_metric(name, length, line);
		return metric && takers[i](metric, name + length + 1, line);
	}
	return wrong("neither TYPE nor HELP nor UNIT", line);
}

/* --- samples --------------------------------------------------------------------------------------------- */

/* The labels between the braces; *le gets the bound of a bucket, -1 where there is none. 0: malformed. */
static size_t labels_length(const char *at, double *le)
{
	const char *names[16] = {NULL};
	size_t name_lengths[16] = {0};
	size_t count = 0;
	size_t i = 0;

	*le = -1;
	do {
		size_t name = name_length(at + ++i, true);
		size_t value = name > 0 && at[i + name] == '=' ? quoted_length(at + i + name + 1) : 0;

		if (value == 0 || count == 16 || strncmp(at + i, "__", 2) == 0)
			return 0;
		for (size_t k = 0; k < count; k++)
			if (name_lengths[k] == name && strncmp(names[k], at + i, name) == 0)
				return 0;
		if (name == 2 && strncmp(at + i, "le", 2) == 0)
			*le = strncmp(at + i + 4, "+Inf\"", 5) == 0 ? (double)INFINITY
								    : strtod(at + i + 4, NULL);
		names[count] = at + i;
		name_lengths[count++] = name;
		i += name + 1 + value;
	} while (at[i] == ',');
	return at[i] == '}' ? i + 1 : 0;
}

static bool take_bucket(struct metric *metric, double le, double value, const char *line)
{
	size_t i = metric->buckets++;

	if (le < 0 || i == BUCKETS_MAX)
		return wrong("a bucket without a bound", line);
	metric->bound[i] = le;
	metric->bucket[i] = value;
	if (i > 0 && (metric->bound[i - 1] >= le || metric->bucket[i - 1] > value))
		return wrong("buckets do not rise", line);
	return true;
}

static bool take_value(struct metric *metric, const char *suffix, double le, double value, const char *line)
{
	if (strcmp(suffix, "_bucket") == 0)
		return take_bucket(metric, le, value, line);
	if (le >= 0)
		return wrong("a bound of no bucket", line);
	if (strcmp(suffix, "_count") == 0)
		metric->count = value;
	if (strcmp(suffix, "_sum") == 0)
		metric->sum = value;
	return metric->type != INFO || value == 1 || wrong("info is 1", line);
}

static bool remember(const char *line, size_t length)
{
	if (reader.samples == SAMPLES_MAX || length >= KEY_MAX)
		return wrong("too much for this reader", line);
	char *key = reader.key[reader.samples];

	(void)snprintf(key, KEY_MAX, "%.*s", (int)length, line);
	for (size_t i = 0; i < reader.samples; i++)
		if (strcmp(reader.key[i], key) == 0)
			return wrong("the same sample twice", line);
	reader.samples++;
	return true;
}

static bool take_sample(const char *line)
{
	struct metric *metric = current();
	size_t length = name_length(line, false);
	size_t base = metric ? strlen(metric->name) : 0;
	size_t digits = 0;
	const char *suffix = NULL;
	double le = -1;

	for (int i = 0; metric && i < 4 && suffixes[metric->type][i]; i++)
		if (length == base + strlen(suffixes[metric->type][i]) &&
		    strncmp(line, metric->name, base) == 0 &&
		    strncmp(line + base, suffixes[metric->type][i], length - base) == 0)
			suffix = suffixes[metric->type][i];
	if (!suffix)
		return wrong("a sample that belongs to no metric", line);
	size_t labels = line[length] == '{' ? labels_length(line + length, &le) : 0;

	if (line[length] == '{' && labels == 0)
		return wrong("malformed labels", line);
	length += labels;
	double value = line[length] == ' ' ? number_at(line + length + 1, &digits) : -1;

	if (value < 0 || line[length + 1 + digits] != '\n')
		return wrong("no number, or something behind it", line);
	metric->samples++;
	return remember(line, length) && take_value(metric, suffix, le, value, line);
}

/* --- the whole ------------------------------------------------------------------------------------------- */

/* Whether the last metric is complete. */
static bool close_metric(void)
{
	const struct metric *metric = current();

	if (!metric)
		return true;
	if (metric->type == NO_TYPE)
		return wrong("a metric without TYPE", metric->name);
	if (metric->type != HISTOGRAM || metric->samples == 0)
		return true;
	if (metric->buckets == 0 || !isinf(metric->bound[metric->buckets - 1]))
		return wrong("a histogram without +Inf", metric->name);
	return (metric->count == metric->bucket[metric->buckets - 1] && metric->sum >= 0) ||
	       wrong("count is not that of +Inf, or there is no sum", metric->name);
}

static bool read_all(const char *text)
{
	for (const char *line = text; *line; line = strchr(line, '\n') + 1) {
		if (!strchr(line, '\n'))
			return wrong("no end of line", line);
		if (strncmp(line, "# EOF\n", 6) == 0)
			return close_metric() && (line[6] == '\0' || wrong("something behind EOF", line + 6));
		if (!(line[0] == '#' ? take_head(line) : take_sample(line)))
			return false;
	}
	return wrong("no EOF", "");
}

const char *openmetrics_fault(const char *text)
{
	reader.metrics = reader.samples = 0;
	return read_all(text) ? NULL : reader.fault;
}

size_t openmetrics_metrics(void)
{
	return reader.metrics;
}

size_t openmetrics_samples(void)
{
	return reader.samples;
}

static const char *find(const char *text, const char *sample)
{
	size_t length = strlen(sample);

	for (const char *line = text; line; line = strchr(line, '\n')) {
		line += *line == '\n';
		if (strncmp(line, sample, length) == 0 && line[length] == ' ')
			return line + length + 1;
	}
	return NULL;
}

bool openmetrics_has(const char *text, const char *sample)
{
	return find(text, sample) != NULL;
}

double openmetrics_value(const char *text, const char *sample)
{
	const char *value = find(text, sample);

	if (!value)
		fail_msg("there is no sample %s", sample);
	return value ? strtod(value, NULL) : -1;
}
