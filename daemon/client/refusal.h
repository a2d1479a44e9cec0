/* SPDX-License-Identifier: MIT */
/* What the daemon said when it refused: the error object of JSON-RPC, read. */
#ifndef TD_DAEMON_CLIENT_REFUSAL_H
#define TD_DAEMON_CLIENT_REFUSAL_H

#include <stdint.h>

#include <jansson.h>

#include "core/cause.h"
#include "core/time.h"

/* The strings are borrowed from the error object and live as long as it does; never NULL. */
struct td_refusal {
	int64_t code;        /* JSON-RPC error code, 0 where there is none */
	enum td_cause cause; /* TD_CAUSE_NONE where the error names none */
	const char *rule;
	const char *sentence;
	const char *remedy; /* may be empty */
	td_ns wait_ns;      /* until it may be asked again; 0 where the error does not say */
};

/* Reads an error object. Total: any JSON value may be passed, NULL included. */
struct td_refusal td_refusal_read(const json_t *error);

/* The cause of this name, TD_CAUSE_NONE where there is none; NULL is allowed. */
enum td_cause td_cause_named(const char *name);

#endif
