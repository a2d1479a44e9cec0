/* SPDX-License-Identifier: MIT */
/* The second half of a trace: what changed when. And what both halves need. */
#include "trace/vcd_reader.h"

#include <errno.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "trace/vcd_reading.h"

enum td_vcd_step td_vcd_fail(struct td_vcd_reading *reading, const char *format, ...)
{
	struct td_error what;
	va_list args;

	va_start(args, format);
	(void)vsnprintf(what.text, sizeof(what.text), format, args);
	va_end(args);
	td_error_set(reading->err, "%s: byte %" PRId64 ", line %" PRId64 ": %s", reading->shown_as,
		     reading->scan.word_offset, reading->scan.word_line, what.text);
	return TD_VCD_STEP_BAD;
}

enum td_vcd_step td_vcd_no_word(struct td_vcd_reading *reading, enum td_vcd_scanned scanned)
{
	if (scanned == TD_VCD_TOO_LONG)
		return td_vcd_fail(reading, "a word or text here is longer than this program reads");
	if (scanned == TD_VCD_READ_ERROR)
		return td_vcd_fail(reading, "the file cannot be read on: %s", strerror(errno));
	return TD_VCD_STEP_CUT;
}

enum td_vcd_step td_vcd_take_word(struct td_vcd_reading *reading)
{
	enum td_vcd_scanned scanned = td_vcd_scan_word(&reading->scan);

	return scanned == TD_VCD_WORD ? TD_VCD_STEP_ON : td_vcd_no_word(reading, scanned);
}

enum td_vcd_step td_vcd_take_text(struct td_vcd_reading *reading, enum td_vcd_text kind)
{
	const struct td_vcd_sink *sink = reading->sink;
	size_t length;
	enum td_vcd_scanned scanned =
		td_vcd_scan_text(&reading->scan, reading->text, sizeof(reading->text), &length);

	if (scanned != TD_VCD_WORD)
		return td_vcd_no_word(reading, scanned);
	if (sink->text && sink->text(sink->ctx, reading->now_ns, kind, reading->text))
		return TD_VCD_STEP_STOPPED;
	return TD_VCD_STEP_ON;
}

/* --- values --------------------------------------------------------------------------------------- */

static bool parse_time(const struct td_vcd_reading *reading, const char *digits, td_ns *at_ns)
{
	uint64_t steps = 0;

	if (*digits == '\0')
		return false;
	for (; *digits; digits++) {
		if (*digits < '0' || *digits > '9' || steps > (UINT64_MAX - 9) / 10)
			return false;
		steps = steps * 10 + (uint64_t)(*digits - '0');
	}
	steps /= (uint64_t)reading->step_den;
	if (steps > (uint64_t)(TD_NEVER - 1) / (uint64_t)reading->step_num)
		return false;
	*at_ns = (td_ns)(steps * (uint64_t)reading->step_num);
	return true;
}

static enum td_vcd_step take_time(struct td_vcd_reading *reading, const char *word)
{
	td_ns at_ns;

	if (reading->in_dump)
		return td_vcd_fail(reading, "a time stands inside a block of dumped values; $end is missing");
	if (!parse_time(reading, word + 1, &at_ns))
		return td_vcd_fail(reading, "\"%.40s\" is no time, or one past 292 years", word);
	if (at_ns < reading->now_ns)
		return td_vcd_fail(reading, "time runs backwards: %" PRId64 " ns after %" PRId64 " ns", at_ns,
				   reading->now_ns);
	reading->now_ns = at_ns;
	reading->summary->last_ns = at_ns;
	if (reading->sink->time && reading->sink->time(reading->sink->ctx, at_ns))
		return TD_VCD_STEP_STOPPED;
	return TD_VCD_STEP_ON;
}

static enum td_vcd_step find_code(struct td_vcd_reading *reading, const char *code, int *signal)
{
	uint64_t number;

	*signal = td_vcd_parse_code(code, &number) ? td_vcd_find(reading, number) : -1;
	if (*signal < 0)
		return td_vcd_fail(reading, "no signal was declared with the code \"%.40s\"", code);
	return TD_VCD_STEP_ON;
}

/* Hands one change to every signal of a code. */
static enum td_vcd_step give_logic(struct td_vcd_reading *reading, const char *digits, int signal)
{
	const struct td_vcd_sink *sink = reading->sink;
	struct td_vcd_value value;

	if (reading->signal[signal].kind == TD_VCD_REAL ||
	    !td_vcd_parse_digits(digits, reading->signal[signal].width, &value))
		return td_vcd_fail(reading, "\"%.70s\" is no value of a signal of %u bits", digits,
				   reading->signal[signal].width);
	reading->summary->changes++;
	for (; signal >= 0; signal = reading->signal[signal].next)
		if (sink->change && sink->change(sink->ctx, reading->now_ns, (unsigned int)signal, value))
			return TD_VCD_STEP_STOPPED;
	return TD_VCD_STEP_ON;
}

