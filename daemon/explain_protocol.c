/* SPDX-License-Identifier: MIT */
#include "daemon/explain.h"

#include <inttypes.h>

#include "layout.h"
#include "wire/limits.h"
#include "wire/method.h"
#include "wire/notice.h"

struct form {
	const char *part_from;
	const char *between;
	const char *method_from;
	struct td_layout text;   /* of a method or a part */
	struct td_layout item;   /* of its list */
	struct td_layout detail; /* below an item */
};

static const struct form plain = {"", "\n\n", "\n  ", {.indent = 6}, {.indent = 6}, {.indent = 10}};
static const struct form mdoc_form = {".Sh ", "", ".Ss ", {.mdoc = true}, {.mdoc = true}, {.mdoc = true}};

static void put_param(const struct form *form, const struct td_param *param, FILE *out)
{
	bool name = param->type == TD_PARAM_NAME;
	char facts[128];

	(void)snprintf(facts, sizeof(facts), "%s, %s, %" PRId64 " to %" PRId64 "%s",
		       param->need == TD_PARAM_REQUIRED ? "required" : "optional",
		       name ? "string" : "whole number", param->least, param->most, name ? " bytes" : "");
	td_layout_item(out, &form->item, param->name, facts);
	td_layout_sentence(out, &form->detail, "%s.", param->help);
}

static void put_params(const struct form *form, const struct td_method *method, FILE *out)
{
	const struct td_param *param;

	if (!td_method_param(method, 0)) {
		td_layout_text(out, &form->text, "No parameters.");
		return;
	}
	td_layout_list(out, &form->item);
	for (unsigned int i = 0; (param = td_method_param(method, i)); i++)
		put_param(form, param, out);
	td_layout_list_end(out, &form->item);
}

static void put_methods(const struct form *form, FILE *out)
{
	const struct td_method *method;

	fprintf(out, "%sMETHODS\n", form->part_from);
	for (unsigned int i = 0; (method = td_method_at(i)); i++) {
		fprintf(out, "%s%s\n", form->method_from, method->name);
		td_layout_sentence(out, &form->text, "%s. For %s; without an id, %s.", method->help,
				   method->role == TD_ROLE_KEEPER ? "the keeper alone" : "everybody",
				   method->without_id == TD_WITHOUT_ID_DONE ? "carried out all the same"
									    : "ignored");
		put_params(form, method, out);
	}
}

static void put_notices(const struct form *form, FILE *out)
{
	const struct td_notice_info *notice;

	fprintf(out, "%s%sNOTIFICATIONS\n", form->between, form->part_from);
	td_layout_text(out, &form->text, "Sent by the daemon to a connection that has called `follow`.");
	td_layout_list(out, &form->item);
	for (unsigned int i = 0; (notice = td_notice_at(i)); i++) {
		td_layout_item(out, &form->item, notice->name, "");
		td_layout_sentence(out, &form->detail, "%s.", notice->help);
	}
	td_layout_list_end(out, &form->item);
}

static void put_codes(const struct form *form, FILE *out)
{
	const struct td_code_info *code;

	fprintf(out, "%s%sERROR CODES\n", form->between, form->part_from);
	td_layout_list(out, &form->item);
	for (unsigned int i = 0; (code = td_code_at(i)); i++) {
		char number[16];

		(void)snprintf(number, sizeof(number), "%d", (int)code->code);
		td_layout_item(out, &form->item, number, code->message);
		td_layout_sentence(out, &form->detail, "%s.", code->when);
	}
	td_layout_list_end(out, &form->item);
}

static void put_limits(const struct form *form, FILE *out)
{
	fprintf(out, "%s%sLIMITS\n", form->between, form->part_from);
	td_layout_sentence(out, &form->text,
			   "A line holds at most %d bytes without its newline, a batch at most %d calls. "
			   "Arrays and objects stand at most %d inside each other.",
			   (int)TD_LINE_MAX, (int)TD_BATCH_MAX, (int)TD_DEPTH_MAX);
}

void td_explain_protocol(bool mdoc, FILE *out)
{
	const struct form *form = mdoc ? &mdoc_form : &plain;

	put_methods(form, out);
	put_notices(form, out);
	put_codes(form, out);
	put_limits(form, out);
}
