/* SPDX-License-Identifier: MIT */
#include "tests/support/story.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/outside.h"
#include "trace/vcd_reader.h"

struct known {
	char path[TD_VCD_PATH_MAX + TD_VCD_NAME_MAX];
	unsigned int width;
	struct td_vcd_value last;
	bool has_last;
	FILE *wave;
	char *wave_text;
	size_t wave_size;
};

struct story {
	FILE *out;
	struct known known[TD_VCD_SIGNALS_MAX];
	unsigned int count;
};

static void all_digits(struct td_vcd_value value, unsigned int width, char *out)
{
	for (unsigned int i = 0; i < width; i++) {
		unsigned int bit = width - 1 - i;

		out[i] = "01zx"[(value.odd >> bit & 1U) * 2 + (value.bits >> bit & 1U)];
	}
	out[width] = '\0';
}

static int on_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	static const char *const names[] = {"date", "version", "comment"};
	struct story *story = ctx;

	(void)fprintf(story->out, "text %" PRId64 " %s [%s]\n", at_ns, names[kind], text);
	return 0;
}

static int on_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct story *story = ctx;
	struct known *known = &story->known[story->count++];

	(void)snprintf(known->path, sizeof(known->path), "%s%s%s", signal->scope, signal->scope[0] ? "." : "",
		       signal->name);
	known->width = signal->width;
	(void)fprintf(story->out, "signal %s %s ", signal->scope, signal->name);
	if (signal->kind == TD_VCD_LOGIC)
		(void)fprintf(story->out, "%u\n", signal->width);
	else
		(void)fprintf(story->out, "%s\n", signal->kind == TD_VCD_EVENT ? "event" : "real");
	return 0;
}

static int on_begin(void *ctx)
{
	(void)fprintf(((struct story *)ctx)->out, "begin\n");
	return 0;
}

static int on_time(void *ctx, td_ns at_ns)
{
	(void)fprintf(((struct story *)ctx)->out, "time %" PRId64 "\n", at_ns);
	return 0;
}

static int on_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct story *story = ctx;
	char digits[TD_VCD_WIDTH_MAX + 1];

	all_digits(value, story->known[signal].width, digits);
	(void)fprintf(story->out, "%" PRId64 " %s = %s\n", at_ns, story->known[signal].path, digits);
	return 0;
}

static int on_real(void *ctx, td_ns at_ns, unsigned int signal, double value)
{
	struct story *story = ctx;

	(void)fprintf(story->out, "%" PRId64 " %s = %.16g\n", at_ns, story->known[signal].path, value);
	return 0;
}

char *story_of_file(FILE *in)
{
	struct story *story = calloc(1, sizeof(*story));
	const struct td_vcd_sink sink = {story, on_text, on_signal, on_begin, on_time, on_change, on_real};
	struct td_vcd_summary summary;
	struct td_error err = {""};
	char *text = NULL;
	size_t size = 0;

	story->out = open_memstream(&text, &size);
	if (td_vcd_read(in, "trace", &sink, &summary, &err) == TD_VCD_BAD)
		(void)fprintf(story->out, "bad %s\n", err.text);
	else
		(void)fprintf(story->out, "%send %" PRId64 "\n", summary.cut_off ? "cut\n" : "",
			      summary.last_ns);
	(void)fclose(story->out);
	free(story);
	return text;
}

char *story_of_bytes(const void *bytes, size_t length)
{
	FILE *in = outside_reader(bytes, length);
	char *text = story_of_file(in);

	(void)fclose(in);
	return text;
}

/* --- waves ---------------------------------------------------------------------------------------- */

static int wave_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct story *story = ctx;
	struct known *known = &story->known[story->count++];

	(void)snprintf(known->path, sizeof(known->path), "%s.%s", signal->scope, signal->name);
	known->width = signal->width;
	known->wave = open_memstream(&known->wave_text, &known->wave_size);
	(void)fprintf(known->wave, "%s %u:", known->path, known->width);
	return 0;
}

static int wave_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct known *known = &((struct story *)ctx)->known[signal];
	char digits[TD_VCD_WIDTH_MAX + 1];

	if (known->has_last && td_vcd_same(known->last, value, known->width))
		return 0;
	known->has_last = true;
	known->last = value;
	all_digits(value, known->width, digits);
	(void)fprintf(known->wave, " %" PRId64 "=%s", at_ns, digits);
	return 0;
}

static int by_path(const void *a, const void *b)
{
	return strcmp(((const struct known *)a)->path, ((const struct known *)b)->path);
}

char *story_waves(const char *bytes, size_t length)
{
	struct story *story = calloc(1, sizeof(*story));
	const struct td_vcd_sink sink = {.ctx = story, .signal = wave_signal, .change = wave_change};
	struct td_vcd_summary summary;
	struct td_error err = {""};
	char *text = NULL;
	size_t size = 0;
	FILE *in = outside_reader(bytes, length);
	FILE *out = open_memstream(&text, &size);

	if (td_vcd_read(in, "trace", &sink, &summary, &err) != TD_VCD_READ)
		(void)fprintf(out, "bad %s\n", err.text);
	for (unsigned int i = 0; i < story->count; i++)
		(void)fclose(story->known[i]
				     .wave); /* before sorting: the stream knows where its text pointer is */
	qsort(story->known, story->count, sizeof(story->known[0]), by_path);
	for (unsigned int i = 0; i < story->count; i++) {
		(void)fprintf(out, "%s\n", story->known[i].wave_text);
		free(story->known[i].wave_text);
	}
	(void)fprintf(out, "end %" PRId64 "\n", summary.last_ns);
	(void)fclose(in);
	(void)fclose(out);
	free(story);
	return text;
}
