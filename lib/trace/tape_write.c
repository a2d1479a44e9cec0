/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "core/crc.h"
#include "core/record.h"
#include "trace/tape_parts.h"
#include "trace/vcd_writer.h"

/* Escaped. */
enum { VERSION_TEXT_MAX = 3 * TD_TAPE_VERSION_MAX, WALL_TEXT_MAX = 3 * TD_TAPE_WALL_MAX };

/* A signal in which each number happens (td_tape_happens()). */
struct happening {
	uint64_t value;
	bool known;
};

/* A signal of causes, or of kinds of events. */
struct counter {
	uint32_t count;
	td_ns at_ns; /* when it last changed */
};

struct td_tape {
	struct td_vcd_writer *vcd;
	const struct td_config *config;
	uint64_t next_number;
	td_ns begin_ns;
	td_ns last_ns; /* last time in the file, on the core's clock */
	bool finished;
	struct counter kinds;
	struct counter refused;
	struct counter causes[TD_AXES_MAX + 1]; /* the last is the machine's */
	struct happening happening[TD_TAPE_ITEMS];
};

/* --- values ------------------------------------------------------------------------------------------ */

static int set(struct td_tape *tape, unsigned int signal, struct td_vcd_value value, struct td_error *err)
{
	return td_vcd_writer_set(tape->vcd, (int)signal, tape->last_ns, value, err);
}

static int set_item(struct td_tape *tape, enum td_tape_item item, uint64_t value, struct td_error *err)
{
	return set(tape, td_tape_item(tape->config, item), td_vcd_number(value), err);
}

static int set_counted(struct td_tape *tape, unsigned int signal, struct counter *counter, unsigned int what,
		       struct td_error *err)
{
	counter->count++;
	counter->at_ns = tape->last_ns;
	return set(tape, signal, td_vcd_number(td_trace_cause((int)what, counter->count)), err);
}

/* The file goes on at `at_ns`, or 1 ns after what stands in it where that is later. */
static int advance(struct td_tape *tape, td_ns at_ns, struct td_error *err)
{
	if (tape->last_ns >= TD_NEVER - 2)
		return td_error_set(err, "the clock has come to the end of what a recording can hold");
	tape->last_ns = at_ns > tape->last_ns ? at_ns : tape->last_ns + 1;
	return 0;
}

static int set_happening(struct td_tape *tape, enum td_tape_item item, uint64_t value, struct td_error *err)
{
	struct happening *happening = &tape->happening[item];

	if (happening->known && happening->value == value &&
	    (set(tape, td_tape_item(tape->config, item), td_vcd_unknown(), err) ||
	     advance(tape, tape->last_ns, err)))
		return -1;
	*happening = (struct happening){value, true};
	return set_item(tape, item, value, err);
}

/* --- the beginning ------------------------------------------------------------------------------------ */

static int put_text(struct td_tape *tape, char *text, size_t size, const char *config_text, size_t length,
		    struct td_error *err)
{
	int used =
		snprintf(text, size, TD_TAPE_CONFIG_LABEL "%08" PRIx32 "\n", td_crc32(config_text, length));

	td_tape_escape(text + used, size - (size_t)used, config_text, length, true);
	return td_vcd_writer_comment(tape->vcd, text, err);
}

static int put_record(struct td_tape *tape, char *text, size_t size, const struct td_tape_head *head,
		      const struct td_core *core, struct td_error *err)
{
	uint8_t record[TD_KEEP_SIZE];
	struct td_keep keep;

	td_record_take(core, &tape->config->rules, true, core->now_ns, &keep);
	td_keep_take(&keep, head->machine, core->now_ns, record);
	td_tape_image_text(text, size, "record", record, sizeof(record));
	return td_vcd_writer_comment(tape->vcd, text, err);
}

static int put_comments(struct td_tape *tape, const char *config_text, size_t length,
			const struct td_tape_opening *opening, const struct td_snapshot *snapshot,
			struct td_error *err)
{
	/* the largest of the texts is either that of the configuration or that of the core */
	size_t size = 64 + 3 * length + TD_TAPE_IMAGE_TEXT_MAX(sizeof(snapshot->core) + TD_KEEP_SIZE) +
		      TD_TAPE_HEAD_TEXT_MAX;
	char *text = malloc(size);
	int result;

