/* SPDX-License-Identifier: MIT */
/* The methods of the socket: look-up, parameters, their description. The list is method_table.h. */
#ifndef TD_WIRE_METHOD_H
#define TD_WIRE_METHOD_H

#include <stdbool.h>
#include <stdint.h>

#include <jansson.h>

#include "config/config.h"
#include "core/core.h"
#include "wire/fault.h"
#include "wire/method_table.h"
#include "wire/token.h"

enum td_method_id {
#define TD_X(ident, ...) TD_METHOD_##ident,
	TD_METHOD_TABLE(TD_X)
#undef TD_X
		TD_METHODS
};

enum td_without_id { TD_WITHOUT_ID_IGNORED = 0, TD_WITHOUT_ID_DONE };
enum td_param_type { TD_PARAM_NAME, TD_PARAM_NUMBER };
enum td_param_need { TD_PARAM_OPTIONAL, TD_PARAM_REQUIRED };

struct td_method {
	enum td_method_id id;
	const char *name;
	enum td_role role;
	enum td_without_id without_id;
	const char *help;
};

struct td_param {
	const char *name;
	const char *help;
	int64_t least; /* NAME: bytes; NUMBER: value */
	int64_t most;
	size_t field; /* offset in struct td_args */
	enum td_method_id method;
	enum td_param_type type;
	enum td_param_need need;
};

/* What a call said. Names are borrowed from its params. NULL or -1: not said. */
struct td_args {
	const char *axis;
	const char *way;
	const char *form;
	int64_t hold;
	int64_t seq;
	int64_t lease_ms;
	const char *token;
	int64_t protocol;
	int64_t protocol_least;
	int64_t since;
	const char *instance;
};

/* In the order of the table; NULL past the end. */
const struct td_method *td_method_at(unsigned int index);
/* The parameters of one method, in order; NULL past the end. */
const struct td_param *td_method_param(const struct td_method *method, unsigned int index);

/* NULL with a fault (naming the nearest) if there is no such method. */
const struct td_method *td_method_find(const char *name, struct td_fault *fault);

/* Reads the parameters: exactly those of the table, by name, of their type, in their range. `params` may be
 * NULL (none). False with a fault if they do not fit; *args then says nothing at all. */
bool td_args_read(const struct td_method *method, json_t *params, struct td_args *args,
		  struct td_fault *fault);

/* [{"name", "role", "without_id", "help", "params": [{"name", "type", "min", "max", "required", "help"}]}]
 * for `describe`. The caller owns it. */
json_t *td_methods_object(void);

/* "keeper" or "visitor". */
const char *td_role_name(enum td_role role);

#endif
