/* SPDX-License-Identifier: MIT */
/* What stands before the first value of a tape: four comments, then the signals that the configuration makes expected. */
#include <inttypes.h>
#include <string.h>

#include "core/crc.h"
#include "trace/tape_playing.h"

static int take_head(struct td_tape_playing *playing, const char *text)
{
	struct td_error err;

	if (td_tape_head_read(text, &playing->opening, &err))
		return td_tape_fail(playing, "%s", err.text);
	playing->part = TD_TAPE_HEAD;
	return 0;
}

static int hand_out(const struct td_tape_playing *playing, int64_t length)
{
	const struct td_tape_sink *sink = playing->sink;

	return sink->configuration ? sink->configuration(sink->ctx, playing->text, (size_t)length) : 0;
}

/* Eight digits and a line end; what stands behind them, or NULL. */
static const char *take_sum(const char *text, uint32_t *sum)
{
	enum { DIGITS = 8 };

	*sum = 0;
	for (int i = 0; i < DIGITS; i++, text++) {
		int digit = td_tape_digit(*text);

		if (digit < 0)
			return NULL;
		*sum = *sum << 4 | (uint32_t)digit;
	}
	return *text == '\n' ? text + 1 : NULL;
}

/* The file as it was read, which is sound. Under another version its settings may come out as others (a key is new, a default
 * has changed): that is no damage, and whoever plays it sees it by the hash of the head. */
static int64_t take_text(struct td_tape_playing *playing, const char *text)
{
	uint32_t sum = 0;
	const char *file = take_sum(text, &sum);
	int64_t length = -1;

	if (file)
		length = td_tape_unescape(playing->text, sizeof(playing->text), file, file + strlen(file));
	if (length >= 0 && td_crc32(playing->text, (size_t)length) == sum)
		return length;
	(void)td_tape_fail(playing, "the configuration in the recording is damaged");
	return -1;
}

static int read_config(struct td_tape_playing *playing, int64_t length)
{
	if (!td_config_read_text(playing->text, (size_t)length, "configuration", &playing->own,
				 &playing->faults))
		return td_tape_fail(
			playing,
			"the configuration in the recording is none that this program reads (%.300s)",
			playing->faults.fault[0].text);
	playing->config = &playing->own;
	return 0;
}

/* Where another one stands in for it, it is only shown. */
static int take_config(struct td_tape_playing *playing, const char *text)
{
	if (strncmp(text, TD_TAPE_CONFIG_LABEL, strlen(TD_TAPE_CONFIG_LABEL)) != 0)
		return td_tape_fail(playing,
				    "here should be the configuration that the recording begins with");
	playing->part = TD_TAPE_CONFIG;
	int64_t length = take_text(playing, text + strlen(TD_TAPE_CONFIG_LABEL));

	if (length < 0 || (!playing->stands_in && read_config(playing, length)))
		return 1;
	return hand_out(playing, length);
}

static int take_core(struct td_tape_playing *playing, const char *text)
{
	char build[TD_TAPE_BUILD_MAX];
	struct td_core *core = &playing->snapshot.core;
	struct td_error err;
	size_t count;

	playing->part = TD_TAPE_CORE;
	td_tape_build(build);
	if (strcmp(build, playing->opening.build) != 0)
		return 0;
	if (td_tape_image_read(text, "core", playing->bytes, sizeof(*core), &count, &err))
		return td_tape_fail(playing, "%s", err.text);
	if (count != sizeof(*core))
		return td_tape_fail(playing, "the core in the recording has another size than its head says");
	memcpy(core, playing->bytes, sizeof(*core));
	if (!td_tape_core_sane(core) || core->now_ns != playing->opening.head.begin_ns)
		return td_tape_fail(playing, "the core in the recording is in a state that cannot be");
	playing->snapshot.number = playing->opening.head.first_number;
	playing->snapshot.levels = playing->opening.levels;
	playing->snapshot.outputs = playing->opening.outputs;
	playing->has_core = true;
	return 0;
}

