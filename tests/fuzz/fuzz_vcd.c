/* SPDX-License-Identifier: MIT */
/* Any bytes as a recording: read, or refused with a sentence; what is handed out is in order and in range. */
#include <math.h>
#include <string.h>

#include "tests/fuzz/fuzz.h"
#include "trace/vcd_reader.h"

struct seen {
	unsigned int signals;
	unsigned int width[TD_VCD_SIGNALS_MAX];
	enum td_vcd_kind kind[TD_VCD_SIGNALS_MAX];
	bool begun;
	td_ns at_ns;
	int64_t changes;
};

static void check_time(struct seen *seen, td_ns at_ns)
{
	must(at_ns >= seen->at_ns, "time does not run backwards");
	seen->at_ns = at_ns;
}

static int take_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	check_time(ctx, at_ns);
	must(kind <= TD_VCD_COMMENT && strlen(text) < TD_VCD_TEXT_MAX, "a text is in range");
	return 0;
}

static int take_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct seen *seen = ctx;

	must(!seen->begun && signal->index == seen->signals, "signals are declared in order, at the front");
	must(signal->index < TD_VCD_SIGNALS_MAX && signal->width >= 1 && signal->width <= TD_VCD_WIDTH_MAX,
	     "a signal is in range");
	must(strlen(signal->name) < TD_VCD_NAME_MAX && strlen(signal->scope) < TD_VCD_PATH_MAX,
	     "names are in range");
	seen->width[seen->signals] = signal->width;
	seen->kind[seen->signals++] = signal->kind;
	return 0;
}

static int take_begin(void *ctx)
{
	struct seen *seen = ctx;

	must(!seen->begun, "the values begin once");
	seen->begun = true;
	return 0;
}

static int take_time(void *ctx, td_ns at_ns)
{
	check_time(ctx, at_ns);
	return 0;
}

static void take_any(struct seen *seen, td_ns at_ns, unsigned int signal)
{
	check_time(seen, at_ns);
	must(seen->begun && signal < seen->signals, "a change is of a declared signal");
	seen->changes++;
}

static int take_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	const struct seen *seen = ctx;
	char digits[TD_VCD_WIDTH_MAX + 1];
	struct td_vcd_value back;

	take_any(ctx, at_ns, signal);
	must(seen->kind[signal] != TD_VCD_REAL, "a change is of a signal with bits");
	td_vcd_digits(value, seen->width[signal], digits);
	must(td_vcd_parse_digits(digits, seen->width[signal], &back) &&
		     td_vcd_same(value, back, seen->width[signal]),
	     "a value survives writing and reading");
	return 0;
}

static int take_real(void *ctx, td_ns at_ns, unsigned int signal, double value)
{
	const struct seen *seen = ctx;

	take_any(ctx, at_ns, signal);
	must(seen->kind[signal] == TD_VCD_REAL && !isnan(value), "a real change is a number");
	return 0;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct seen seen;
	const struct td_vcd_sink sink = {&seen,     take_text,   take_signal, take_begin,
					 take_time, take_change, take_real};
	struct td_vcd_summary summary;
	struct td_error err = {""};
	char *copy = count > 0 ? malloc(count) : NULL;
	FILE *in = copy ? fmemopen(copy, count, "r") : NULL;

	if (!in)
		return -1;
	memcpy(copy, bytes, count);
	memset(&seen, 0, sizeof(seen));
	enum td_vcd_result result = td_vcd_read(in, "fuzz.vcd", &sink, &summary, &err);

	(void)fclose(in);
	free(copy);
	must(result == TD_VCD_READ || result == TD_VCD_BAD, "nobody stopped the reading");
	must((result == TD_VCD_BAD) == (err.text[0] != '\0'), "a refusal has a sentence, a success none");
	must(summary.signals == seen.signals, "the summary counts all signals");
	must(summary.changes <= seen.changes || result == TD_VCD_BAD, "a change is of one signal or several");
	must(summary.bytes >= 0 && (size_t)summary.bytes <= count, "no more was read than was there");
	must(summary.last_ns >= seen.at_ns || result == TD_VCD_BAD, "the last time is the last");
	return 0;
}