	if (!text)
		return td_error_set(err, "no memory for a recording");
	td_tape_head_text(text, opening);
	result = td_vcd_writer_comment(tape->vcd, text, err);
	if (result == 0)
		result = put_text(tape, text, size, config_text, length, err);
	if (result == 0) {
		td_tape_image_text(text, size, "core", &snapshot->core, sizeof(snapshot->core));
		result = td_vcd_writer_comment(tape->vcd, text, err);
	}
	if (result == 0)
		result = put_record(tape, text, size, &opening->head, &snapshot->core, err);
	free(text);
	return result;
}

/* What the signals show before anything has happened: the outcome of a step that did nothing. */
static void first_outcome(const struct td_tape *tape, const struct td_snapshot *snapshot,
			  struct td_entry *entry)
{
	static const struct td_event nothing = {TD_EVENT_TIME};
	static struct td_result none;

	td_entry_of_step(entry, &snapshot->core, &tape->config->rules, &nothing, &none, snapshot->levels);
	entry->as.step.outputs = snapshot->outputs;
}

/* The value of a signal in an outcome; 0 for what belongs to events. */
static uint64_t value_of(const struct td_config *config, const struct td_entry_step *step, unsigned int index)
{
	unsigned int which = index % TD_TAPE_AXIS_SIGNALS;
	unsigned int axis = index / TD_TAPE_AXIS_SIGNALS;

	if (index < td_tape_axis(config->axes)) {
		if (which < TD_TAPE_ASK)
			return step->outputs >> (axis * TD_WAYS + which) & 1;
		if (which < TD_TAPE_STATE)
			return step->asked >> (axis * TD_WAYS + which - TD_TAPE_ASK) & 1;
		return which == TD_TAPE_STATE ? step->state[axis] : 0;
	}
	unsigned int sw = (index - td_tape_axis(config->axes)) / TD_TAPE_SWITCH_SIGNALS;

	if (sw < config->switches)
		return (index == td_tape_switch(config, (uint8_t)sw) ? step->levels : step->active) >> sw & 1;
	if (index == td_tape_item(config, TD_TAPE_ARMED))
		return step->armed;
	if (index == td_tape_item(config, TD_TAPE_LATCHED))
		return step->latch != 0;
	return index == td_tape_item(config, TD_TAPE_LATCH) ? step->latch : 0;
}

static struct td_vcd_value first_value(const struct td_tape *tape, const struct td_entry_step *step,
				       unsigned int index)
{
	unsigned int items = td_tape_item(tape->config, 0);

	if (index >= items && td_tape_happens((enum td_tape_item)(index - items)))
		return td_vcd_unknown();
	return td_vcd_number(value_of(tape->config, step, index));
}

static int declare(struct td_tape *tape, const struct td_entry_step *step, struct td_error *err)
{
	struct td_tape_signal signal;
	unsigned int scope = UINT32_MAX;

	for (unsigned int index = 0; index < td_tape_signals(tape->config); index++) {
		td_tape_signal(tape->config, index, &signal);
		if (signal.scope_number != scope && index > 0 && td_vcd_writer_leave(tape->vcd, err))
			return -1;
		if (signal.scope_number != scope && td_vcd_writer_enter(tape->vcd, signal.scope, err))
			return -1;
		scope = signal.scope_number;
		if (td_vcd_writer_signal(tape->vcd, signal.name, signal.width, first_value(tape, step, index),
					 err) < 0)
			return -1;
	}
	return 0;
}

static int begin(struct td_tape *tape, const char *config_text, size_t length,
		 const struct td_tape_opening *opening, const struct td_snapshot *snapshot,
		 struct td_error *err)
{
	struct td_entry first;

	first_outcome(tape, snapshot, &first);
	if (put_comments(tape, config_text, length, opening, snapshot, err) ||
	    declare(tape, &first.as.step, err))
		return -1;
	return td_vcd_writer_begin(tape->vcd, opening->head.begin_ns, err);
}

