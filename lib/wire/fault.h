/* SPDX-License-Identifier: MIT */
/*
 * What is wrong with a call, and the JSON error object that says so:
 *	{"code": ..., "message": "...", "data": {"sentence": "...", "remedy": "..."}}
 * A refusal by the core adds "cause" and "rule" to the data.
 */
#ifndef TD_WIRE_FAULT_H
#define TD_WIRE_FAULT_H

#include <stdbool.h>

#include <jansson.h>

#include "core/cause.h"
#include "error.h"
#include "wire/code_table.h"

enum td_code {
	TD_CODE_NONE = 0,
#define TD_X(ident, number, ...) TD_CODE_##ident = (number),
	TD_CODE_TABLE(TD_X)
#undef TD_X
};

struct td_code_info {
	enum td_code code;
	const char *message;
	const char *when;
};

/* The i-th entry of the table, NULL past its end. */
const struct td_code_info *td_code_at(unsigned int index);

struct td_fault {
	enum td_code code;
	struct td_error sentence;
	const char *remedy; /* lives for ever */
};

/* Writes the fault (printf-like sentence) and returns false. */
bool td_fault_set(struct td_fault *fault, enum td_code code, const char *remedy, const char *format, ...)
	__attribute__((format(printf, 4, 5)));

/* The error object of a fault, or of a cause (code TD_CODE_REFUSED). The caller owns the result. */
json_t *td_fault_object(const struct td_fault *fault);
json_t *td_refusal_object(enum td_cause cause);

/* {"cause", "rule", "sentence", "remedy"} of a cause. The caller owns the result. */
json_t *td_cause_object(enum td_cause cause);

/* A JSON string of `text`; bytes outside ASCII become '?' where `text` is not UTF-8. */
json_t *td_text_object(const char *text);

#endif
