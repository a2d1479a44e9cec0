/* SPDX-License-Identifier: MIT */
#include "wire/method.h"

#include <stddef.h>
#include <string.h>

#include "config/nearest.h"
#include "wire/limits.h"

static const struct td_method methods[] = {
#define TD_X(ident, name, role, without_id, help)                                                            \
	{TD_METHOD_##ident, name, TD_ROLE_##role, TD_WITHOUT_ID_##without_id, help},
	TD_METHOD_TABLE(TD_X)
#undef TD_X
};

static const struct td_param params_of_all[] = {
#define TD_Y(of_method, member, of_type, of_least, of_most, of_need, of_help)                                \
	{.name = #member,                                                                                    \
	 .help = (of_help),                                                                                  \
	 .least = (of_least),                                                                                \
	 .most = (of_most),                                                                                  \
	 .field = offsetof(struct td_args, member),                                                          \
	 .method = TD_METHOD_##of_method,                                                                    \
	 .type = TD_PARAM_##of_type,                                                                         \
	 .need = TD_PARAM_##of_need},
	TD_PARAM_TABLE(TD_Y)
#undef TD_Y
};

enum { PARAMS = sizeof(params_of_all) / sizeof(params_of_all[0]) };

static const char see_describe[] = "call describe for the methods and their parameters";

const struct td_method *td_method_at(unsigned int index)
{
	return index < TD_METHODS ? &methods[index] : NULL;
}

const struct td_param *td_method_param(const struct td_method *method, unsigned int index)
{
	for (unsigned int i = 0; i < PARAMS; i++) {
		if (params_of_all[i].method == method->id && index-- == 0)
			return &params_of_all[i];
	}
	return NULL;
}

const char *td_role_name(enum td_role role)
{
	return role == TD_ROLE_KEEPER ? "keeper" : "visitor";
}

const struct td_method *td_method_find(const char *name, struct td_fault *fault)
{
	struct td_nearest near = td_nearest_to(name);

	for (unsigned int i = 0; i < TD_METHODS; i++) {
		if (strcmp(name, methods[i].name) == 0)
			return &methods[i];
		td_nearest_offer(&near, methods[i].name);
	}
	td_fault_set(fault, TD_CODE_METHOD, see_describe, "there is no method \"%.40s\"%s%s%s", name,
		     near.best ? "; did you mean \"" : "", near.best ? near.best : "",
		     near.best ? "\"?" : "");
	return NULL;
}

static const struct td_param *param_find(const struct td_method *method, const char *name,
					 struct td_fault *fault)
{
	const struct td_param *param;
	struct td_nearest near = td_nearest_to(name);

	for (unsigned int i = 0; (param = td_method_param(method, i)); i++) {
		if (strcmp(name, param->name) == 0)
			return param;
		td_nearest_offer(&near, param->name);
	}
	td_fault_set(fault, TD_CODE_PARAMS, see_describe, "%s has no parameter \"%.40s\"%s%s%s", method->name,
		     name, near.best ? "; did you mean \"" : "", near.best ? near.best : "",
		     near.best ? "\"?" : "");
	return NULL;
}

static bool read_name(const struct td_param *param, const json_t *value, const char **field,
		      struct td_fault *fault)
{
	if (!json_is_string(value))
		return td_fault_set(fault, TD_CODE_PARAMS, see_describe,
				    "the parameter \"%s\" must be a string", param->name);
	int64_t length = (int64_t)json_string_length(value);
	if (length < param->least || length > param->most)
		return td_fault_set(fault, TD_CODE_PARAMS, see_describe,
				    "the parameter \"%s\" must be %lld to %lld bytes long", param->name,
				    (long long)param->least, (long long)param->most);
	*field = json_string_value(value);
	return true;
}

static bool read_number(const struct td_param *param, const json_t *value, int64_t *field,
			struct td_fault *fault)
{
	int64_t number = json_is_integer(value) ? json_integer_value(value) : param->least;

	if (!json_is_integer(value) || number < param->least || number > param->most)
		return td_fault_set(fault, TD_CODE_PARAMS, see_describe,
				    "the parameter \"%s\" must be a whole number from %lld to %lld",
				    param->name, (long long)param->least, (long long)param->most);
	*field = number;
	return true;
}

static bool read_given(const struct td_method *method, json_t *params, struct td_args *args,
		       struct td_fault *fault)
{
	const char *name;
	json_t *value;

	json_object_foreach(params, name, value)
	{
		const struct td_param *param = param_find(method, name, fault);
		void *field = param ? (char *)args + param->field : NULL;

		if (!param)
			return false;
		if (param->type == TD_PARAM_NAME && !read_name(param, value, field, fault))
			return false;
		if (param->type == TD_PARAM_NUMBER && !read_number(param, value, field, fault))
			return false;
	}
	return true;
}

static bool all_required(const struct td_method *method, const json_t *params, struct td_fault *fault)
{
	const struct td_param *param;

	for (unsigned int i = 0; (param = td_method_param(method, i)); i++) {
		if (param->need == TD_PARAM_REQUIRED && !json_object_get(params, param->name))
			return td_fault_set(fault, TD_CODE_PARAMS, see_describe,
					    "%s needs the parameter \"%s\": %s", method->name, param->name,
					    param->help);
	}
	return true;
}

static const struct td_args nothing = {
	.hold = -1, .seq = -1, .lease_ms = -1, .protocol = -1, .protocol_least = -1, .since = -1};

bool td_args_read(const struct td_method *method, json_t *params, struct td_args *args,
		  struct td_fault *fault)
{
	bool fits;

	*args = nothing;
	if (json_is_array(params))
		fits = td_fault_set(fault, TD_CODE_PARAMS, see_describe,
				    "parameters are given by name, in an object, not in an array");
	else
		fits = read_given(method, params, args, fault) && all_required(method, params, fault);
	if (!fits)
		*args = nothing;
	return fits;
}

static json_t *param_object(const struct td_param *param)
{
	return json_pack("{s:s, s:s, s:I, s:I, s:b, s:s}", "name", param->name, "type",
			 param->type == TD_PARAM_NAME ? "name" : "number", "min", (json_int_t)param->least,
			 "max", (json_int_t)param->most, "required", param->need == TD_PARAM_REQUIRED, "help",
			 param->help);
}

static json_t *method_object(const struct td_method *method)
{
	const struct td_param *param;
	json_t *params = json_array();

	for (unsigned int i = 0; (param = td_method_param(method, i)); i++)
		json_array_append_new(params, param_object(param));
	return json_pack("{s:s, s:s, s:s, s:s, s:o}", "name", method->name, "role",
			 td_role_name(method->role), "without_id",
			 method->without_id == TD_WITHOUT_ID_DONE ? "done" : "ignored", "help", method->help,
			 "params", params);
}

json_t *td_methods_object(void)
{
	json_t *list = json_array();

	for (unsigned int i = 0; i < TD_METHODS; i++)
		json_array_append_new(list, method_object(&methods[i]));
	return list;
}
