/* SPDX-License-Identifier: MIT */
#include "trace/vcd_writer.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

struct signal {
	unsigned int width;
	struct td_vcd_value value;
};

struct td_vcd_writer {
	FILE *out;
	td_ns step_ns;
	td_ns origin_ns;
	td_ns last_ns;   /* of the caller's clock */
	int64_t written; /* last time written, in steps; -1 = none */
	bool begun;
	bool broken;
	int depth;
	int signals;
	struct td_error loss;
	struct signal signal[TD_VCD_SIGNALS_MAX];
};

/* Keeps the failure of the file for every later call; check_phase() lets none of them come here again. */
static int check_file(struct td_vcd_writer *writer, int printed, struct td_error *err)
{
	if (printed >= 0 && !ferror(writer->out))
		return 0;
	writer->broken = true;
	td_error_set(&writer->loss, "the trace could not be written: %s; what was written before is readable",
		     errno ? strerror(errno) : "unknown error");
	return td_error_set(err, "%s", writer->loss.text);
}

#define EMIT(writer, err, ...) check_file((writer), fprintf((writer)->out, __VA_ARGS__), (err))

static int check_phase(struct td_vcd_writer *writer, bool begun, struct td_error *err)
{
	if (writer->broken)
		return td_error_set(err, "%s", writer->loss.text);
	if (writer->begun != begun)
		return td_error_set(err, begun ? "a trace takes no values before its declarations have ended"
					       : "a trace takes no declarations after its first values");
	errno = 0;
	return 0;
}

static int check_name(const char *name, struct td_error *err)
{
	bool fine = name[0] != '\0' && name[0] != '$' && strlen(name) < TD_VCD_NAME_MAX;

	for (const char *c = name; *c && fine; c++)
		fine = *c > ' ' && *c <= '~' && *c != '.' && *c != '[';
	if (fine)
		return 0;
	return td_error_set(err,
			    "\"%.64s\" cannot name a signal or scope of a trace; use printable ASCII "
			    "without blanks, '.' and '[', not beginning with '$', at most %d long",
			    name, TD_VCD_NAME_MAX - 1);
}

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* "$end" as a word of its own would end the comment early. */
static bool holds_end(const char *text)
{
	static const char end[] = "$end";

	for (const char *at = strstr(text, end); at; at = strstr(at + 1, end)) {
		char after = at[sizeof(end) - 1];

		if ((at == text || is_blank(at[-1])) && (after == '\0' || is_blank(after)))
			return true;
	}
	return false;
}

static int check_text(const char *text, struct td_error *err)
{
	if (strlen(text) >= TD_VCD_TEXT_MAX)
		return td_error_set(err, "a text of a trace may have at most %d bytes", TD_VCD_TEXT_MAX - 1);
	if (holds_end(text))
		return td_error_set(err, "a text of a trace must not hold the word $end; write it otherwise");
	for (const char *c = text; *c; c++)
		if ((unsigned char)*c < ' ' && !is_blank(*c))
			return td_error_set(err, "a text of a trace must not hold control characters");
	return 0;
}

static int write_text(struct td_vcd_writer *writer, const char *keyword, const char *text,
		      struct td_error *err)
{
	if (check_text(text, err))
		return -1;
	return EMIT(writer, err, "%s %s $end\n", keyword, text);
}

static int write_head(struct td_vcd_writer *writer, const struct td_vcd_head *head, struct td_error *err)
{
	if (head->date && write_text(writer, "$date", head->date, err))
		return -1;
	if (head->version && write_text(writer, "$version", head->version, err))
		return -1;
	return EMIT(writer, err, "$timescale 1 %s $end\n", head->scale == TD_VCD_SCALE_1US ? "us" : "ns");
}

struct td_vcd_writer *td_vcd_writer_new(FILE *out, const struct td_vcd_head *head, struct td_error *err)
{
	struct td_vcd_writer *writer = calloc(1, sizeof(*writer));

	if (!writer) {
		td_error_set(err, "no memory for a trace");
		return NULL;
	}
	writer->out = out;
	writer->step_ns = head->scale == TD_VCD_SCALE_1US ? TD_US(1) : 1;
	writer->written = -1;
	errno = 0;
	if (write_head(writer, head, err)) {
		free(writer);
		return NULL;
	}
	return writer;
}

int td_vcd_writer_comment(struct td_vcd_writer *writer, const char *text, struct td_error *err)
{
	if (check_phase(writer, writer->begun, err))
		return -1;
	return write_text(writer, "$comment", text, err);
}

int td_vcd_writer_enter(struct td_vcd_writer *writer, const char *scope, struct td_error *err)
{
	if (check_phase(writer, false, err) || check_name(scope, err))
		return -1;
	if (writer->depth >= TD_VCD_DEPTH_MAX)
		return td_error_set(err, "a trace nests at most %d scopes", TD_VCD_DEPTH_MAX);
	writer->depth++;
	return EMIT(writer, err, "$scope module %s $end\n", scope);
}

