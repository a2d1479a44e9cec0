/* SPDX-License-Identifier: MIT */
#include "sim/replay/foreign.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "config/nearest.h"
#include "sim/replay/hands.h"
#include "sim/replay/out.h"
#include "trace/vcd_reader.h"

enum { NO_SIGNAL = -1 };

struct bench {
	const struct td_replay_order *order;
	const struct td_replay_map *map;
	FILE *told;
	struct td_error *err;
	bool failed;                   /* with a sentence */
	int signal[TD_REPLAY_MAP_MAX]; /* of the trace, by row; NO_SIGNAL */
	char nearest[TD_REPLAY_MAP_MAX]
		    [TD_VCD_NAME_MAX]; /* the name that comes nearest, while there is none */
	struct td_vcd_value value[TD_REPLAY_MAP_MAX];
	td_ns now_ns;                    /* the moment whose changes are being read */
	bool begun;                      /* the first moment has passed */
	bool ignored[TD_REPLAY_MAP_MAX]; /* R11: held from the beginning */
	struct td_hands hands;
	struct td_replay_out out;
};

static int fail(struct bench *bench)
{
	bench->failed = true;
	return -1;
}

/* --- which signal is which ---------------------------------------------------------------------------- */

static bool is_named(const struct td_vcd_signal *signal, const char *name)
{
	size_t scope = strlen(signal->scope);

	if (strcmp(signal->name, name) == 0)
		return true;
	return scope > 0 && strncmp(signal->scope, name, scope) == 0 && name[scope] == '.' &&
	       strcmp(signal->name, name + scope + 1) == 0;
}

static void remember_nearest(struct bench *bench, unsigned int row, const char *name)
{
	struct td_nearest nearest = td_nearest_to(bench->map->row[row].signal);
	const char *best = bench->nearest[row];

	if (best[0])
		td_nearest_offer(&nearest, best);
	td_nearest_offer(&nearest, name);
	if (nearest.best == name)
		(void)snprintf(bench->nearest[row], sizeof(bench->nearest[row]), "%s", name);
}

static int take_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct bench *bench = ctx;

	for (unsigned int row = 0; row < bench->map->rows; row++) {
		const char *name = bench->map->row[row].signal;

		if (!is_named(signal, name)) {
			remember_nearest(bench, row, signal->name);
			continue;
		}
		if (bench->signal[row] != NO_SIGNAL) {
			(void)td_error_set(
				bench->err,
				"%s: two signals are named '%.60s'; name its scopes too, joined by '.'",
				bench->order->shown_as, name);
			return fail(bench);
		}
		if (signal->width != 1 || signal->kind != TD_VCD_LOGIC) {
			(void)td_error_set(bench->err, "%s: '%.60s' is no signal of one bit; name another",
					   bench->order->shown_as, name);
			return fail(bench);
		}
		bench->signal[row] = (int)signal->index;
	}
	return 0;
}

static int declarations_ended(void *ctx)
{
	struct bench *bench = ctx;

	for (unsigned int row = 0; row < bench->map->rows; row++) {
		const char *best = bench->nearest[row];

		if (bench->signal[row] != NO_SIGNAL)
			continue;
		(void)td_error_set(bench->err, "%s: there is no signal '%.60s' (line %d of the map)%s%.60s%s",
				   bench->order->shown_as, bench->map->row[row].signal,
				   bench->map->row[row].line, best[0] ? "; did you mean '" : "", best,
				   best[0] ? "'?" : "");
		return fail(bench);
	}
	return 0;
}

/* --- moments ------------------------------------------------------------------------------------------ */

/* A level nobody knows reads as active, as a broken wire does. */
static bool line_high(const struct bench *bench, unsigned int row)
{
	const struct td_replay_map_row *it = &bench->map->row[row];
	const struct td_switch_rules *rules = &bench->order->config->rules.sw[it->sw];

	if ((bench->value[row].odd & 1) != 0)
		return td_switch_reads_active(rules, true);
	return ((bench->value[row].bits & 1) != 0) != it->inverted;
}

static uint32_t levels_now(const struct bench *bench)
{
	const struct td_config *config = bench->order->config;
	uint32_t levels = 0;

	for (uint8_t sw = 0; sw < config->switches; sw++)
		if (!td_switch_reads_active(&config->rules.sw[sw], true))
			levels |= UINT32_C(1) << sw;
	for (unsigned int row = 0; row < bench->map->rows; row++) {
		uint8_t sw = bench->map->row[row].sw;

		if (sw == TD_NO_SWITCH)
			continue;
		levels &= ~(UINT32_C(1) << sw);
		if (line_high(bench, row))
			levels |= UINT32_C(1) << sw;
	}
	return levels;
}

static bool held(const struct bench *bench, unsigned int row)
{
	return (bench->value[row].bits & ~bench->value[row].odd & 1) != 0;
}