static struct td_vcd_writer *open_vcd(FILE *out, const struct td_tape_head *head, struct td_error *err)
{
	char version[sizeof(TD_TRACE_VERSION) + VERSION_TEXT_MAX] = TD_TRACE_VERSION " ";
	char date[WALL_TEXT_MAX];

	td_tape_escape(version + sizeof(TD_TRACE_VERSION), sizeof(version) - sizeof(TD_TRACE_VERSION),
		       head->version, strnlen(head->version, TD_TAPE_VERSION_MAX - 1), false);
	td_tape_escape(date, sizeof(date), head->wall, strnlen(head->wall, TD_TAPE_WALL_MAX - 1), false);
	return td_vcd_writer_new(out, &(struct td_vcd_head){date[0] ? date : NULL, version, TD_VCD_SCALE_1NS},
				 err);
}

struct td_tape *td_tape_new(FILE *out, const struct td_config *config, const char *config_text, size_t length,
			    const struct td_tape_head *head, const struct td_snapshot *snapshot,
			    struct td_error *err)
{
	struct td_tape_opening opening = {
		.head = *head, .levels = snapshot->levels, .outputs = snapshot->outputs};
	struct td_tape *tape = calloc(1, sizeof(*tape));

	if (!tape) {
		td_error_set(err, "no memory for a recording");
		return NULL;
	}
	opening.head.begin_ns = snapshot->core.now_ns;
	opening.head.first_number = snapshot->number;
	td_tape_build(opening.build);
	tape->config = config;
	tape->next_number = snapshot->number;
	tape->begin_ns = tape->last_ns = snapshot->core.now_ns;
	tape->vcd = open_vcd(out, head, err);
	if (!tape->vcd || begin(tape, config_text, length, &opening, snapshot, err)) {
		td_tape_free(tape);
		return NULL;
	}
	return tape;
}

void td_tape_free(struct td_tape *tape)
{
	if (!tape)
		return;
	td_vcd_writer_free(tape->vcd);
	free(tape);
}

/* --- entries ------------------------------------------------------------------------------------------ */

static int put_outcome(struct td_tape *tape, const struct td_entry_step *step, struct td_error *err)
{
	/* what belongs to events comes behind, but for what stands between */
	unsigned int end = td_tape_item(tape->config, TD_TAPE_MACHINE_CAUSE);

	for (unsigned int index = 0; index < end; index++) {
		bool cause = index < td_tape_axis(tape->config->axes) &&
			     index % TD_TAPE_AXIS_SIGNALS == TD_TAPE_CAUSE;

		if (!cause && set(tape, index, td_vcd_number(value_of(tape->config, step, index)), err))
			return -1;
	}
	return 0;
}

static int put_fields(struct td_tape *tape, const struct td_event *event, struct td_error *err)
{
	uint64_t field[TD_TAPE_FIELDS];
	uint32_t given = td_tape_fields_of(event, field);

	if (set_item(tape, TD_TAPE_SHIFT, (uint64_t)tape->last_ns - (uint64_t)event->at_ns, err) ||
	    set_item(tape, TD_TAPE_GIVEN, given, err))
		return -1;
	for (unsigned int i = 0; i < TD_TAPE_FIELDS; i++)
		if ((given >> i & 1) != 0 &&
		    set_item(tape, (enum td_tape_item)(TD_TAPE_AXIS + i), field[i], err))
			return -1;
	return 0;
}

static int put_step(struct td_tape *tape, const struct td_entry *entry, struct td_error *err)
{
	const struct td_entry_step *step = &entry->as.step;
	unsigned int kind = (unsigned int)step->event.kind;

	if (put_outcome(tape, step, err) || put_fields(tape, &step->event, err) ||
	    set_item(tape, TD_TAPE_ANSWER, step->answer, err) ||
	    set_item(tape, TD_TAPE_NEWS, step->news, err))
		return -1;
	return set_counted(tape, td_tape_item(tape->config, TD_TAPE_KIND), &tape->kinds,
			   kind < UINT8_MAX ? kind : UINT8_MAX, err);
}