int td_vcd_writer_leave(struct td_vcd_writer *writer, struct td_error *err)
{
	if (check_phase(writer, false, err))
		return -1;
	if (writer->depth == 0)
		return td_error_set(err, "no scope of the trace is open");
	writer->depth--;
	return EMIT(writer, err, "$upscope $end\n");
}

static int declare(struct td_vcd_writer *writer, const char *name, unsigned int width, struct td_error *err)
{
	char code[TD_VCD_CODE_MAX];

	td_vcd_code((uint32_t)writer->signals, code);
	if (width == 1)
		return EMIT(writer, err, "$var wire 1 %s %s $end\n", code, name);
	return EMIT(writer, err, "$var wire %u %s %s [%u:0] $end\n", width, code, name, width - 1);
}

int td_vcd_writer_signal(struct td_vcd_writer *writer, const char *name, unsigned int width,
			 struct td_vcd_value first, struct td_error *err)
{
	if (check_phase(writer, false, err) || check_name(name, err))
		return -1;
	if (width < 1 || width > TD_VCD_WIDTH_MAX)
		return td_error_set(err, "signal %s: a signal has 1 to %d bits, not %u", name,
				    TD_VCD_WIDTH_MAX, width);
	if (writer->depth == 0)
		return td_error_set(err, "signal %s stands in no scope; enter one first", name);
	if (writer->signals >= TD_VCD_SIGNALS_MAX)
		return td_error_set(err, "a trace has at most %d signals", TD_VCD_SIGNALS_MAX);
	if (declare(writer, name, width, err))
		return -1;
	writer->signal[writer->signals] = (struct signal){.width = width, .value = first};
	return writer->signals++;
}

static int write_value(struct td_vcd_writer *writer, int index, struct td_error *err)
{
	const struct signal *signal = &writer->signal[index];
	char code[TD_VCD_CODE_MAX];
	char digits[TD_VCD_WIDTH_MAX + 1];

	td_vcd_code((uint32_t)index, code);
	td_vcd_digits(signal->value, signal->width, digits);
	return EMIT(writer, err, signal->width == 1 ? "%s%s\n" : "b%s %s\n", digits, code);
}

static int write_time(struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err)
{
	int64_t step = (at_ns - writer->origin_ns) / writer->step_ns;

	writer->last_ns = at_ns;
	if (step == writer->written)
		return 0;
	writer->written = step;
	return EMIT(writer, err, "#%" PRId64 "\n", step);
}

int td_vcd_writer_begin(struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err)
{
	if (check_phase(writer, false, err))
		return -1;
	if (at_ns < 0 || at_ns == TD_NEVER)
		return td_error_set(err, "a trace cannot begin at time %" PRId64, at_ns);
	while (writer->depth > 0)
		if (td_vcd_writer_leave(writer, err))
			return -1;
	writer->begun = true;
	writer->origin_ns = at_ns;
	if (EMIT(writer, err, "$enddefinitions $end\n") || write_time(writer, at_ns, err) ||
	    EMIT(writer, err, "$dumpvars\n"))
		return -1;
	for (int i = 0; i < writer->signals; i++)
		if (write_value(writer, i, err))
			return -1;
	return EMIT(writer, err, "$end\n");
}

static int check_time(const struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err)
{
	if (at_ns < writer->last_ns)
		return td_error_set(err,
				    "time runs backwards in the trace: %" PRId64 " ns after %" PRId64 " ns",
				    at_ns, writer->last_ns);
	if (at_ns == TD_NEVER)
		return td_error_set(err, "a trace has no place for a time that never comes");
	return 0;
}

int td_vcd_writer_comment_at(struct td_vcd_writer *writer, td_ns at_ns, const char *text,
			     struct td_error *err)
{
	if (check_phase(writer, true, err) || check_time(writer, at_ns, err) || check_text(text, err))
		return -1;
	if (write_time(writer, at_ns, err))
		return -1;
	return write_text(writer, "$comment", text, err);
}

int td_vcd_writer_set(struct td_vcd_writer *writer, int signal, td_ns at_ns, struct td_vcd_value value,
		      struct td_error *err)
{
	if (check_phase(writer, true, err) || check_time(writer, at_ns, err))
		return -1;
	if (signal < 0 || signal >= writer->signals)
		return td_error_set(err, "the trace has no signal number %d", signal);
	if (td_vcd_same(value, writer->signal[signal].value, writer->signal[signal].width))
		return 0;
	if (write_time(writer, at_ns, err))
		return -1;
	writer->signal[signal].value = value;
	return write_value(writer, signal, err);
}

int td_vcd_writer_finish(struct td_vcd_writer *writer, td_ns at_ns, struct td_error *err)
{
	if (check_phase(writer, true, err) || check_time(writer, at_ns, err))
		return -1;
	if (write_time(writer, at_ns, err))
		return -1;
	return check_file(writer, fflush(writer->out), err);
}

bool td_vcd_writer_broken(const struct td_vcd_writer *writer)
{
	return writer->broken;
}

void td_vcd_writer_free(struct td_vcd_writer *writer)
{
	free(writer);
}
