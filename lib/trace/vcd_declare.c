/* SPDX-License-Identifier: MIT */
/* The first half of a trace: what signals there are. */
#include <stdlib.h>
#include <string.h>

#include "trace/vcd_reading.h"

static bool is(const char *word, const char *other)
{
	return strcmp(word, other) == 0;
}

/* Adds `text` to what stands in `to`; false, and nothing added, where it does not fit into `size`. */
static bool append(char *to, size_t size, const char *text)
{
	size_t used = strlen(to);
	size_t length = strlen(text);

	if (used + length >= size)
		return false;
	memcpy(to + used, text, length + 1);
	return true;
}

static size_t slot_of(const struct td_vcd_reading *reading, uint64_t code)
{
	size_t at = (size_t)(code * UINT64_C(0x9e3779b97f4a7c15) >> 32) & (TD_VCD_SLOTS - 1);

	while (reading->slot[at] && reading->signal[reading->slot[at] - 1].code != code)
		at = (at + 1) & (TD_VCD_SLOTS - 1);
	return at;
}

int td_vcd_find(const struct td_vcd_reading *reading, uint64_t code)
{
	return reading->slot[slot_of(reading, code)] - 1;
}

static enum td_vcd_step expect_end(struct td_vcd_reading *reading, const char *keyword)
{
	enum td_vcd_step step = td_vcd_take_word(reading);

	if (step != TD_VCD_STEP_ON)
		return step;
	if (!is(reading->scan.word, "$end"))
		return td_vcd_fail(reading, "%s goes on with \"%s\" where $end belongs", keyword,
				   reading->scan.word);
	return TD_VCD_STEP_ON;
}

/* --- $timescale ----------------------------------------------------------------------------------- */

static const struct unit {
	const char *name;
	int64_t num;
	int64_t den;
} units[] = {
	{"s", 1000000000, 1}, {"ms", 1000000, 1}, {"us", 1000, 1},
	{"ns", 1, 1},         {"ps", 1, 1000},    {"fs", 1, 1000000},
};

/* "1 us" and "1us" are the same. */
static bool set_scale(struct td_vcd_reading *reading, const char *text)
{
	char *unit;
	long count = strtol(text, &unit, 10);

	if (text[0] != '1' || (count != 1 && count != 10 && count != 100))
		return false;
	for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
		if (!is(unit, units[i].name))
			continue;
		reading->step_num = units[i].den > 1 ? 1 : units[i].num * count;
		reading->step_den = units[i].den > 1 ? units[i].den / count : 1;
		return true;
	}
	return false;
}

static enum td_vcd_step take_timescale(struct td_vcd_reading *reading)
{
	char joined[2 * TD_VCD_WORD_MAX] = "";

	for (int words = 0;; words++) {
		enum td_vcd_step step = td_vcd_take_word(reading);

		if (step != TD_VCD_STEP_ON)
			return step;
		if (is(reading->scan.word, "$end"))
			break;
		if (words == 2)
			return td_vcd_fail(reading, "$timescale goes on where $end belongs");
		(void)append(joined, sizeof(joined), reading->scan.word); /* two fit */
	}
	if (!set_scale(reading, joined))
		return td_vcd_fail(reading,
				   "$timescale \"%.40s\" is not 1, 10 or 100 of s, ms, us, ns, ps or fs",
				   joined);
	return TD_VCD_STEP_ON;
}

/* --- $scope --------------------------------------------------------------------------------------- */

static enum td_vcd_step enter_scope(struct td_vcd_reading *reading, const char *name)
{
	char *path = reading->scope;

	if (reading->depth == TD_VCD_DEPTH_MAX)
		return td_vcd_fail(reading, "more than %d scopes inside each other", TD_VCD_DEPTH_MAX);
	if ((path[0] && !append(path, sizeof(reading->scope), ".")) ||
	    !append(path, sizeof(reading->scope), name))
		return td_vcd_fail(reading, "the names of the scopes together exceed %d bytes",
				   TD_VCD_PATH_MAX - 1);
	reading->scope_end[++reading->depth] = strlen(path);
	return TD_VCD_STEP_ON;
}

static enum td_vcd_step take_scope(struct td_vcd_reading *reading)
{
	static const char *const types[] = {"module", "begin", "fork", "function", "task"};
	enum td_vcd_step step = td_vcd_take_word(reading);
	bool known = false;