static int put_news(struct td_tape *tape, const struct td_entry *entry, struct td_error *err)
{
	const struct td_news *news = &entry->as.news;
	bool axis = news->axis < tape->config->axes;
	struct counter *counter = &tape->causes[axis ? news->axis : TD_AXES_MAX];
	unsigned int signal = axis ? td_tape_axis(news->axis) + TD_TAPE_CAUSE
				   : td_tape_item(tape->config, TD_TAPE_MACHINE_CAUSE);

	/* nothing happens at the first moment, which shows how things stand */
	if ((tape->last_ns == tape->begin_ns || counter->at_ns == tape->last_ns) &&
	    advance(tape, entry->at_ns, err))
		return -1;
	return set_counted(tape, signal, counter, (unsigned int)news->cause, err);
}

static int put_client(struct td_tape *tape, const struct td_entry *entry, struct td_error *err)
{
	const struct td_entry_session *who = &entry->as.session;

	if (set_item(tape, TD_TAPE_CLIENT_ROLE, who->role, err) ||
	    set_item(tape, TD_TAPE_CLIENT_UID, who->uid, err))
		return -1;
	if (entry->kind == TD_ENTRY_SESSION)
		return set_happening(tape, who->came != 0 ? TD_TAPE_CAME : TD_TAPE_WENT, who->session, err);
	if (set_item(tape, TD_TAPE_REFUSED_SESSION, who->session, err))
		return -1;
	return set_counted(tape, td_tape_item(tape->config, TD_TAPE_REFUSED), &tape->refused, who->cause,
			   err);
}

static int check_order(const struct td_tape *tape, uint64_t number, struct td_error *err)
{
	if (number >= tape->next_number)
		return 0;
	return td_error_set(err, "entry %" PRIu64 " comes after entry %" PRIu64, number,
			    tape->next_number - 1);
}

/* Entries of the core come in the order of their numbers; what is missing before `number` is counted. */
static int put_missing(struct td_tape *tape, uint64_t number, struct td_error *err)
{
	uint64_t missing = number - tape->next_number;

	tape->next_number = number;
	return missing == 0
		       ? 0
		       : set_happening(tape, TD_TAPE_LOST, missing < UINT32_MAX ? missing : UINT32_MAX, err);
}

static int put_numbered(struct td_tape *tape, const struct td_entry *entry, struct td_error *err)
{
	bool own_time = entry->kind == TD_ENTRY_STEP || entry->number > tape->next_number;

	if (check_order(tape, entry->number, err) || (own_time && advance(tape, entry->at_ns, err)) ||
	    put_missing(tape, entry->number, err))
		return -1;
	tape->next_number++;
	return entry->kind == TD_ENTRY_STEP ? put_step(tape, entry, err) : put_news(tape, entry, err);
}

static int check_open(const struct td_tape *tape, struct td_error *err)
{
	return tape->finished ? td_error_set(err, "the recording was ended already") : 0;
}

int td_tape_put(struct td_tape *tape, const struct td_entry *entry, struct td_error *err)
{
	if (check_open(tape, err))
		return -1;
	switch ((enum td_entry_kind)entry->kind) {
	case TD_ENTRY_STEP:
	case TD_ENTRY_NEWS: return put_numbered(tape, entry, err);
	case TD_ENTRY_SESSION:
	case TD_ENTRY_REFUSED: return advance(tape, entry->at_ns, err) ? -1 : put_client(tape, entry, err);
	case TD_ENTRY_NONE:
	default: return td_error_set(err, "there is no entry of the kind %" PRIu32, entry->kind);
	}
}

int td_tape_check(struct td_tape *tape, const struct td_snapshot *snapshot, struct td_error *err)
{
	if (check_open(tape, err) || check_order(tape, snapshot->number, err) ||
	    advance(tape, snapshot->core.now_ns, err) || put_missing(tape, snapshot->number, err))
		return -1;
	return set_happening(tape, TD_TAPE_CHECK, td_tape_check_of(&snapshot->core, &tape->config->rules),
			     err);
}

int td_tape_finish(struct td_tape *tape, td_ns at_ns, struct td_error *err)
{
	if (check_open(tape, err) || advance(tape, at_ns, err) || set_item(tape, TD_TAPE_END, 1, err))
		return -1;
	tape->finished = true;
	return td_vcd_writer_finish(tape->vcd, tape->last_ns, err);
}