static void tell_unnamed(const struct bench *bench)
{
	const struct td_config *config = bench->order->config;

	for (uint8_t sw = 0; sw < config->switches; sw++) {
		bool named = false;

		for (unsigned int row = 0; row < bench->map->rows; row++)
			named |= bench->map->row[row].sw == sw;
		if (!named)
			(void)fprintf(bench->told, "  The map names no signal for %s: it stays clear.\n",
				      config->sw[sw].name);
	}
}

static void tell_ignored(const struct bench *bench)
{
	for (unsigned int row = 0; row < bench->map->rows; row++)
		if (bench->ignored[row])
			(void)fprintf(bench->told,
				      "  %s is held when the trace begins: it counts once it was let go.\n",
				      bench->map->row[row].signal);
}

static void first_moment(struct bench *bench)
{
	bench->begun = true;
	for (unsigned int row = 0; row < bench->map->rows; row++)
		bench->ignored[row] = bench->map->row[row].sw == TD_NO_SWITCH && held(bench, row);
	tell_unnamed(bench);
	tell_ignored(bench);
	td_hands_levels(&bench->hands, bench->now_ns, levels_now(bench));
	td_hands_arm(&bench->hands, bench->now_ns);
}

/* All changes of this moment are known. */
static void moment(struct bench *bench)
{
	if (!bench->begun) {
		first_moment(bench);
		return;
	}
	td_hands_advance(&bench->hands, bench->now_ns);
	if (levels_now(bench) != bench->hands.levels)
		td_hands_levels(&bench->hands, bench->now_ns, levels_now(bench));
	for (unsigned int row = 0; row < bench->map->rows; row++) {
		if (bench->map->row[row].sw != TD_NO_SWITCH)
			continue;
		bench->ignored[row] = bench->ignored[row] && held(bench, row);
		if (!bench->ignored[row])
			td_hands_press(&bench->hands, row, bench->now_ns, held(bench, row));
	}
}

static int take_time(void *ctx, td_ns at_ns)
{
	struct bench *bench = ctx;

	if (at_ns > bench->now_ns)
		moment(bench);
	bench->now_ns = at_ns;
	return bench->hands.failed ? -1 : 0;
}

static int take_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct bench *bench = ctx;

	(void)at_ns;
	for (unsigned int row = 0; row < bench->map->rows; row++)
		if (bench->signal[row] == (int)signal)
			bench->value[row] = value;
	return 0;
}

/* --- the whole --------------------------------------------------------------------------------------- */

static int open_out(struct bench *bench)
{
	const struct td_replay_order *order = bench->order;
	const struct td_tape_head head = {.machine = 0};
	const struct td_snapshot snapshot = {.levels = levels_now(bench), .core = bench->hands.core};

	if (!order->out_path)
		return 0;
	if (td_replay_out_open(&bench->out, order->out_path, order->config, order->config_text,
			       order->config_length, &head, &snapshot, bench->err) != 0)
		return -1;
	bench->hands.tap = td_replay_out_tap(&bench->out);
	return 0;
}

static int play(struct bench *bench, FILE *in)
{
	const struct td_vcd_sink sink = {.ctx = bench,
					 .signal = take_signal,
					 .begin = declarations_ended,
					 .time = take_time,
					 .change = take_change};
	struct td_vcd_summary summary;
	enum td_vcd_result result = td_vcd_read(in, bench->order->shown_as, &sink, &summary, bench->err);

	if (result != TD_VCD_READ)
		return -1;
	moment(bench);
	(void)fprintf(bench->told,
		      "  %" PRId64 " changes to %" PRId64 ".%06" PRId64 " s, %" PRId64 " steps, %" PRId64
		      " causes%s\n",
		      summary.changes, bench->now_ns / TD_S(1), bench->now_ns % TD_S(1) / 1000,
		      bench->hands.steps, bench->hands.causes,
		      summary.cut_off ? "; the end of the trace is missing" : "");
	return 0;
}

int td_replay_foreign(FILE *in, const struct td_replay_order *order, const struct td_replay_map *map,
		      FILE *told, struct td_error *err)
{
	struct bench *bench = calloc(1, sizeof(*bench));

	if (!bench)
		return td_error_set(err, "there is no memory left; end other programs");
	bench->order = order;
	bench->map = map;
	bench->told = told;
	bench->err = err;
	for (unsigned int row = 0; row < TD_REPLAY_MAP_MAX; row++) {
		bench->signal[row] = NO_SIGNAL;
		bench->value[row] = td_vcd_unknown();
	}
	td_hands_begin(&bench->hands, order->config, map, told);
	int result = open_out(bench);

	(void)fprintf(told, "%s: not one of ours; run as the input of %s\n", order->shown_as,
		      order->config->machine);
	if (result == 0)
		result = play(bench, in);
	if (td_replay_out_close(&bench->out, bench->now_ns, err) != 0)
		result = -1;
	free(bench);
	return result;
}
