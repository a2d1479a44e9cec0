/* SPDX-License-Identifier: MIT */
/*
 * The metrics of one look: out of what mover, scribe and front have counted, and of the machine as it is. Pure: everything is
 * an argument, nothing is kept.
 */
#ifndef TD_DAEMON_METRICS_METRICS_H
#define TD_DAEMON_METRICS_METRICS_H

#include "config/config.h"
#include "daemon/metrics/page.h"
#include "daemon/front/mirror.h"
#include "daemon/mover/meter.h"
#include "daemon/scribe/shared.h"

/* What the front counts, since the start. By enum td_role where it is about connections. */
struct td_front_counts {
	uint64_t refused[TD_METER_CAUSES]; /* calls, by cause */
	uint64_t let_in[2];
	uint64_t turned_away[2];
};

/* All borrowed. */
struct td_metric_facts {
	const struct td_config *config;
	const struct td_mirror *mirror; /* complete */
	const struct td_meter *meter;
	const struct td_front_counts *front;
	const struct td_tally *tally; /* NULL: no traces are kept */
	unsigned int connections[2];  /* by enum td_role */
	unsigned int in_line;
	enum td_role role; /* of who asks */
	td_ns now_ns;
	td_ns began_ns;      /* the daemon */
	td_ns began_wall_ns; /* the same, since 1970 */
};

/* The most that any configuration can come to, with its terminator. As a JSON string it is still far below what a client may be
 * behind in reading (session.h); a test writes the longest one. */
enum { TD_METRICS_TEXT_MAX = 48 * 1024 };

/* The length of the text; 0: `size` is too small for it. */
size_t td_metrics_write(const struct td_metric_facts *facts, enum td_metric_form form, char *text,
			size_t size);

#endif
