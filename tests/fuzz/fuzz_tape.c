/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as a recording of the daemon: played, or refused with a sentence; what comes out is in order and in range, and a
 * core may be run on it. The first byte says what the others are:
 *
 *     '$'   with it, the file itself
 *     'f'   edits of a good file: place (3 bytes), byte
 *     'v'   the same, of its values alone
 *     'c'   edits of the core's bytes in a good file, whose sums are put right again: place (3 bytes), byte
 */
#include <string.h>

#include "tests/fuzz/fuzz.h"
#include "trace/tape_parts.h"

enum { EDIT_SIZE = 4, STEPS = 12 };

static const char config_text[] =
	"[machine]\nname = cart\nbackend = bench\nboard = b\nemergency_stop = halt\n"
	"[keeper]\nsocket = k\n[visitor]\nsocket = v\n"
	"[axis boom]\nways = lower raise\n"
	"[way boom lower]\ninput = cart:0\nend_switch = bottom\ntravel_ms = 1000\n"
	"[way boom raise]\ninput = cart:1\nend_switch = top\ntravel_ms = 2000\n"
	"[axis wheel]\nways = left right\n"
	"[way wheel left]\ninput = cart:2\nhold_limit_ms = 500\n"
	"[way wheel right]\ninput = cart:3\nhold_limit_ms = 500\n"
	"[switch bottom]\nline = cart:10\n[switch top]\nline = cart:11\n"
	"[switch halt]\nline = cart:12\n";

static struct td_config config;

/* --- a good file --------------------------------------------------------------------------------------- */

static void put_step(struct td_tape *tape, struct td_snapshot *at, const struct td_event *event)
{
	static struct td_result result;
	struct td_entry entry;

	td_core_step(&at->core, &config.rules, event, &result);
	if (event->kind == TD_EVENT_LEVELS)
		at->levels = event->levels;
	at->outputs = result.outputs;
	td_entry_of_step(&entry, &at->core, &config.rules, event, &result, at->levels);
	entry.number = at->number++;
	must(td_tape_put(tape, &entry, NULL) == 0, "a step is taken");
	for (uint16_t i = 0; i < result.news_count; i++) {
		td_entry_of_news(&entry, &at->core, &result, i);
		entry.number = at->number++;
		must(td_tape_put(tape, &entry, NULL) == 0, "its news are taken");
	}
}

static void begin(struct td_snapshot *first)
{
	static struct td_config_faults faults;

	if (config.axes == 0)
		must(td_config_read_text(config_text, strlen(config_text), "x", &config, &faults),
		     "the configuration is good");
	memset(first, 0, sizeof(*first));
	td_core_init(&first->core, &config.rules, TD_S(10));
}

/* The caller's. */
static char *write_file(size_t *length)
{
	static const struct td_event events[] = {
		{.kind = TD_EVENT_LEVELS, .at_ns = TD_S(11), .levels = 0},
		{.kind = TD_EVENT_ARM, .at_ns = TD_S(11)},
		{.kind = TD_EVENT_REQUEST,
		 .at_ns = TD_S(12),
		 .axis = 0,
		 .way = 1,
		 .session = 1,
		 .hold = 1,
		 .lease_ns = TD_MS(300)},
		{.kind = TD_EVENT_TIME, .at_ns = TD_S(13)},
	};
	static struct td_snapshot at;
	struct td_tape_head head = {.kind = "run", .version = "1"};
	const struct td_entry client = {
		.kind = TD_ENTRY_SESSION, .at_ns = TD_S(11), .as.session = {1, 1000, 1, 1, 0}};
	char *bytes;
	FILE *out = open_memstream(&bytes, length);

	must(out != NULL, "there is memory");
	begin(&at);
	head.config_hash = config.hash;
	struct td_tape *tape = td_tape_new(out, &config, config_text, strlen(config_text), &head, &at, NULL);

	must(tape != NULL, "a good file begins");
	must(td_tape_put(tape, &client, NULL) == 0, "a client is taken");
	for (size_t i = 0; i < sizeof(events) / sizeof(events[0]); i++)
		put_step(tape, &at, &events[i]);
	at.number += 3;
	must(td_tape_check(tape, &at, NULL) == 0, "a mark is taken");
	must(td_tape_finish(tape, at.core.now_ns, NULL) == 0, "it ends");
	td_tape_free(tape);
	(void)fclose(out);
	return bytes;
}

static void edit(void *bytes, size_t length, const uint8_t *edits, size_t count)
{
	for (; count >= EDIT_SIZE; edits += EDIT_SIZE, count -= EDIT_SIZE) {
		size_t at = (size_t)edits[0] << 16 | (size_t)edits[1] << 8 | edits[2];

		((uint8_t *)bytes)[at % length] = edits[3];
	}
}

/* It stays. */
static const char *good_file(size_t *length)
{
	static char *good;
	static size_t good_length;

	if (!good)
		good = write_file(&good_length);
	*length = good_length;
	return good;
}

static size_t place_of(const char *file, size_t length, const char *piece)
{
	const char *found = memmem(file, length, piece, strlen(piece));

	must(found != NULL, "a good file has its parts");
	return (size_t)(found - file);
}