static int take_record(struct td_tape_playing *playing, const char *text)
{
	const struct td_tape_head *head = &playing->opening.head;
	struct td_error err;
	size_t count;

	playing->part = TD_TAPE_RECORD;
	if (td_tape_image_read(text, "record", playing->bytes, sizeof(playing->bytes), &count, &err))
		return td_tape_fail(playing, "%s", err.text);
	enum td_keep_verdict verdict =
		td_keep_restore(&playing->keep, playing->bytes, count, head->machine, head->begin_ns, 0);

	if (verdict == TD_KEEP_DAMAGED || verdict == TD_KEEP_OTHER_MACHINE)
		return td_tape_fail(playing, "the record in the recording is damaged");
	if (verdict == TD_KEEP_OTHER_VERSION && !playing->has_core)
		return td_tape_fail(
			playing,
			"the recording was made by version %s, whose core this program cannot take over; "
			"use that version",
			head->version);
	return 0;
}

int td_tape_on_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	struct td_tape_playing *playing = ctx;

	(void)at_ns;
	if (kind != TD_VCD_COMMENT)
		return 0;
	switch (playing->part) {
	case TD_TAPE_NO_PART: return td_tape_is_head(text) ? take_head(playing, text) : 0;
	case TD_TAPE_HEAD: return take_config(playing, text);
	case TD_TAPE_CONFIG: return take_core(playing, text);
	case TD_TAPE_CORE: return take_record(playing, text);
	case TD_TAPE_RECORD:
	default: return 0;
	}
}

/* --- signals ------------------------------------------------------------------------------------------ */

static int check_parts(struct td_tape_playing *playing)
{
	return playing->part == TD_TAPE_RECORD
		       ? 0
		       : td_tape_fail(playing, "configuration, core or record are missing before this");
}

int td_tape_on_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct td_tape_playing *playing = ctx;
	struct td_tape_signal expected;

	if (playing->part == TD_TAPE_NO_PART)
		return 0;
	if (check_parts(playing))
		return 1;
	if (signal->index >= td_tape_signals(playing->config))
		return td_tape_fail(playing, "there is no signal %.64s.%.64s in a recording of this machine",
				    signal->scope, signal->name);
	td_tape_signal(playing->config, signal->index, &expected);
	playing->signals++;
	if (strcmp(signal->scope, expected.scope) == 0 && strcmp(signal->name, expected.name) == 0 &&
	    signal->width == expected.width && signal->kind == TD_VCD_LOGIC)
		return 0;
	return td_tape_fail(
		playing, "there is a signal %.64s.%.64s of %u bits where the configuration has %s.%s of %u%s",
		signal->scope, signal->name, signal->width, expected.scope, expected.name, expected.width,
		playing->stands_in ? "; one that stands in needs the same names in the same order" : "");
}

static int foreign(struct td_tape_playing *playing)
{
	playing->result = TD_TAPE_FOREIGN;
	td_error_set(&playing->why, "a value change dump, but no recording of tripdogd: the comment "
				    "\"tripdog trace\" is missing");
	return 1;
}

int td_tape_on_begin(void *ctx)
{
	struct td_tape_playing *playing = ctx;
	const struct td_tape_opening *opening = &playing->opening;
	const struct td_tape_sink *sink = playing->sink;

	if (playing->part == TD_TAPE_NO_PART)
		return foreign(playing);
	if (check_parts(playing))
		return 1;
	if (playing->signals != td_tape_signals(playing->config))
		return td_tape_fail(playing, "%u signals are declared, and %u belong to this machine",
				    playing->signals, td_tape_signals(playing->config));
	playing->now_ns = opening->head.begin_ns;
	playing->next_number = opening->head.first_number;
	if (!sink->head)
		return 0;
	return sink->head(sink->ctx, &opening->head, playing->config,
			  playing->has_core ? &playing->snapshot : NULL, &playing->keep, opening->levels,
			  opening->outputs);
}
