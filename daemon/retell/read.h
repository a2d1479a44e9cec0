/* SPDX-License-Identifier: MIT */
/*
 * Trace files for the account of a stop: which one it is in, and those that tell what came after. Reads only; blocks as
 * long as the disk does.
 */
#ifndef TD_DAEMON_RETELL_READ_H
#define TD_DAEMON_RETELL_READ_H

#include <stdio.h>

#include "error.h"
#include "trace/account.h"
#include "trace/tape.h"

enum { TD_RETELL_PATH_MAX = 4096 };

enum td_retell_result {
	TD_RETELL_FOUND = 0,
	TD_RETELL_NOTHING,    /* readable, but there is no such stop; with a sentence */
	TD_RETELL_DAMAGED,    /* what was found up to the damage is in the account; with a sentence */
	TD_RETELL_UNREADABLE, /* no right, no such file, or no trace of ours; with a sentence */
};

struct td_retell {
	struct td_accountant accountant;
	struct td_config config;                /* of the trace with the account */
	char path[TD_RETELL_PATH_MAX];          /* of that trace */
	char version[TD_TAPE_VERSION_MAX];      /* of the program that wrote it */
	bool cut_off;                           /* its end is missing */
	char read_version[TD_TAPE_VERSION_MAX]; /* of the file being read */
	struct td_error later;                  /* why it cannot be told what came after; "" = it can */
};

/* The account in one file, and what the run files beside it tell of the time after it; "-" is standard input, alone. */
enum td_retell_result td_retell_file(struct td_retell *self, enum td_account_want want, const char *path,
				     struct td_error *err);

/* The account in a directory of traces: of the newest trip file, or of the newest run file that holds a stop; and what the run
 * files tell of the time after it. */
enum td_retell_result td_retell_dir(struct td_retell *self, enum td_account_want want, const char *dir,
				    struct td_error *err);

#endif
