/* SPDX-License-Identifier: MIT */
#include "daemon/explain.h"

#include "core/cause.h"
#include "daemon/front/mirror.h"
#include "layout.h"

struct form {
	const char *title_from;
	const char *between;
	struct td_layout help;
	struct td_layout item;
	struct td_layout text;
};

static const struct form plain = {"", "\n\n", {.indent = 2}, {.indent = 2}, {.indent = 6}};
static const struct form mdoc_form = {".Ss ", "", {.mdoc = true}, {.mdoc = true}, {.mdoc = true}};

static const struct {
	enum td_cause_kind kind;
	const char *title;
	const char *help;
} kinds[] = {
	{TD_KIND_TRIP, "Trips",
	 "A trip ends the motion of its axis and stays until somebody resets it; a reset never moves "
	 "anything."},
	{TD_KIND_STOP, "Stops", "The motion ended, and nothing is wrong with the machine."},
	{TD_KIND_REFUSAL, "Refusals", "A request was not carried out."},
	{TD_KIND_MACHINE, "The whole machine",
	 "What happened to the machine as a whole, and answers to orders."},
	{TD_KIND_NOTE, "Worth knowing", "Changes nothing by itself."},
	{TD_KIND_MOVE, "Motion", "Motion begins or goes on."},
};

static const char *who_resets(const struct td_cause_info *info)
{
	if (info->kind != TD_KIND_TRIP)
		return "";
	return td_cause_visitor_resets(info->cause) ? " Reset by the keeper or a visitor."
						    : " Reset by the keeper alone.";
}

static void put_cause(const struct form *form, const struct td_cause_info *info, FILE *out)
{
	char facts[32];

	(void)snprintf(facts, sizeof(facts), "%d%s%s", (int)info->cause, info->rule[0] ? ", " : "",
		       info->rule);
	td_layout_item(out, &form->item, info->name, facts);
	td_layout_sentence(out, &form->text, "%s.", info->sentence);
	td_layout_sentence(out, &form->text, "To do: %s.%s", info->remedy, who_resets(info));
}

static void put_kind(const struct form *form, size_t k, FILE *out)
{
	const struct td_cause_info *info;

	fprintf(out, "%s%s%s\n", k > 0 ? form->between : "", form->title_from, kinds[k].title);
	td_layout_sentence(out, &form->help, "%s The kind on the socket is \"%s\".", kinds[k].help,
			   td_cause_kind_name(kinds[k].kind));
	td_layout_list(out, &form->item);
	for (unsigned int i = 0; (info = td_cause_at(i)); i++)
		if (info->kind == kinds[k].kind)
			put_cause(form, info, out);
	td_layout_list_end(out, &form->item);
}

void td_explain_causes(bool mdoc, FILE *out)
{
	for (size_t k = 0; k < sizeof(kinds) / sizeof(kinds[0]); k++)
		put_kind(mdoc ? &mdoc_form : &plain, k, out);
}
