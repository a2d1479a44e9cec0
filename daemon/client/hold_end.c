/* SPDX-License-Identifier: MIT */
#include "daemon/client/hold_end.h"

#include <stdlib.h>
#include <string.h>

#include "daemon/client/view.h"

bool td_hold_end_ends(enum td_cause cause)
{
	enum td_cause_kind kind = td_cause_kind(cause);

	return kind == TD_KIND_STOP || kind == TD_KIND_TRIP;
}

static enum td_cause explain(const struct td_view *view, const char *axis, const char *way,
			     enum td_cause cause)
{
	if (view->latches > 0)
		return TD_CAUSE_LATCH_CUT;
	for (size_t i = 0; i < view->axes; i++) {
		const struct td_view_axis *seen = &view->axis[i];

		if (strcmp(seen->name, axis) != 0)
			continue;
		if (seen->trip.cause[0] != '\0')
			return td_cause_named(seen->trip.cause);
		for (int end = 0; end < TD_WAYS; end++)
			if (seen->at_end[end] && strcmp(seen->way_name[end], way) == 0)
				return TD_CAUSE_END_REACHED;
	}
	return cause;
}

enum td_cause td_hold_end_ask(struct td_cli *cli, const char *axis, const char *way, enum td_cause cause)
{
	struct td_view *view = calloc(1, sizeof(*view));
	json_t *status = NULL;

	if (view &&
	    td_link_call(cli->link, "status", NULL, cli->options.timeout_ns, &status, NULL) == TD_LINK_OK &&
	    td_view_read(status, NULL, view, NULL) == 0)
		cause = explain(view, axis, way, cause);
	json_decref(status);
	free(view);
	return cause;
}

enum td_exit td_hold_end_code(enum td_cause cause)
{
	if (cause == TD_CAUSE_END_REACHED)
		return TD_EXIT_DONE;
	if (td_cause_kind(cause) == TD_KIND_TRIP || cause == TD_CAUSE_LATCH_CUT ||
	    cause == TD_CAUSE_LATCHED || cause == TD_CAUSE_TRIPPED)
		return TD_EXIT_HOLD_TRIPPED;
	return TD_EXIT_HOLD_ENDED;
}

enum td_exit td_hold_end_tell(struct td_cli *cli, const char *axis, enum td_cause cause)
{
	const struct td_cause_info *info =
		td_cause_info(cause == TD_CAUSE_NONE ? TD_CAUSE_HOLD_ENDED : cause);
	enum td_exit code = td_hold_end_code(cause);

	if (code != TD_EXIT_DONE) {
		td_cli_complain("the hold of %s ended early: %s", axis, info->sentence);
		td_cli_complain("what to do: %s", info->remedy);
	} else if (!cli->options.given[TD_OPTION_JSON]) {
		(void)printf("%s: end reached\n", axis);
		(void)fflush(stdout);
	}
	return code;
}