/* The good file with an edited core in it, its sum put right; the caller's. */
static char *with_edited_core(const char *good, size_t *length, const uint8_t *edits, size_t count)
{
	static struct td_snapshot first;
	static char text[TD_TAPE_IMAGE_TEXT_MAX(sizeof(struct td_core))];
	size_t from = place_of(good, *length, "$comment core ") + strlen("$comment ");
	size_t to = place_of(good, *length, " $end\n$comment record ");
	char *bytes;
	size_t edited;
	FILE *out = open_memstream(&bytes, &edited);

	must(out != NULL, "there is memory");
	begin(&first);
	edit(&first.core, sizeof(first.core), edits, count);
	td_tape_image_text(text, sizeof(text), "core", &first.core, sizeof(first.core));
	(void)fwrite(good, 1, from, out);
	(void)fputs(text, out);
	(void)fwrite(good + to, 1, *length - to, out);
	(void)fclose(out);
	*length = edited;
	return bytes;
}

/* --- what must hold ------------------------------------------------------------------------------------- */

struct seen {
	bool begun;
	bool has_core;
	td_ns file_ns;
	uint64_t number;
	struct td_core core;
	struct td_rules rules;
};

static void come_to(struct seen *seen, td_ns file_ns)
{
	must(seen->begun && file_ns >= seen->file_ns,
	     "the head comes first, and time does not run backwards");
	seen->file_ns = file_ns;
}

static int on_head(void *ctx, const struct td_tape_head *head, const struct td_config *own,
		   const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		   uint32_t outputs)
{
	struct seen *seen = ctx;

	(void)levels;
	(void)outputs;
	must(!seen->begun && keep && head->begin_ns >= 0, "there is one head");
	must(td_rules_check(&own->rules).fault == TD_RULES_OK, "the rules are good");
	seen->begun = true;
	seen->number = head->first_number;
	seen->rules = own->rules;
	seen->has_core = snapshot != NULL;
	if (snapshot)
		seen->core = snapshot->core;
	return 0;
}

static int on_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	static struct td_result result;
	struct seen *seen = ctx;

	come_to(seen, file_ns);
	must(entry->kind > TD_ENTRY_NONE && entry->kind <= TD_ENTRY_REFUSED, "an entry is of a kind");
	if (entry->kind == TD_ENTRY_STEP || entry->kind == TD_ENTRY_NEWS)
		must(entry->number == seen->number++, "entries are numbered one by one");
	if (entry->kind != TD_ENTRY_STEP)
		return 0;
	for (int axis = 0; axis < TD_AXES_MAX; axis++)
		must(entry->as.step.state[axis] < TD_AXIS_STATES, "a state exists");
	if (seen->has_core)
		td_core_step(&seen->core, &seen->rules, &entry->as.step.event, &result);
	return 0;
}

static int on_check(void *ctx, td_ns file_ns, uint32_t check)
{
	struct seen *seen = ctx;

	(void)check;
	come_to(seen, file_ns);
	if (seen->has_core)
		(void)td_tape_check_of(&seen->core, &seen->rules);
	return 0;
}

static int on_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	struct seen *seen = ctx;

	come_to(seen, file_ns);
	seen->number += lost;
	return 0;
}

static void play(char *bytes, size_t length)
{
	static struct seen seen;
	const struct td_tape_sink sink = {&seen, on_head, on_entry, on_check, on_lost};
	struct td_tape_summary summary;
	struct td_error err = {""};
	FILE *in = fmemopen(bytes, length, "r");

	must(in != NULL, "there is memory");
	memset(&seen, 0, sizeof(seen));
	enum td_tape_result result = td_tape_play(in, "fuzz.vcd", NULL, &sink, &summary, &err);

	(void)fclose(in);
	must(result != TD_TAPE_STOPPED, "nobody stopped the playing");
	must((result == TD_TAPE_READ) == (err.text[0] == '\0'), "a refusal has a sentence, a success none");
	must(result == TD_TAPE_BAD || seen.begun == (result == TD_TAPE_READ), "what is played has a head");
	must(summary.bytes >= 0 && (size_t)summary.bytes <= length, "no more was read than was there");
}

/* The file that an input stands for; NULL where it stands for none. */
static char *file_of(const uint8_t *bytes, size_t count, size_t *length)
{
	*length = count;
	if (bytes[0] == '$') {
		char *copy = malloc(count);

		must(copy != NULL, "there is memory");
		memcpy(copy, bytes, count);
		return copy;
	}
	if (bytes[0] != 'f' && bytes[0] != 'v' && bytes[0] != 'c')
		return NULL;
	const char *good = good_file(length);

	if (bytes[0] == 'c')
		return with_edited_core(good, length, bytes + 1, count - 1);
	char *copy = malloc(*length);
	size_t from = bytes[0] == 'v' ? place_of(good, *length, "$enddefinitions") : 0;

	must(copy != NULL, "there is memory");
	memcpy(copy, good, *length);
	edit(copy + from, *length - from, bytes + 1, count - 1);
	return copy;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	size_t length;
	char *file = count > 1 ? file_of(bytes, count, &length) : NULL;

	if (!file)
		return -1;
	play(file, length);
	free(file);
	return 0;
}
