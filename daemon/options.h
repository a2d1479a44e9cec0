/* SPDX-License-Identifier: MIT */
/* The command line of tripdogd. */
#ifndef TD_DAEMON_OPTIONS_H
#define TD_DAEMON_OPTIONS_H

#include <stdio.h>

#include "daemon/explain.h"
#include "error.h"

#define TD_DEFAULT_CONFIG "/etc/tripdog/tripdog.conf"

enum td_mode {
	TD_MODE_RUN = 0,
	TD_MODE_CLEAR,   /* --clear-lines */
	TD_MODE_CHECK,   /* --check-config */
	TD_MODE_EXPLAIN, /* --explain-config and its like */
	TD_MODE_HELP,
	TD_MODE_VERSION,
};

struct td_options {
	enum td_mode mode;
	const char *config;      /* points into argv or to the default */
	const char *sysfs;       /* points into argv; NULL = not given */
	enum td_subject subject; /* of what is explained */
	bool mdoc;
};

/* 0, or -1 with a sentence. */
int td_options_parse(int argc, char **argv, struct td_options *options, struct td_error *err);

void td_options_help(FILE *out);

#endif
