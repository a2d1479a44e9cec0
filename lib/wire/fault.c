/* SPDX-License-Identifier: MIT */
#include "wire/fault.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const struct td_code_info codes[] = {
#define TD_X(ident, number, message, when) {TD_CODE_##ident, message, when},
	TD_CODE_TABLE(TD_X)
#undef TD_X
};

enum { CODES = sizeof(codes) / sizeof(codes[0]) };

const struct td_code_info *td_code_at(unsigned int index)
{
	return index < CODES ? &codes[index] : NULL;
}

static const char *message_of(enum td_code code)
{
	for (unsigned int i = 0; i < CODES; i++) {
		if (codes[i].code == code)
			return codes[i].message;
	}
	return "Internal error";
}

bool td_fault_set(struct td_fault *fault, enum td_code code, const char *remedy, const char *format, ...)
{
	va_list args;

	*fault = (struct td_fault){.code = code, .remedy = remedy};
	va_start(args, format);
	(void)vsnprintf(fault->sentence.text, sizeof(fault->sentence.text), format, args);
	va_end(args);
	return false;
}

json_t *td_text_object(const char *text)
{
	char plain[TD_ERROR_MAX];
	size_t length = 0;
	json_t *object = json_string(text);

	if (object)
		return object;
	for (; length < sizeof(plain) - 1 && text[length]; length++) {
		plain[length] = text[length];
		if ((text[length] & 0x80) != 0)
			plain[length] = '?';
	}
	plain[length] = '\0';
	return json_string(plain);
}

static json_t *error_object(enum td_code code, json_t *data)
{
	return json_pack("{s:i, s:s, s:o}", "code", (int)code, "message", message_of(code), "data", data);
}

json_t *td_fault_object(const struct td_fault *fault)
{
	return error_object(fault->code,
			    json_pack("{s:o, s:s}", "sentence", td_text_object(fault->sentence.text),
				      "remedy", fault->remedy));
}

json_t *td_cause_object(enum td_cause cause)
{
	const struct td_cause_info *info = td_cause_info(cause);

	return json_pack("{s:s, s:s, s:s, s:s}", "cause", info->name, "rule", info->rule, "sentence",
			 info->sentence, "remedy", info->remedy);
}

json_t *td_refusal_object(enum td_cause cause)
{
	return error_object(TD_CODE_REFUSED, td_cause_object(cause));
}