static enum td_vcd_step give_real(struct td_vcd_reading *reading, const char *digits, int signal)
{
	const struct td_vcd_sink *sink = reading->sink;
	char *after;
	double value = strtod(digits, &after);

	if (reading->signal[signal].kind != TD_VCD_REAL || after == digits || *after)
		return td_vcd_fail(reading, "\"%.40s\" is no number, or its signal takes none", digits);
	reading->summary->changes++;
	for (; signal >= 0; signal = reading->signal[signal].next)
		if (sink->real && sink->real(sink->ctx, reading->now_ns, (unsigned int)signal, value))
			return TD_VCD_STEP_STOPPED;
	return TD_VCD_STEP_ON;
}

/* "1!" */
static enum td_vcd_step take_scalar(struct td_vcd_reading *reading)
{
	const char digit[2] = {reading->scan.word[0], '\0'};
	int signal;
	enum td_vcd_step step = find_code(reading, reading->scan.word + 1, &signal);

	return step == TD_VCD_STEP_ON ? give_logic(reading, digit, signal) : step;
}

/* "b101 !" or "r1.5 !" */
static enum td_vcd_step take_pair(struct td_vcd_reading *reading)
{
	char value[TD_VCD_WORD_MAX];
	int signal;

	memcpy(value, reading->scan.word, sizeof(value));
	enum td_vcd_step step = td_vcd_take_word(reading);
	if (step == TD_VCD_STEP_ON)
		step = find_code(reading, reading->scan.word, &signal);
	if (step != TD_VCD_STEP_ON)
		return step;
	if (value[0] == 'b' || value[0] == 'B')
		return give_logic(reading, value + 1, signal);
	return give_real(reading, value + 1, signal);
}

static enum td_vcd_step take_keyword(struct td_vcd_reading *reading, const char *word)
{
	static const char *const dumps[] = {"$dumpvars", "$dumpall", "$dumpon", "$dumpoff"};

	if (strcmp(word, "$comment") == 0)
		return td_vcd_take_text(reading, TD_VCD_COMMENT);
	if (strcmp(word, "$end") == 0 && reading->in_dump) {
		reading->in_dump = false;
		return TD_VCD_STEP_ON;
	}
	for (size_t i = 0; i < sizeof(dumps) / sizeof(dumps[0]) && !reading->in_dump; i++) {
		if (strcmp(word, dumps[i]) == 0) {
			reading->in_dump = true;
			return TD_VCD_STEP_ON;
		}
	}
	return td_vcd_fail(reading, "\"%.40s\" has no place among the values", word);
}

static enum td_vcd_step take_value(struct td_vcd_reading *reading, const char *word)
{
	switch (word[0]) {
	case '#': return take_time(reading, word);
	case '$': return take_keyword(reading, word);
	case 'b':
	case 'B':
	case 'r':
	case 'R': return take_pair(reading);
	case '0':
	case '1':
	case 'x':
	case 'X':
	case 'z':
	case 'Z': return take_scalar(reading);
	default: return td_vcd_fail(reading, "\"%.40s\" is neither a time nor a value", word);
	}
}

static enum td_vcd_step take_values(struct td_vcd_reading *reading)
{
	for (;;) {
		enum td_vcd_scanned scanned = td_vcd_scan_word(&reading->scan);
		enum td_vcd_step step;

		if (scanned == TD_VCD_END)
			return reading->in_dump ? TD_VCD_STEP_CUT : TD_VCD_STEP_DONE;
		step = scanned == TD_VCD_WORD ? take_value(reading, reading->scan.word)
					      : td_vcd_no_word(reading, scanned);
		if (step != TD_VCD_STEP_ON)
			return step;
	}
}

/* --- the whole ------------------------------------------------------------------------------------ */

static enum td_vcd_result read_all(struct td_vcd_reading *reading)
{
	enum td_vcd_step step = td_vcd_take_declarations(reading);

	if (step == TD_VCD_STEP_DONE)
		step = take_values(reading);
	reading->summary->bytes = reading->scan.offset;
	reading->summary->cut_off = step == TD_VCD_STEP_CUT;
	if (step == TD_VCD_STEP_BAD)
		return TD_VCD_BAD;
	return step == TD_VCD_STEP_STOPPED ? TD_VCD_STOPPED : TD_VCD_READ;
}

enum td_vcd_result td_vcd_read(FILE *in, const char *shown_as, const struct td_vcd_sink *sink,
			       struct td_vcd_summary *summary, struct td_error *err)
{
	struct td_vcd_reading *reading = calloc(1, sizeof(*reading));

	*summary = (struct td_vcd_summary){0};
	if (!reading) {
		td_error_set(err, "%s: no memory to read a trace", shown_as);
		return TD_VCD_BAD;
	}
	reading->shown_as = shown_as;
	reading->sink = sink;
	reading->summary = summary;
	reading->err = err;
	td_vcd_scan_init(&reading->scan, in);
	enum td_vcd_result result = read_all(reading);
	free(reading);
	return result;
}
