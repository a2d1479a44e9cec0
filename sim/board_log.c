/* SPDX-License-Identifier: MIT */
#include "sim/board_log.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "trace/layout.h"
#include "trace/vcd_writer.h"

enum { NUMBER_BITS = 32 };

struct td_board_log {
	FILE *file;
	struct td_vcd_writer *writer;
	bool begun;
	bool failed;
	struct td_error first_failure;
	td_ns last_ns;
	int output[TD_AXES_MAX * TD_WAYS]; /* indices of signals */
	int level[TD_SWITCHES_MAX];
	int position[TD_AXES_MAX];
	int teeth[TD_AXES_MAX];
};

/* Keeps the first thing that goes wrong. */
static void check(struct td_board_log *log, int result, const struct td_error *err)
{
	if (result >= 0 || log->failed)
		return;
	log->failed = true;
	log->first_failure = *err;
}

static int declare(struct td_board_log *log, const char *name, unsigned int width, uint64_t first)
{
	struct td_error err;
	int signal = td_vcd_writer_signal(log->writer, name, width, td_vcd_number(first), &err);

	check(log, signal, &err);
	return signal;
}

static void enter(struct td_board_log *log, const char *scope)
{
	struct td_error err;

	check(log, td_vcd_writer_enter(log->writer, scope, &err), &err);
}

static void leave(struct td_board_log *log)
{
	struct td_error err;

	check(log, td_vcd_writer_leave(log->writer, &err), &err);
}

static uint64_t number_of(int64_t value)
{
	return (uint32_t)(int32_t)value;
}

static void declare_axis(struct td_board_log *log, const struct td_config *config,
			 const struct td_plant_model *model, uint8_t axis)
{
	enter(log, config->axis[axis].name);
	for (int way = 0; way < TD_WAYS; way++)
		log->output[axis * TD_WAYS + way] = declare(log, config->axis[axis].way_name[way], 1, 0);
	log->position[axis] = declare(log, TD_TRACE_POSITION, NUMBER_BITS,
				      number_of((int64_t)(model->motor[axis].start * 1e6)));
	log->teeth[axis] = declare(log, TD_TRACE_TEETH, NUMBER_BITS, 0);
	leave(log);
}

/* The values before the first change are those of a plant that was never touched. */
static void declare_all(struct td_board_log *log, const struct td_config *config,
			const struct td_plant_model *model)
{
	struct td_plant plant;

	td_plant_init(&plant, model, 0);
	for (uint8_t axis = 0; axis < model->motors; axis++)
		declare_axis(log, config, model, axis);
	enter(log, TD_TRACE_SWITCHES);
	for (uint8_t sw = 0; sw < model->switches; sw++)
		log->level[sw] = declare(log, config->sw[sw].name, 1, td_plant_levels(&plant) >> sw & 1U);
	leave(log);
}

struct td_board_log *td_board_log_open(const char *path, const struct td_config *config,
				       const struct td_plant_model *model, struct td_error *err)
{
	static const struct td_vcd_head head = {.version = "tripdog-sim " TD_VERSION,
						.scale = TD_VCD_SCALE_1NS};
	struct td_board_log *log = calloc(1, sizeof(*log));

	if (!log) {
		(void)td_error_set(err, "%s: no memory for the log", path);
		return NULL;
	}
	log->file = fopen(path, "we");
	if (log->file)
		log->writer = td_vcd_writer_new(log->file, &head, err);
	else
		(void)td_error_set(err, "%s: cannot be written: %s; choose another path", path,
				   strerror(errno));
	if (log->writer)
		declare_all(log, config, model);
	if (log->writer && !log->failed)
		return log;
	if (log->failed)
		*err = log->first_failure;
	td_vcd_writer_free(log->writer);
	if (log->file)
		(void)fclose(log->file);
	free(log);
	return NULL;
}

static int signal_of(const struct td_board_log *log, const struct td_change *change)
{
	switch (change->kind) {
	case TD_CHANGE_OUTPUT: return log->output[change->index];
	case TD_CHANGE_LEVEL: return log->level[change->index];
	case TD_CHANGE_POSITION: return log->position[change->index];
	case TD_CHANGE_TEETH: return log->teeth[change->index];
	case TD_CHANGE_MARK: break;
	}
	return -1;
}

static void write_change(void *ctx, const struct td_change *change)
{
	struct td_board_log *log = ctx;
	struct td_error err;

	if (!log->begun)
		check(log, td_vcd_writer_begin(log->writer, change->at_ns, &err), &err);
	log->begun = true;
	log->last_ns = change->at_ns;
	if (change->kind == TD_CHANGE_MARK)
		check(log, td_vcd_writer_comment_at(log->writer, change->at_ns, change->text, &err), &err);
	else
		check(log,
		      td_vcd_writer_set(log->writer, signal_of(log, change), change->at_ns,
					td_vcd_number(number_of(change->value)), &err),
		      &err);
}

struct td_watcher td_board_log_watcher(struct td_board_log *log)
{
	return (struct td_watcher){write_change, log};
}

int td_board_log_flush(void *ctx, td_ns at_ns, struct td_error *err)
{
	struct td_board_log *log = ctx;
	struct td_error now;

	log->last_ns = at_ns > log->last_ns ? at_ns : log->last_ns;
	if (log->begun)
		check(log, td_vcd_writer_finish(log->writer, log->last_ns, &now), &now);
	if (!log->failed)
		return 0;
	*err = log->first_failure;
	return -1;
}

int td_board_log_close(struct td_board_log *log, struct td_error *err)
{
	int result;

	if (!log)
		return 0;
	result = td_board_log_flush(log, log->last_ns, err);
	td_vcd_writer_free(log->writer);
	if (fclose(log->file) != 0 && result == 0)
		result = td_error_set(err, "the log could not be written to its end: %s", strerror(errno));
	free(log);
	return result;
}