	if (step != TD_VCD_STEP_ON)
		return step;
	for (size_t i = 0; i < sizeof(types) / sizeof(types[0]); i++)
		known = known || is(reading->scan.word, types[i]);
	if (!known)
		return td_vcd_fail(reading, "\"%s\" is no type of scope", reading->scan.word);
	step = td_vcd_take_word(reading);
	if (step != TD_VCD_STEP_ON)
		return step;
	step = enter_scope(reading, reading->scan.word);
	return step == TD_VCD_STEP_ON ? expect_end(reading, "$scope") : step;
}

static enum td_vcd_step take_upscope(struct td_vcd_reading *reading)
{
	if (reading->depth == 0)
		return td_vcd_fail(reading, "$upscope without an open $scope");
	reading->depth--;
	reading->scope[reading->scope_end[reading->depth]] = '\0';
	return expect_end(reading, "$upscope");
}

/* --- $var ----------------------------------------------------------------------------------------- */

/* The words of a $var, type first. */
enum { VAR_TYPE, VAR_SIZE, VAR_CODE, VAR_NAME, VAR_WORDS };

struct var {
	char word[VAR_WORDS][TD_VCD_WORD_MAX];
	char range[TD_VCD_WORD_MAX]; /* "[3:0]", "[3]" or "" */
};

/* Collects up to "$end"; a range may stand apart from the name and have blanks inside. */
static enum td_vcd_step take_var_words(struct td_vcd_reading *reading, struct var *var)
{
	for (int n = 0;; n++) {
		enum td_vcd_step step = td_vcd_take_word(reading);
		const char *word = reading->scan.word;

		if (step != TD_VCD_STEP_ON)
			return step;
		if (is(word, "$end") && n >= VAR_WORDS)
			return TD_VCD_STEP_ON;
		if (is(word, "$end"))
			return td_vcd_fail(reading, "$var needs type, size, code and name");
		if (n < VAR_WORDS)
			(void)append(var->word[n], sizeof(var->word[n]), word);
		else if ((var->range[0] != '[' && word[0] != '[') ||
			 !append(var->range, sizeof(var->range), word))
			return td_vcd_fail(reading, "$var goes on with \"%s\" where $end belongs", word);
	}
}

static bool kind_of(const char *type, enum td_vcd_kind *kind)
{
	static const char *const logic[] = {
		"wire",   "reg",  "integer", "parameter", "time",   "supply0", "supply1", "tri",
		"triand", "wand", "trior",   "wor",       "trireg", "tri0",    "tri1",
	};

	*kind = TD_VCD_LOGIC;
	for (size_t i = 0; i < sizeof(logic) / sizeof(logic[0]); i++)
		if (is(type, logic[i]))
			return true;
	*kind = is(type, "event") ? TD_VCD_EVENT : TD_VCD_REAL;
	return is(type, "event") || is(type, "real") || is(type, "realtime");
}

/* A whole vector's range says nothing the width does not say; a single bit's is part of its name. */
static enum td_vcd_step settle_name(struct td_vcd_reading *reading, struct var *var)
{
	char *name = var->word[VAR_NAME];
	char *bracket = strchr(name + 1, '[');

	if (var->range[0] == '\0' && bracket) {
		(void)append(var->range, sizeof(var->range), bracket);
		*bracket = '\0';
	}
	if (strchr(var->range, ':'))
		var->range[0] = '\0';
	if (!append(name, TD_VCD_NAME_MAX, var->range))
		return td_vcd_fail(reading, "the name \"%.40s...\" exceeds %d bytes", name,
				   TD_VCD_NAME_MAX - 1);
	return TD_VCD_STEP_ON;
}

static enum td_vcd_step check_var(struct td_vcd_reading *reading, struct var *var,
				  struct td_vcd_declared *made)
{
	char *after;
	unsigned long size = strtoul(var->word[VAR_SIZE], &after, 10);

	if (reading->signals == TD_VCD_SIGNALS_MAX)
		return td_vcd_fail(reading, "more than %d signals", TD_VCD_SIGNALS_MAX);
	if (!kind_of(var->word[VAR_TYPE], &made->kind))
		return td_vcd_fail(reading, "\"%s\" is no type of signal", var->word[VAR_TYPE]);
	if (var->word[VAR_SIZE][0] < '0' || var->word[VAR_SIZE][0] > '9' || *after || size < 1 ||
	    size > TD_VCD_WIDTH_MAX)
		return td_vcd_fail(reading,
				   "signal \"%.40s\" has a size of \"%.20s\"; 1 to %d bits can be read",
				   var->word[VAR_NAME], var->word[VAR_SIZE], TD_VCD_WIDTH_MAX);
	made->width = made->kind == TD_VCD_EVENT ? 1 : (unsigned int)size;
	if (!td_vcd_parse_code(var->word[VAR_CODE], &made->code))
		return td_vcd_fail(reading,
				   "\"%.40s\" is no identifier code of at most %d printable characters",
				   var->word[VAR_CODE], TD_VCD_CODE_MAX - 1);
	return settle_name(reading, var);
}

/* Puts the signal behind the others of its code, which must be of its kind and width. */
static enum td_vcd_step add_signal(struct td_vcd_reading *reading, const struct td_vcd_declared *made)
{
	size_t slot = slot_of(reading, made->code);
	int index = (int)reading->signals;
	int first = reading->slot[slot] - 1;

	if (first < 0) {
		reading->slot[slot] = index + 1;
	} else {
		struct td_vcd_declared *last = &reading->signal[first];

		if (last->kind != made->kind || last->width != made->width)
			return td_vcd_fail(reading, "a code stands for signals of different kind or size");
		while (last->next >= 0)
			last = &reading->signal[last->next];
		last->next = index;
	}
	reading->signal[index] = *made;
	reading->summary->signals = ++reading->signals;
	return TD_VCD_STEP_ON;
}

static enum td_vcd_step take_var(struct td_vcd_reading *reading)
{
	struct var var = {0};
	struct td_vcd_declared made = {.next = -1};
	enum td_vcd_step step = take_var_words(reading, &var);

	if (step == TD_VCD_STEP_ON)
		step = check_var(reading, &var, &made);
	if (step == TD_VCD_STEP_ON)
		step = add_signal(reading, &made);
	if (step != TD_VCD_STEP_ON || !reading->sink->signal)
		return step;
	const struct td_vcd_signal signal = {
		.index = reading->signals - 1,
		.width = made.width,
		.kind = made.kind,
		.scope = reading->scope,
		.name = var.word[VAR_NAME],
	};
	return reading->sink->signal(reading->sink->ctx, &signal) ? TD_VCD_STEP_STOPPED : TD_VCD_STEP_ON;
}

/* --- all of them ---------------------------------------------------------------------------------- */

static enum td_vcd_step take_enddefinitions(struct td_vcd_reading *reading)
{
	enum td_vcd_step step = expect_end(reading, "$enddefinitions");

	if (step != TD_VCD_STEP_ON)
		return step;
	if (reading->step_num == 0)
		return td_vcd_fail(reading, "no $timescale was declared, so nobody knows how long a step is");
	if (reading->sink->begin && reading->sink->begin(reading->sink->ctx))
		return TD_VCD_STEP_STOPPED;
	return TD_VCD_STEP_DONE;
}

static enum td_vcd_step take_declaration(struct td_vcd_reading *reading, const char *word)
{
	if (is(word, "$var"))
		return take_var(reading);
	if (is(word, "$scope"))
		return take_scope(reading);
	if (is(word, "$upscope"))
		return take_upscope(reading);
	if (is(word, "$timescale"))
		return take_timescale(reading);
	if (is(word, "$comment"))
		return td_vcd_take_text(reading, TD_VCD_COMMENT);
	if (is(word, "$date"))
		return td_vcd_take_text(reading, TD_VCD_DATE);
	if (is(word, "$version"))
		return td_vcd_take_text(reading, TD_VCD_VERSION);
	if (is(word, "$enddefinitions"))
		return take_enddefinitions(reading);
	return td_vcd_fail(reading, "\"%.40s\" is no declaration of a trace", word);
}

enum td_vcd_step td_vcd_take_declarations(struct td_vcd_reading *reading)
{
	enum td_vcd_step step;

	do {
		step = td_vcd_take_word(reading);
		if (step == TD_VCD_STEP_ON)
			step = take_declaration(reading, reading->scan.word);
	} while (step == TD_VCD_STEP_ON);
	if (step == TD_VCD_STEP_CUT)
		return td_vcd_fail(reading, "the file ends before $enddefinitions and holds no values");
	return step;
}
